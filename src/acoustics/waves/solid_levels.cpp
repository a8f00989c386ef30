// Where layers meet over each point of a plan. Marks of level objects are heights and those of
// objects that follow the ceiling are depths below it; over the whole plan all heights come before
// all depths. Where an object holds a point its own marks stand exactly, elsewhere marks stand
// where they can and give way where they would come too near each other.
#include <algorithm>
#include <cmath>

#include "acoustics/waves/solid_model.h"

namespace roomwright::acoustics {

namespace {

constexpr double under_follower_m = 0.02;  // from a level object up to one that follows the ceiling
constexpr double clear_of_others_m = 0.1;  // from a mark of one kind to the next of the other
constexpr double alike_from_m = 0.5;       // away from objects

double lowest_ceiling(const Room& room) {
  double least = 1e300;
  for (const Vec2 p : room.plan_m) least = std::min(least, room.ceiling_at(p));
  return least;
}

double highest_ceiling(const Room& room) {
  double most = 0;
  for (const Vec2 p : room.plan_m) most = std::max(most, room.ceiling_at(p));
  return most;
}

/// Marks, those of different objects that lie nearer than one_level_m as one; none so near to 0 or
/// `end`. by_object: each one's, above 0.
std::vector<double> merged_marks(const std::vector<std::vector<double>>& by_object, double end,
                                 double one_level_m) {
  struct Mark {
    double z;
    std::size_t object;
  };
  std::vector<Mark> all;
  for (std::size_t o = 0; o < by_object.size(); ++o)
    for (const double z : by_object[o]) all.push_back({z, o});
  std::stable_sort(all.begin(), all.end(), [](const Mark& a, const Mark& b) { return a.z < b.z; });
  struct Level {
    double low, high;
    std::vector<std::size_t> objects;  // none twice: a thin slab keeps both its ends
  };
  std::vector<Level> levels{{0, 0, {}}};
  for (const Mark& mark : all) {
    Level& last = levels.back();
    const bool known =
        std::find(last.objects.begin(), last.objects.end(), mark.object) != last.objects.end();
    if (mark.z - last.low <= plan_snap_m || (!known && mark.z - last.low <= one_level_m)) {
      last.high = mark.z;
      last.objects.push_back(mark.object);
    } else {
      levels.push_back({mark.z, mark.z, {mark.object}});
    }
  }
  if (levels.size() > 1 && end - levels.back().low <= one_level_m) levels.pop_back();
  std::vector<double> out;
  for (std::size_t l = 1; l < levels.size(); ++l)
    out.push_back((levels[l].low + levels[l].high) / 2);
  return out;
}

/// Heights of the ends of level objects and slabs, and under a flat ceiling of edges of patches
/// that lie apart.
std::vector<double> heights_of(const SolidAsk& ask) {
  const Room& room = ask.room;
  std::vector<std::vector<double>> by_object;
  for (const ResponseObject& object : ask.objects)
    by_object.push_back(follows_ceiling(room, object) ? std::vector<double>{}
                                                      : marks_at(room, object, object.plan_m[0]));
  std::vector<double> marks = merged_marks(by_object, room.flat() ? room.height_m : 1e9,
                                           room.flat() ? ask.one_level_m : plan_snap_m);
  for (const Vec3& source : ask.near_sources_m)
    for (const double away : {0.0, -0.1, 0.1, -0.4, 0.4}) {
      const double z = source.z + away;
      const bool near = std::any_of(marks.begin(), marks.end(),
                                    [&](double mark) { return std::abs(mark - z) < 0.05; });
      if (!near && z > 0.05 && z < lowest_ceiling(room) - 0.05 && marks.size() < 24)
        marks.push_back(z);
    }
  std::sort(marks.begin(), marks.end());
  // Under a slope layers bend against each other: nothing that patches could gain from theirs.
  if (!ask.follow_patches || !room.flat()) return marks;
  constexpr double apart_m = 0.1;
  constexpr std::size_t most_marks = 12;
  for (const ResponsePatch& patch : ask.patches)
    if (patch.area.surface >= 2)
      for (const double v : {patch.area.from_m.y, patch.area.to_m.y}) {
        const bool near = std::any_of(marks.begin(), marks.end(),
                                      [&](double z) { return std::abs(z - v) < apart_m; });
        if (!near && v > apart_m && v < lowest_ceiling(room) - apart_m && marks.size() < most_marks)
          marks.push_back(v);
      }
  std::sort(marks.begin(), marks.end());
  return marks;
}

/// Depths, along the height, of the ends of objects that follow the ceiling, greatest first.
std::vector<double> depths_of(const SolidAsk& ask) {
  std::vector<std::vector<double>> by_object;
  for (const ResponseObject& object : ask.objects) {
    by_object.emplace_back();
    if (!follows_ceiling(ask.room, object)) continue;
    const Vec2 there = object.plan_m[0];
    for (const double z : marks_at(ask.room, object, there))
      by_object.back().push_back(ask.room.ceiling_at(there) - z);
  }
  std::vector<double> out = merged_marks(by_object, 1e9, plan_snap_m);
  std::reverse(out.begin(), out.end());
  return out;
}

class Levels {
 public:
  explicit Levels(const SolidAsk& ask) : ask_(ask), heights_(heights_of(ask)) {
    if (ask.room.flat())
      while (!heights_.empty() && heights_.back() > ask.room.height_m - plan_snap_m)
        heights_.pop_back();
    heights_.insert(heights_.begin(), 0);
    depths_ = depths_of(ask);
    depths_.push_back(0);
    // Points that snapped to an edge lie a little beside the object.
    least_between_ =
        std::max(plan_snap_m, under_follower_m - plan_snap_m * (1 + 4 * length(ask.room.slope)));
  }
  /// Where nothing has to stand exactly.
  std::vector<double> free_under(double ceiling) const {
    std::vector<double> z = standing(ceiling);
    if (!ask_.room.flat()) give_way(0, z.size() - 1, z);
    return z;
  }
  Result<std::vector<double>> over(Vec2 at) const {
    std::vector<double> z = standing(ask_.room.ceiling_at(at));
    const Kept kept = kept_over(at);
    const std::size_t first = kept.below - 1, last = z.size() - kept.above;
    if (z[last] - z[first] < least_between_) return crossed(kept);
    give_way(first, last, z);
    return z;
  }
  /// 0 where an object holds a point, 1 from alike_from_m on.
  double off(Vec2 at) const {
    double away = alike_from_m;
    for (const ResponseObject& object : ask_.objects) {
      if (contains(object.plan_m, at, 2 * plan_snap_m)) return 0;
      away = std::min(away, distance_to_edge(object.plan_m, at));
    }
    for (const Vec3& source : ask_.near_sources_m)
      away = std::min(away, length(at - Vec2{source.x, source.y}));
    return away / alike_from_m;
  }

