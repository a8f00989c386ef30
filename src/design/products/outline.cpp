// What a piece's outline means on its wall: the corners as it hangs, rectangles that hold it, and
// points on its wood from which it hangs level.
#include <algorithm>
#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

constexpr double sliver_m2 = 1e-6;
constexpr double on_line_m = 1e-9;
constexpr double strip_m = 0.025;       // height of a strip where sides slope
constexpr double candidate_m = 0.01;    // between points that are tried
constexpr double least_share = 0.15;    // of the weight, at each outer point; common practice
constexpr double least_spread = 0.25;   // of the width, between the outer points; common practice
constexpr double least_above_m = 0.02;  // points above the centre of gravity; common practice
constexpr double level_tolerance = 1e-9;

/// Where a side of a polygon crosses the cutting line, and whether it goes to the kept side.
struct Crossing {
  double along = 0;
  bool in = false;
  std::size_t chain = 0;
};

struct Cut {
  std::vector<Polygon> chains;
  std::vector<Crossing> crossings;
};

/// The chains of corners on the kept side, each from its way in to its way out.
Cut cut_at(const Polygon& polygon, std::size_t begin, bool upright, double at, double sense) {
  Cut cut;
  const std::size_t n = polygon.size();
  const auto off = [&](Vec2 p) { return sense * ((upright ? p.x : p.y) - at); };
  for (std::size_t k = 0; k < n; ++k) {
    const Vec2 a = polygon[(begin + k) % n], b = polygon[(begin + k + 1) % n];
    const double from = off(a), to = off(b);
    if ((from > on_line_m) != (to > on_line_m)) {
      const Vec2 p = a + (b - a) * (from / (from - to));
      if (to > on_line_m) cut.chains.emplace_back();
      cut.chains.back().push_back(p);
      cut.crossings.push_back({upright ? p.y : p.x, to > on_line_m, cut.chains.size() - 1});
    }
    if (to > on_line_m) cut.chains.back().push_back(b);
  }
  std::stable_sort(cut.crossings.begin(), cut.crossings.end(),
                   [](const Crossing& a, const Crossing& b) { return a.along < b.along; });
  // Ways in and out alternate along the line; of two at one place either may come first.
  for (std::size_t i = 1; i + 1 < cut.crossings.size(); ++i)
    if (cut.crossings[i].in == cut.crossings[i - 1].in)
      std::swap(cut.crossings[i], cut.crossings[i + 1]);
  return cut;
}

/// A simple polygon's parts on one side of a line x = at or y = at; corners on the line do not
/// count as kept, so that parts which only touch along it come apart. Along the line the polygon's
/// inside lies between its first and second crossing, its third and fourth, and so on: there the
/// chains are joined.
std::vector<Polygon> clipped_at(const Polygon& polygon, bool upright, double at, bool keep_above) {
  const double sense = keep_above ? 1 : -1;
  const auto off = [&](Vec2 p) { return sense * ((upright ? p.x : p.y) - at); };
  const std::size_t n = polygon.size();
  std::size_t begin = n;
  for (std::size_t i = 0; i < n; ++i)
    if (off(polygon[i]) <= on_line_m && off(polygon[(i + 1) % n]) > on_line_m) begin = i;
  if (begin == n)
    return off(polygon[0]) > on_line_m ? std::vector<Polygon>{polygon} : std::vector<Polygon>{};
  const Cut cut = cut_at(polygon, begin, upright, at, sense);
  std::vector<std::size_t> next(cut.chains.size());
  for (std::size_t i = 0; i + 1 < cut.crossings.size(); i += 2) {
    const Crossing &a = cut.crossings[i], &b = cut.crossings[i + 1];
    next[(a.in ? b : a).chain] = (a.in ? a : b).chain;
  }
  std::vector<Polygon> out;
  std::vector<char> used(cut.chains.size(), 0);
  for (std::size_t first = 0; first < cut.chains.size(); ++first) {
    Polygon part;
    for (std::size_t c = first; !used[c]; c = next[c]) {
      used[c] = 1;
      for (const Vec2 p : cut.chains[c])
        if (part.empty() || length(p - part.back()) > 1e-9) part.push_back(p);
    }
    while (part.size() > 1 && length(part.back() - part.front()) <= 1e-9) part.pop_back();
    if (part.size() >= 3 && std::abs(signed_area(part)) >= sliver_m2) out.push_back(part);
  }
  return out;
}

FaceBox box_round(const Polygon& polygon) {
  FaceBox box{polygon[0], polygon[0]};
  for (const Vec2& at : polygon) {
    box.from_m = {std::min(box.from_m.x, at.x), std::min(box.from_m.y, at.y)};
    box.to_m = {std::max(box.to_m.x, at.x), std::max(box.to_m.y, at.y)};
  }
  return box;
}

/// Heights at which strips begin and end: those of the corners, and between them where sides slope.
std::vector<double> strip_edges(const Polygon& outline) {
  std::vector<double> at;
  bool slopes = false;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 run = outline[(i + 1) % outline.size()] - outline[i];
    slopes = slopes || (std::abs(run.x) > 1e-6 && std::abs(run.y) > 1e-6);
    at.push_back(outline[i].y);
  }
  std::sort(at.begin(), at.end());
  std::vector<double> out{at[0]};
  for (const double next : at) {
    const double last = out.back();
    if (next - last < 1e-6) continue;
    const int strips = slopes ? std::max(1, int(std::ceil((next - last) / strip_m))) : 1;
    for (int k = 1; k <= strips; ++k) out.push_back(last + (next - last) * k / strips);
  }
  return out;
}

