// The dynamic program over cuts, and bounds by multipliers on the counts (subgradients: M. Held,
// P. Wolfe & H. Crowder, Math. Programming 6 (1974), from memory). See table.h.
#include "shop/layout/table.h"

#include <algorithm>
#include <cmath>

namespace roomwright::shop {

namespace {

constexpr std::int64_t coarse_marks = 400;

/// Sums of sizes, each taken at most so often, up to the side; none where they are too many.
std::vector<std::int64_t> sums(const std::vector<std::pair<std::int64_t, std::int64_t>>& sizes,
                               std::int64_t side, std::size_t most) {
  std::vector<std::int64_t> out{0};
  for (const auto& [size, count] : sizes) {
    std::vector<std::int64_t> grown = out;
    for (std::int64_t n = 1; n <= count && n * size <= side; ++n) {
      for (const std::int64_t sum : out)
        if (sum + n * size <= side) grown.push_back(sum + n * size);
      std::sort(grown.begin(), grown.end());
      grown.erase(std::unique(grown.begin(), grown.end()), grown.end());
      if (grown.size() > most) return {};
    }
    out = std::move(grown);
  }
  return out;
}

Marks marks(const LayoutProblem& problem, bool across, std::int64_t side, std::size_t most) {
  std::vector<std::pair<std::int64_t, std::int64_t>> sizes;
  for (const Item& item : problem.items) {
    sizes.emplace_back(across ? item.width : item.height, item.count);
    if (item.turns) sizes.emplace_back(across ? item.height : item.width, item.count);
  }
  // Few large sizes first: the list stays short for longest.
  std::sort(sizes.rbegin(), sizes.rend());
  Marks out;
  out.at = sums(sizes, side, most);
  if (!out.at.empty()) return out;
  out.exact = false;
  const auto steps = coarse_marks;
  for (std::int64_t i = 0; i <= steps; ++i)
    out.at.push_back(
        static_cast<std::int64_t>(static_cast<long double>(side) * static_cast<long double>(i) /
                                  static_cast<long double>(steps)));
  out.at.erase(std::unique(out.at.begin(), out.at.end()), out.at.end());
  return out;
}

/// What is left of one mark behind a cut at another; for coarse marks what is left at most.
std::size_t rest_of(const Marks& marks, std::size_t whole, std::size_t cut) {
  const auto& at = marks.at;
  if (marks.exact)
    return static_cast<std::size_t>(std::upper_bound(at.begin(), at.end(), at[whole] - at[cut]) -
                                    at.begin()) -
           1;
  const std::int64_t rest = at[whole] - at[cut - 1] - 1;
  return static_cast<std::size_t>(std::lower_bound(at.begin(), at.end(), rest) - at.begin());
}

}  // namespace

Table::Table(const LayoutProblem& problem, std::int64_t width, std::int64_t height,
             std::size_t most)
    : x_(marks(problem, true, width, most)), y_(marks(problem, false, height, most)) {
  for (std::size_t i = 0; i < problem.items.size(); ++i)
    for (const bool turned : {false, true}) {
      if (turned && !problem.items[i].turns) continue;
      const auto least = [](const Marks& marks, std::int64_t size) {
        return static_cast<std::size_t>(std::lower_bound(marks.at.begin(), marks.at.end(), size) -
                                        marks.at.begin());
      };
      const Lying one{i, turned, least(x_, problem.width(i, turned)),
                      least(y_, problem.height(i, turned))};
      if (one.x < x_.at.size() && one.y < y_.at.size()) lying_.push_back(one);
    }
  for (std::size_t whole = 0; whole < y_.at.size(); ++whole) {
    first_rest_.push_back(rests_.size());
    for (std::size_t cut = 1; cut < whole; ++cut) {
      const std::size_t rest = rest_of(y_, whole, cut);
      if (rest < cut || (!y_.exact && rest >= whole)) {
        if (rest < cut) break;
        rests_.push_back(0);
        continue;
      }
      rests_.push_back(static_cast<std::uint32_t>(rest));
    }
  }
  first_rest_.push_back(rests_.size());
}

std::int64_t Table::work() const {
  const auto xs = static_cast<std::int64_t>(x_.at.size()),
             ys = static_cast<std::int64_t>(y_.at.size());
  return xs * ys * (xs + ys) / 3 + 1;
}

void Table::begin_row(std::size_t x) {
  const std::size_t ys = y_.at.size();
  double* now = &f_[x * ys];
  if (x > 0) std::copy(now - ys, now, now);
  for (const Lying& one : lying_)
    if (one.x == x) now[one.y] = std::max(now[one.y], values_[one.item]);
}

void Table::cut_across(std::size_t x) {
  const std::size_t ys = y_.at.size();
  double* now = &f_[x * ys];
  for (std::size_t cut = 1; cut < x; ++cut) {
    const std::size_t rest = rest_of(x_, x, cut);
    if (rest < cut) break;
    if (rest >= x) continue;
    const double *a = row(cut), *b = row(rest);
    if (a[ys - 1] <= 0) continue;
    for (std::size_t y = 0; y < ys; ++y) {
      const double both = a[y] + b[y];
      now[y] = both > now[y] ? both : now[y];
    }
  }
}

void Table::cut_along(std::size_t x) {
  const std::size_t ys = y_.at.size();
  double* now = &f_[x * ys];
  for (std::size_t y = 1; y < ys; ++y) {
    double best = std::max(now[y], now[y - 1]);
    const std::size_t from = first_rest_[y], count = first_rest_[y + 1] - from;
    const std::uint32_t* rest = rests_.data() + from;
    for (std::size_t i = 0; i < count; ++i) {
      const double both = now[i + 1] + now[rest[i]];
      best = both > best ? both : best;
    }
    now[y] = best;
  }
}

double Table::run(const std::vector<double>& values) {
  values_ = values;
  f_.assign(x_.at.size() * y_.at.size(), 0.0);
  for (std::size_t x = 0; x < x_.at.size(); ++x) {
    begin_row(x);
    cut_across(x);
    cut_along(x);
  }
  return f_.back();
}

const Table::Lying* Table::single(std::size_t x, std::size_t y) const {
  const double value = row(x)[y];
  for (const Lying& one : lying_)
    if (one.x <= x && one.y <= y && values_[one.item] == value) return &one;
  return nullptr;
}

int Table::read(Tree& tree, std::size_t x, std::size_t y) const {
  Cell cell;
  cell.width = x_.at[x];
  cell.height = y_.at[y];
  const double value = row(x)[y];
  if (value <= 0) return tree.add(cell);
  while (x > 0 && row(x - 1)[y] == value) --x;
  while (y > 0 && row(x)[y - 1] == value) --y;
  if (const Lying* one = single(x, y)) {
    cell.item = static_cast<int>(one->item);
    cell.turned = one->turned;
    return tree.add(cell);
  }
  for (std::size_t cut = 1; cut < x; ++cut) {
    const std::size_t rest = rest_of(x_, x, cut);
    if (rest < cut) break;
    if (row(cut)[y] + row(rest)[y] != value) continue;
    cell.axis = 'x';
    cell.kids = {read(tree, cut, y), read(tree, rest, y)};
    return tree.add(cell);
  }
  for (std::size_t cut = 1; cut < y; ++cut) {
    const std::size_t rest = rest_of(y_, y, cut);
    if (rest < cut) break;
    if (row(x)[cut] + row(x)[rest] != value) continue;
    cell.axis = 'y';
    cell.kids = {read(tree, x, cut), read(tree, x, rest)};
    return tree.add(cell);
  }
  RW_ASSERT(false);
  return -1;
}

Tree Table::best() const {
  Tree tree;
  tree.root = read(tree, x_.at.size() - 1, y_.at.size() - 1);
  return tree;
}

}  // namespace roomwright::shop