 private:
  std::vector<double> standing(double ceiling) const {
    std::vector<double> z = heights_;
    for (const double depth : depths_) z.push_back(ceiling - depth);
    return z;
  }
  /// How many marks stand exactly, from the floor up and from the ceiling down, and for the sake of
  /// which objects.
  struct Kept {
    std::size_t below = 1, above = 1;
    std::size_t level = 0, follower = 0;
  };
  Kept kept_over(Vec2 at) const {
    Kept out;
    for (std::size_t o = 0; o < ask_.objects.size(); ++o) {
      const ResponseObject& object = ask_.objects[o];
      if (!contains(object.plan_m, at, 2 * plan_snap_m)) continue;
      const HeightSpan ends = span_at(ask_.room, object, at);
      if (follows_ceiling(ask_.room, object)) {
        const double most = ask_.room.ceiling_at(at) - ends.low_m + plan_snap_m;
        while (out.above < depths_.size() && depths_[depths_.size() - out.above - 1] <= most)
          ++out.above, out.follower = o;
      } else {
        while (out.below < heights_.size() && heights_[out.below] <= ends.high_m + plan_snap_m)
          ++out.below, out.level = o;
      }
    }
    return out;
  }
  static Complaint crossed(const Kept& kept) {
    return {"objects[" + std::to_string(kept.level) + "]",
            "reaches above the underside of objects[" + std::to_string(kept.follower) +
                "], which follows the ceiling, where one stands under or against the other",
            {},
            "end it 20 mm below that, or move them 10 mm apart",
            0};
  }
  /// The least from a mark to the next: what they are apart, but not more than enough.
  double least_gap(std::size_t mark) const {
    if (mark + 1 == heights_.size()) return clear_of_others_m;
    if (mark + 1 < heights_.size())
      return std::min(clear_of_others_m, heights_[mark + 1] - heights_[mark]);
    const std::size_t d = mark - heights_.size();
    return std::min(clear_of_others_m, depths_[d] - depths_[d + 1]);
  }
  /// Moves what stands between two marks that stay.
  void give_way(std::size_t first, std::size_t last, std::vector<double>& z) const {
    double needed = 0;
    for (std::size_t i = first; i < last; ++i) needed += least_gap(i);
    const double share = std::min(1.0, (z[last] - z[first]) / needed);
    for (std::size_t i = first + 1; i < last; ++i)
      z[i] = std::max(z[i], z[i - 1] + share * least_gap(i - 1));
    for (std::size_t i = last - 1; i > first; --i)
      z[i] = std::min(z[i], z[i + 1] - share * least_gap(i));
  }

  const SolidAsk& ask_;
  std::vector<double> heights_, depths_;  ///< rising, from 0; falling, to 0
  double least_between_ = 0;
};

}  // namespace

Result<SolidLevels> levels_of(const SolidAsk& ask, const Mesh& mesh) {
  const Levels levels(ask);
  SolidLevels out;
  const double middle = (lowest_ceiling(ask.room) + highest_ceiling(ask.room)) / 2;
  out.middle_m = levels.free_under(middle);
  for (const Vec2 p : mesh.points) {
    const double off = ask.room.flat() ? 1 : levels.off(p);
    out.alike.push_back(off == 1);
    std::vector<double> here = out.middle_m;
    if (!ask.room.flat())
      for (double& z : here) z *= ask.room.ceiling_at(p) / middle;
    if (off < 1) {
      const auto exact = levels.over(p);
      if (!exact) return exact.mistakes();
      for (std::size_t l = 0; l < here.size(); ++l)
        here[l] = off == 0 ? (*exact)[l] : (1 - off) * (*exact)[l] + off * here[l];
    }
    out.by_point_m.push_back(std::move(here));
  }
  return out;
}

}  // namespace roomwright::acoustics
