// Fronts; see solid_fronts.h.
#include "acoustics/waves/solid_fronts.h"

#include <sys/mman.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>

namespace roomwright::acoustics {

namespace {

std::size_t slot(int i) {
  return static_cast<std::size_t>(i);
}

/// Doubles of what a front leaves for its parent: the lower half of the rows below, packed by
/// columns, real parts and then imaginary ones.
std::size_t left_size(const FrontTree::Front& front) {
  const std::size_t n = slot(front.rows - front.pivots);
  return n * (n + 1);
}

class TreeMaker {
 public:
  TreeMaker(const SolidModel& model, FrontTree& out) : model_(model), out_(out) {
    uses_.assign(model.tall.size(), 0);
    for (const SolidColumn& column : model.columns)
      for (const int f : column.functions) ++uses_[slot(f)];
    below_.assign(model.tall.size(), 0);
    place_.assign(model.tall.size(), -1);
  }
  int make(std::vector<int> columns) {
    FrontTree::Front front;
    std::vector<int> known;
    if (columns.size() == 1) {
      front.column = columns[0];
      known = model_.columns[slot(columns[0])].functions;
      for (const int f : known) below_[slot(f)] = 1;
    } else {
      const std::vector<int> rest = halve(columns);
      front.child[0] = make(std::move(columns));
      front.child[1] = make(rest);
      for (const int c : front.child) {
        const FrontTree::Front& child = out_.fronts[slot(c)];
        known.insert(known.end(), child.functions.begin() + child.gone, child.functions.end());
      }
      // How many of each function's columns lie below this front.
      for (const int f : known) below_[slot(f)] = 0;
      for (const int c : front.child) {
        const FrontTree::Front& child = out_.fronts[slot(c)];
        for (std::size_t i = slot(child.gone); i < child.functions.size(); ++i)
          below_[slot(child.functions[i])] += held_[slot(c)][i - slot(child.gone)];
      }
    }
    std::sort(known.begin(), known.end());
    known.erase(std::unique(known.begin(), known.end()), known.end());
    const auto done = [&](int f) { return below_[slot(f)] == uses_[slot(f)]; };
    for (const int f : known)
      if (done(f)) front.functions.push_back(f);
    front.gone = static_cast<int>(front.functions.size());
    for (const int f : known)
      if (!done(f)) front.functions.push_back(f);
    held_.emplace_back();
    for (std::size_t i = slot(front.gone); i < front.functions.size(); ++i)
      held_.back().push_back(below_[slot(front.functions[i])]);
    for (std::size_t i = 0; i < front.functions.size(); ++i)
      place_[slot(front.functions[i])] = static_cast<int>(i);
    for (const int c : front.child)
      if (c >= 0) {
        FrontTree::Front& child = out_.fronts[slot(c)];
        for (std::size_t i = slot(child.gone); i < child.functions.size(); ++i)
          child.into_parent.push_back(place_[slot(child.functions[i])]);
      }
    count(front);
    out_.fronts.push_back(std::move(front));
    return static_cast<int>(out_.fronts.size()) - 1;
  }