/// Points in the middle of the members, clear of their mitres.
std::vector<Vec2> wood_points(const Product& product, bool turned) {
  std::vector<Vec2> out;
  const double member = member_width_m(product);
  const Polygon outline = face_outline(product, turned);
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 from = outline[i], to = outline[(i + 1) % outline.size()];
    const double run = length(to - from);
    const Vec2 in = Vec2{from.y - to.y, to.x - from.x} * (member / 2 / run);
    const Vec2 along = (to - from) * (1 / run);
    const double clear = std::min(run / 2, 1.5 * member);
    const int steps = std::max(1, int((run - 2 * clear) / candidate_m));
    for (int k = 0; k <= steps; ++k)
      out.push_back(from + in + along * (clear + (run - 2 * clear) * k / steps));
  }
  std::sort(out.begin(), out.end(), [](Vec2 a, Vec2 b) {
    return std::abs(a.x - b.x) > level_tolerance ? a.x < b.x : a.y < b.y;
  });
  return out;
}

struct Pair {
  Vec2 left, right;
  double score = -1e9;
};
/// Two points with the centre of gravity between and below them: half the width apart, high, level,
/// and with half the weight on each, as far as these go together.
Pair best_pair(const Product& product, const std::vector<Vec2>& points, bool turned) {
  const double w = product.width.metres(), h = product.height.metres();
  const double wide = turned ? h : w;
  const Vec3 heavy = product.centre_of_gravity_m;
  const Vec2 middle = turned ? Vec2{h - heavy.y, heavy.x} : Vec2{heavy.x, heavy.y};
  Pair best;
  for (const Vec2& p : points)
    for (const Vec2& q : points) {
      if (q.x - p.x < least_spread * wide) continue;
      const double share = (middle.x - p.x) / (q.x - p.x);
      const double above = p.y + share * (q.y - p.y) - middle.y;
      if (share < least_share || share > 1 - least_share || above < least_above_m) continue;
      const double score = above / 2 - std::abs(q.x - p.x - wide / 2) / 2 -
                           std::abs(q.y - p.y) / 2 - std::abs(share - 0.5) * wide / 2;
      if (score > best.score + level_tolerance) best = {p, q, score};
    }
  return best;
}

}  // namespace

double member_width_m(const Product& product) {
  if (product.members.empty()) return 0;
  const Member& one = product.members.front();
  if (one.outline.size() != 4) return std::min(one.width, one.height).metres();
  const auto at = [&](std::size_t k) {
    return Vec2{one.outline[k][0].metres(), one.outline[k][1].metres()};
  };
  const Vec2 run = at(1) - at(0);
  return std::abs(cross(run, at(2) - at(0))) / length(run);
}

std::vector<Polygon> clipped_to(const Polygon& polygon, Vec2 low, Vec2 high) {
  std::vector<Polygon> parts{polygon};
  for (int side = 0; side < 4; ++side) {
    const bool upright = side < 2, above = side % 2 == 0;
    const Vec2 at = above ? low : high;
    std::vector<Polygon> left;
    for (const Polygon& part : parts)
      for (Polygon& one : clipped_at(part, upright, upright ? at.x : at.y, above))
        left.push_back(std::move(one));
    parts = std::move(left);
  }
  return parts;
}

Polygon face_outline(const Product& product, bool turned) {
  const double w = product.width.metres(), h = product.height.metres();
  Polygon out;
  if (product.spec.custom)
    for (const OuterSide& side : product.sides) out.push_back({side.from.x, side.from.y});
  else
    out = {{0, 0}, {w, 0}, {w, h}, {0, h}};
  if (turned)
    for (Vec2& at : out) at = {h - at.y, at.x};
  return out;
}

double face_area_m2(const Product& product) {
  return product.spec.custom ? signed_area(face_outline(product, false))
                             : product.width.metres() * product.height.metres();
}

std::vector<FaceBox> face_boxes(const Product& product, bool turned) {
  const Polygon outline = face_outline(product, turned);
  const std::vector<double> edges = strip_edges(outline);
  const FaceBox whole = box_round(outline);
  std::vector<FaceBox> out;
  for (std::size_t i = 0; i + 1 < edges.size(); ++i)
    for (const Polygon& part :
         clipped_to(outline, {whole.from_m.x, edges[i]}, {whole.to_m.x, edges[i + 1]}))
      out.push_back(box_round(part));
  return out;
}

std::vector<Vec2> hang_points_m(const Product& product, int count, bool turned) {
  const std::vector<Vec2> points = wood_points(product, turned);
  const Pair pair = best_pair(product, points, turned);
  if (pair.score < -1e8 || count < 1) return {};
  std::vector<Vec2> out;
  for (int i = 0; i < count; ++i) {
    const double share = count == 1 ? 0.5 : double(i) / (count - 1);
    const Vec2 wanted = pair.left + (pair.right - pair.left) * share;
    Vec2 best = pair.left;
    for (const Vec2& at : points)
      if (length(at - wanted) < length(best - wanted) - level_tolerance) best = at;
    out.push_back(best);
  }
  return out;
}

void check_hanging(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  const int count =
      product.spec.mounting == Mounting::clips ? rules.clips_per_panel : rules.hangers_per_panel;
  const bool hangs = !hang_points_m(product, std::max(2, count), false).empty();
  const Length above = Length::from_m(least_above_m);
  product.checks.push_back(
      {"hanging points", hangs, hangs ? Length() : -above,
       hangs
           ? "Its hanging points lie on wood, the centre of gravity between and below them."
           : "No two points of its sides, a quarter of its width apart, have the centre of gravity "
             "between them and at "
             "least " +
                 print_length(above, with.shop->units) +
                 " below: it would tip or swing. Make its upper part wider, or two pieces of it."});
}

}  // namespace roomwright::design