 private:
  /// A line across the plan, as an order of the columns and how many of them lie on one side.
  struct Cut {
    double cost = 1e300;
    std::vector<int> order;
    std::size_t before = 0;
  };
  /// Keeps the part that lies to one side, gives back the other. Of lines in a few directions that
  /// leave at least a fifth of the rows on either side it takes the one that the fewest rows have
  /// in common, those that part evenly first: whatever is in common is dense in the fronts above.
  std::vector<int> halve(std::vector<int>& columns) const {
    constexpr Vec2 directions[] = {{1, 0}, {0, 1}, {1, 1}, {1, -1}};
    Cut best;
    for (const Vec2 along : directions) try_cuts(columns, along, best);
    if (best.order.empty()) {  // too few to part so evenly
      best.order = columns;
      best.before = columns.size() / 2;
    }
    const auto middle = best.order.begin() + static_cast<std::ptrdiff_t>(best.before);
    std::vector<int> rest(middle, best.order.end());
    columns.assign(best.order.begin(), middle);
    return rest;
  }
  void try_cuts(const std::vector<int>& columns, Vec2 along, Cut& best) const {
    constexpr double least_share = 0.2, even = 6;
    std::vector<int> order = columns;
    const auto place = [&](int c) { return std::round(1e9 * dot(along, model_.centres[slot(c)])); };
    std::sort(order.begin(), order.end(),
              [&](int a, int b) { return place(a) != place(b) ? place(a) < place(b) : a < b; });
    std::map<int, std::pair<int, int>> uses;  // by function: of all columns, of those before
    for (const int c : order)
      for (const int f : model_.columns[slot(c)].functions) ++uses[f].first;
    int all = 0, common = 0, before = 0;  // rows
    std::size_t found = 0;
    for (const auto& [f, use] : uses) all += model_.tall[slot(f)];
    for (std::size_t i = 0; i + 1 < order.size(); ++i) {
      for (const int f : model_.columns[slot(order[i])].functions) {
        auto& [total, done] = uses[f];
        const int tall = model_.tall[slot(f)];
        if (done++ == 0) common += tall;
        if (done == total) common -= tall, before += tall;
      }
      const double after = all - before - common;
      const double share = std::min(double(before), after) / std::max(1.0, before + after);
      if (share < least_share) continue;
      const double cost = common * (1 + even * (0.5 - share) * (0.5 - share));
      if (cost < best.cost * (1 - 1e-9)) best.cost = cost, found = i + 1;
    }
    if (found > 0) best.order = std::move(order), best.before = found;
  }
  void count(FrontTree::Front& front) {
    for (std::size_t i = 0; i < front.functions.size(); ++i) {
      front.offset.push_back(front.rows);
      front.rows += model_.tall[slot(front.functions[i])];
      if (i < slot(front.gone)) front.pivots = front.rows;
    }
    const double n = front.rows, m = front.pivots;
    front.factor = out_.factor_size;
    out_.factor_size += front_factor_size(static_cast<int>(n), static_cast<int>(m));
    out_.work += m * (n - m) * (n - m) / 2 + m * m * (n - m) / 2 + m * m * m / 6;
    out_.most_rows = std::max(out_.most_rows, front.rows);
    out_.front_size =
        std::max(out_.front_size, 2 * slot(front_rows(front.rows)) * slot(front.rows));
    // Children lie on top of what waits; they are taken in before this one is left.
    for (const int c : front.child)
      if (c >= 0) waiting_ -= left_size(out_.fronts[slot(c)]);
    waiting_ += left_size(front);
    out_.left_size = std::max(out_.left_size, waiting_);
  }
  const SolidModel& model_;
  FrontTree& out_;
  std::vector<int> uses_, below_, place_;
  std::size_t waiting_ = 0;
  std::vector<std::vector<int>> held_;  ///< by front: columns below, of each function that is left
};

/// From a multiple of 64 bytes. Large ones in large pages where the system has them: a factor is
/// written once and soon given back, and pages one by one would cost a tenth of the time.
std::unique_ptr<double[]> aligned(std::size_t count, double*& at) {
  constexpr std::size_t large_page = std::size_t{1} << 21;
  std::unique_ptr<double[]> out(new double[count + 8]);
  const auto address = reinterpret_cast<std::uintptr_t>(out.get());
  at = out.get() + (64 - address % 64) % 64 / sizeof(double);
#ifdef MADV_HUGEPAGE
  const std::uintptr_t first = (address + large_page - 1) / large_page * large_page;
  const std::uintptr_t last = (address + sizeof(double) * count) / large_page * large_page;
  if (last > first) madvise(reinterpret_cast<void*>(first), last - first, MADV_HUGEPAGE);
#endif
  return out;
}

/// A front's numbers while it is worked on: real parts, then imaginary ones.
struct Dense {
  Dense(double* memory, int rows_wanted) : n(rows_wanted), re(memory) {
    const std::size_t size = slot(front_rows(n)) * slot(n);
    im = re + size;
    std::fill(re, re + 2 * size, 0.0);
  }
  int n;
  double *re, *im = nullptr;
};

void leave(const Dense& front, int pivots, double* to) {
  const std::size_t rows = slot(front_rows(front.n));
  for (const double* part : {front.re, front.im})
    for (int j = pivots; j < front.n; ++j)
      to = std::copy(part + slot(j) * rows + slot(j), part + slot(j) * rows + slot(front.n), to);
}

void take_in(const double* left, const FrontTree::Front& child, const FrontTree::Front& parent,
             const std::vector<int>& tall, Dense& front) {
  const std::size_t rows = slot(front_rows(front.n));
  std::vector<std::size_t> row;
  for (const int f : child.into_parent)
    for (int a = 0; a < tall[slot(parent.functions[slot(f)])]; ++a)
      row.push_back(slot(parent.offset[slot(f)] + a));
  for (double* part : {front.re, front.im})
    for (std::size_t j = 0; j < row.size(); ++j)
      for (std::size_t i = j; i < row.size(); ++i, ++left)
        part[std::min(row[i], row[j]) * rows + std::max(row[i], row[j])] += *left;
}

/// What a plan's matrix is multiplied by over the height, of all its terms; the rows from low to
/// high of each column are not 0.
struct HeightSum {
  explicit HeightSum(int size)
      : n(size), re(slot(n) * slot(n), 0), im(re.size(), 0), low(slot(n), n), high(slot(n), 0) {}
  void add(const HeightMatrix& height, std::complex<double> weight) {
    for (const auto& e : height.entries) {
      const std::size_t at = slot(e.column) * slot(n) + slot(e.row);
      re[at] += weight.real() * e.value, im[at] += weight.imag() * e.value;
      low[slot(e.column)] = std::min(low[slot(e.column)], e.row);
      high[slot(e.column)] = std::max(high[slot(e.column)], e.row + 1);
    }
  }
  int n;
  std::vector<double> re, im;
  std::vector<int> low, high;
};

/// re, im += plan ⊗ up, the rows at and below the diagonal.
void fill_plan(const Eigen::MatrixXd& plan, const HeightSum& up,
               const std::vector<std::size_t>& place, const std::vector<int>& tall,
               std::size_t rows, double* re, double* im) {
  const std::size_t n = slot(up.n);
  for (std::size_t j = 0; j < place.size(); ++j)
    for (std::size_t i = 0; i < place.size(); ++i) {
      if (place[i] < place[j]) continue;
      const double m = plan(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j));
      for (int b = 0; b < tall[j]; ++b) {
        const int from = i == j ? std::max(b, up.low[slot(b)]) : up.low[slot(b)];
        const int to = std::min(tall[i], up.high[slot(b)]);
        const std::size_t at = (place[j] + slot(b)) * rows + place[i];
        const double *hr = up.re.data() + slot(b) * n, *hi = up.im.data() + slot(b) * n;
        for (int a = from; a < to; ++a) {
          re[at + slot(a)] += m * hr[a];
          im[at + slot(a)] += m * hi[a];
        }
      }
    }
}

}  // namespace

std::size_t front_factor_size(int n, int pivots) {
  std::size_t out = 0;
  for (int first = 0; first < pivots; first += front_panel) {
    const int width = std::min(front_panel, pivots - first);
    const int tiles = front_rows(n) / front_tile - (first + width) / front_tile;
    out += slot(2 * front_panel + 2 * front_panel * front_panel) +
           2 * slot(front_tile) * slot(width) * slot(tiles);
  }
  return out;
}
std::size_t front_space(int n) {
  return 2 * slot(front_rows(n)) + 8 + front_factor_size(n, std::min(n, front_panel));
}

const FrontKernel* front_kernel_of(WaveWidth width) {
  if (width == WaveWidth::baseline) return &front_kernel_baseline;
  if (width == WaveWidth::fastest) return &fastest_front_kernel();
#ifdef ROOMWRIGHT_WIDE_WAVES
  if (width == WaveWidth::four && __builtin_cpu_supports("avx2")) return &front_kernel_avx2;
  if (width == WaveWidth::eight && __builtin_cpu_supports("avx512f")) return &front_kernel_avx512;
#endif
  return nullptr;
}

const FrontKernel& fastest_front_kernel() {
#ifdef ROOMWRIGHT_WIDE_WAVES
  if (__builtin_cpu_supports("avx512f")) return front_kernel_avx512;
  if (__builtin_cpu_supports("avx2")) return front_kernel_avx2;
#endif
  return front_kernel_baseline;
}

FrontTree make_tree(const SolidModel& model) {
  FrontTree out;
  std::vector<int> all(model.columns.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = static_cast<int>(i);
  TreeMaker(model, out).make(std::move(all));
  return out;
}

FrontFactor::FrontFactor(const SolidModel& model, const FrontTree& tree, const FrontKernel& kernel,
                         FrontStore store)
    : model_(model), tree_(tree), kernel_(kernel) {
  if (store == FrontStore::exact) {
    memory_ = aligned(tree.factor_size, factor_);
  } else {
    double* at = nullptr;
    memory_ = aligned(tree.factor_size / 2 + 1, at);
    single_ = reinterpret_cast<float*>(at);
  }
}

void FrontFactor::fill(const SolidColumn& column, const FrontTree::Front& front,
                       const SolidValues& values, double* re, double* im) const {
  const std::size_t rows = slot(front_rows(front.rows));
  std::vector<std::size_t> place;  // of the column's functions in the front
  std::vector<int> tall;
  for (const int f : column.functions) {
    const auto found = std::find(front.functions.begin(), front.functions.end(), f);
    place.push_back(slot(front.offset[slot(static_cast<int>(found - front.functions.begin()))]));
    tall.push_back(model_.tall[slot(f)]);
  }
  for (std::size_t p = 0; p < column.plan.size(); ++p) {
    HeightSum up(model_.height_size);
    bool any = false;
    for (const SolidTerm& term : column.terms) {
      if (term.plan != static_cast<int>(p)) continue;
      const auto weight = weight_of(term, values);
      if (weight == 0.0) continue;
      any = true;
      up.add(model_.heights[slot(term.height)], weight);
    }
    if (any) fill_plan(column.plan[p], up, place, tall, rows, re, im);
  }
}

double FrontFactor::eliminate(const SolidValues& values, const Watch& watch) {
  values_ = values;
  double* dense_at = nullptr;
  const auto front_memory = aligned(tree_.front_size, dense_at);
  double* top = nullptr;
  const auto left_memory = aligned(tree_.left_size, top);
  std::vector<double> space(front_space(tree_.most_rows));
  double least = 1;
  for (const FrontTree::Front& front : tree_.fronts) {
    if (watch.cancelled()) return 0;
    const int n = front.rows, pivots = front.pivots;
    Dense dense(dense_at, n);
    if (front.column >= 0)
      fill(model_.columns[slot(front.column)], front, values, dense.re, dense.im);
    for (const int c : {front.child[1], front.child[0]})
      if (c >= 0) {
        const FrontTree::Front& child = tree_.fronts[slot(c)];
        top -= left_size(child);
        take_in(top, child, front, model_.tall, dense);
      }
    const double ratio = single_ ? kernel_.eliminate_single(dense.re, dense.im, n, pivots,
                                                            single_ + front.factor, space.data())
                                 : kernel_.eliminate(dense.re, dense.im, n, pivots,
                                                     factor_ + front.factor, space.data());
    least = std::min(least, ratio);
    if (least == 0) return 0;
    leave(dense, pivots, top);
    top += left_size(front);
  }
  return least;
}

int FrontFactor::negative_pivots() const {
  int out = 0;
  for (const auto& front : tree_.fronts) {
    std::size_t at = front.factor;
    for (int first = 0; first < front.pivots; first += front_panel) {
      const int width = std::min(front_panel, front.pivots - first);
      for (int k = 0; k < width; ++k) out += pivot(at + 2 * slot(k)) < 0;
      at += front_factor_size(front.rows - first, width);
    }
  }
  return out;
}

void FrontFactor::solve(Eigen::MatrixXcd& x) const {
  if (!single_) return sweep(x);
  const Eigen::MatrixXcd wanted = x;
  sweep(x);
  refine(wanted, x);
}

void FrontFactor::refine(const Eigen::MatrixXcd& wanted, Eigen::MatrixXcd& x) const {
  // One sum of all columns with signs tells whether any needs it.
  Eigen::VectorXcd weights(x.cols());
  for (Eigen::Index c = 0; c < x.cols(); ++c) {
    const double size = wanted.col(c).norm();
    weights(c) = size > 0 ? (c % 3 == 1 ? -1.0 : 1.0) / size : 0.0;
  }
  const Eigen::MatrixXcd rest = wanted * weights - apply_all(model_, values_, x * weights);
  if (rest.norm() <= refine_above * std::sqrt(double(x.cols()))) return;
  Eigen::MatrixXcd more = wanted - apply_all(model_, values_, x);
  sweep(more);
  x += more;
}

void FrontFactor::sweep(Eigen::MatrixXcd& x) const {
  const int sides = static_cast<int>(x.cols());
  std::vector<double> work;
  std::vector<Eigen::Index> row;
  const auto pass = [&](const FrontTree::Front& front, bool forward) {
    const int n = front.rows, pivots = front.pivots;
    if (pivots == 0) return;
    row.clear();
    for (const int f : front.functions)
      for (int a = 0; a < model_.tall[slot(f)]; ++a) row.push_back(model_.first[slot(f)] + a);
    const std::size_t rows = slot(front_rows(n));
    work.assign(2 * rows * slot(sides), 0);
    for (int s = 0; s < sides; ++s)
      for (int i = 0; i < n; ++i) {
        const auto v = x(row[slot(i)], s);
        work[2 * rows * slot(s) + slot(i)] = v.real();
        work[2 * rows * slot(s) + rows + slot(i)] = v.imag();
      }
    if (single_)
      (forward ? kernel_.forward_single : kernel_.backward_single)(single_ + front.factor, n,
                                                                   pivots, work.data(), sides);
    else
      (forward ? kernel_.forward : kernel_.backward)(factor_ + front.factor, n, pivots, work.data(),
                                                     sides);
    const int changed = forward ? n : pivots;
    for (int s = 0; s < sides; ++s)
      for (int i = 0; i < changed; ++i)
        x(row[slot(i)], s) = {work[2 * rows * slot(s) + slot(i)],
                              work[2 * rows * slot(s) + rows + slot(i)]};
  };
  for (const auto& front : tree_.fronts) pass(front, true);
  for (std::size_t f = tree_.fronts.size(); f-- > 0;) pass(tree_.fronts[f], false);
}

}  // namespace roomwright::acoustics
