// Images by reflection of reflection, each path then walked back from the receiver; see rays.h.
#include "acoustics/rays/rays.h"

#include <algorithm>
#include <cmath>

#include "acoustics/rays/box_frame.h"
#include "acoustics/sound/sound.h"

namespace roomwright::acoustics {

namespace {

constexpr double on_surface_m = 1e-7;

/// The room's surfaces with what every test needs of them.
struct Walls {
  const Room& room;
  std::vector<Plane> planes;
  std::vector<Polygon> outlines;

  explicit Walls(const Room& of) : room(of) {
    for (int i = 0; i < surface_count(room); ++i) {
      planes.push_back(surface_plane(room, i));
      outlines.push_back(surface_outline(room, i));
    }
  }
  bool on(std::size_t surface, Vec3 point) const {
    return contains(outlines[surface], to_uv(room, static_cast<int>(surface), point), on_surface_m);
  }
  /// Whether a surface other than the two named cuts the open leg from a to b.
  bool cut(Vec3 a, Vec3 b, int except_first, int except_second) const {
    for (std::size_t i = 0; i < planes.size(); ++i) {
      if (static_cast<int>(i) == except_first || static_cast<int>(i) == except_second) continue;
      const double from = planes[i].distance(a), to = planes[i].distance(b);
      if ((from > on_surface_m) == (to > on_surface_m) || std::abs(from - to) < 1e-12) continue;
      const double t = from / (from - to);
      if (t <= 1e-9 || t >= 1 - 1e-9) continue;
      if (on(i, a + (b - a) * t)) return true;
    }
    return false;
  }
};

double absorption_at(const Room& room, const ReflectingBoundary& boundary, int surface,
                     Vec3 point) {
  const Vec2 uv = to_uv(room, surface, point);
  for (std::size_t i = 0; i < boundary.patches.size(); ++i) {
    const Patch& patch = boundary.patches[i];
    if (patch.surface == surface && uv.x >= patch.from_m.x && uv.x <= patch.to_m.x &&
        uv.y >= patch.from_m.y && uv.y <= patch.to_m.y)
      return boundary.patch_absorption[i];
  }
  return boundary.surface_absorption.empty()
             ? 0
             : boundary.surface_absorption[static_cast<std::size_t>(surface)];
}

/// One search: images grow by one reflection at a time, and each is tried at once.
class ImageSearch {
 public:
  ImageSearch(const Walls& walls, Vec3 source, Vec3 receiver, double speed,
              const ReflectingBoundary& boundary, const ImageOptions& options, ImageReport& report)
      : walls_(walls),
        source_(source),
        receiver_(receiver),
        speed_(speed),
        boundary_(boundary),
        options_(options),
        report_(report) {}

  void grow(Vec3 image, int order) {
    for (std::size_t s = 0; s < walls_.planes.size(); ++s) {
      if (!surfaces_.empty() && surfaces_.back() == static_cast<int>(s)) continue;
      // Only an image in front of a surface is reflected by it.
      if (walls_.planes[s].distance(image) <= on_surface_m) continue;
      const Vec3 next = walls_.planes[s].mirror(image);
      images_.push_back(next);
      surfaces_.push_back(static_cast<int>(s));
      try_path();
      if (order + 1 < options_.max_order) grow(next, order + 1);
      images_.pop_back();
      surfaces_.pop_back();
    }
  }

 private:
  void try_path() {
    const double length_m = length(receiver_ - images_.back());
    const double delay_ms = (length_m - report_.direct_m) / speed_ * 1e3;
    if (delay_ms > options_.window_ms) return;
    ImagePath path;
    path.surfaces = surfaces_;
    path.points_m.resize(surfaces_.size());
    Vec3 at = receiver_;
    double level = amplitude_db(report_.direct_m / length_m);
    int before = -1;
    for (std::size_t i = surfaces_.size(); i-- > 0;) {
      const auto surface = static_cast<std::size_t>(surfaces_[i]);
      const Plane& plane = walls_.planes[surface];
      const double here = plane.distance(at), there = plane.distance(images_[i]);
      if (here <= on_surface_m || there >= -on_surface_m) return;
      const Vec3 point = at + (images_[i] - at) * (here / (here - there));
      if (!walls_.on(surface, point) || walls_.cut(at, point, before, surfaces_[i])) return;
      level +=
          energy_db(1 - std::min(1.0, absorption_at(walls_.room, boundary_, surfaces_[i], point)));
      path.points_m[i] = point;
      at = point;
      before = surfaces_[i];
    }
    if (walls_.cut(at, source_, before, -1)) return;
    path.order = static_cast<int>(surfaces_.size());
    path.length_m = length_m;
    path.delay_ms = delay_ms;
    path.level_db = std::max(-300.0, level);
    report_.paths.push_back(std::move(path));
  }

  const Walls& walls_;
  Vec3 source_, receiver_;
  double speed_;
  const ReflectingBoundary& boundary_;
  const ImageOptions& options_;
  ImageReport& report_;
  std::vector<Vec3> images_;
  std::vector<int> surfaces_;
};

// ---- the box, where every image of the lattice is visible -----------------------------------

/// Walks from the source's cell to the image's cell the way the sound is reflected, and gives the
/// surfaces in order from the source with their points folded back into the box.
void walk_box(const Walls& walls, const BoxFrame& frame, const Vec3 local_image,
              const Vec3 local_receiver, const std::array<int, 3>& cell, ImagePath& path,
              const ReflectingBoundary& boundary) {
  const Vec3 side = frame.side;
  struct Crossing {
    double t;
    int axis, plane;
  };
  std::vector<Crossing> crossings;
  const double from[] = {local_image.x, local_image.y, local_image.z};
  const double to[] = {local_receiver.x, local_receiver.y, local_receiver.z};
  const double sides[] = {side.x, side.y, side.z};
  for (int axis = 0; axis < 3; ++axis) {
    const int n = cell[static_cast<std::size_t>(axis)];
    // Cell n lies between the planes n and n + 1; cell 0 is the room.
    for (int k = std::min(0, n) + 1; k <= std::max(0, n); ++k)
      crossings.push_back({(k * sides[axis] - from[axis]) / (to[axis] - from[axis]), axis, k});
  }
  std::sort(crossings.begin(), crossings.end(),
            [](const Crossing& a, const Crossing& b) { return a.t < b.t; });
  // Box walls by axis and side: x: wall3 (x = 0), wall1; y: wall0, wall2; z: floor, ceiling.
  static constexpr int surface_of[3][2] = {{5, 3}, {2, 4}, {0, 1}};
  const auto fold = [](double x, double l) {
    x = std::fmod(std::fmod(x, 2 * l) + 2 * l, 2 * l);
    return x > l ? 2 * l - x : x;
  };
  for (const Crossing& crossing : crossings) {
    const Vec3 p = local_image + (local_receiver - local_image) * crossing.t;
    const Vec3 folded{fold(p.x, side.x), fold(p.y, side.y), fold(p.z, side.z)};
    const int end = ((crossing.plane % 2) + 2) % 2;
    const int surface = surface_of[crossing.axis][end];
    path.surfaces.push_back(surface);
    path.points_m.push_back(frame.to_room(folded));
    path.level_db += energy_db(
        1 - std::min(1.0, absorption_at(walls.room, boundary, surface, path.points_m.back())));
  }
}

void box_images(const Walls& walls, Vec3 source, Vec3 receiver, double speed,
                const ReflectingBoundary& boundary, const ImageOptions& options,
                ImageReport& report) {
  const BoxFrame frame(walls.room);
  const Vec3 side = frame.side;
  const Vec3 s = frame.to_local(source), r = frame.to_local(receiver);
  const int n = options.max_order;
  for (int i = -n; i <= n; ++i)
    for (int j = -(n - std::abs(i)); j <= n - std::abs(i); ++j)
      for (int k = -(n - std::abs(i) - std::abs(j)); k <= n - std::abs(i) - std::abs(j); ++k) {
        if (i == 0 && j == 0 && k == 0) continue;
        const Vec3 image{lattice(s.x, side.x, i), lattice(s.y, side.y, j), lattice(s.z, side.z, k)};
        ImagePath path;
        path.length_m = length(r - image);
        path.delay_ms = (path.length_m - report.direct_m) / speed * 1e3;
        if (path.delay_ms > options.window_ms) continue;
        path.order = std::abs(i) + std::abs(j) + std::abs(k);
        path.level_db = amplitude_db(report.direct_m / path.length_m);
        walk_box(walls, frame, image, r, {i, j, k}, path, boundary);
        path.level_db = std::max(-300.0, path.level_db);
        report.paths.push_back(std::move(path));
      }
}

// ---- what may be wrong ----------------------------------------------------------------------

void check_order(const Room& room, int order, Diagnostics& found) {
  if (is_box(room)) {
    if (order < 1 || order > greatest_order)
      found.add("max_order", "must be from 1 to 20", double(order), {});
    return;
  }
  if (order < 1 || order > greatest_order_any_plan) {
    found.add("max_order", "must be from 1 to 5 in a room that is no box", double(order), {});
    return;
  }
  int possible = order;
  while (possible > 1 && image_candidates(room, possible) > most_image_candidates) --possible;
  if (possible < order)
    found.add(
        "max_order",
        "has too many images for a room of " + std::to_string(surface_count(room)) + " surfaces",
        double(order), "ask for at most " + std::to_string(possible));
}

Diagnostics wrong_image_request(const Room& room, Vec3 source, Vec3 receiver,
                                const ReflectingBoundary& boundary, const ImageOptions& options) {
  Diagnostics found;
  check_order(room, options.max_order, found);
  for (const auto& [where, point] : {std::pair{"source", source}, {"receiver", receiver}})
    if (!contains(room, point, 1e-3))
      found.add(where, "is not inside the room, 1 mm clear of its surfaces", {}, "move it inside");
  if (length(source - receiver) < 1e-3)
    found.add("receiver", "stands in the source", {}, "move it at least 1 mm away");
  const auto surfaces = static_cast<std::size_t>(surface_count(room));
  if (!boundary.surface_absorption.empty() && boundary.surface_absorption.size() != surfaces)
    found.add("surfaces", "must have one coefficient a surface",
              double(boundary.surface_absorption.size()), {});
  if (boundary.patches.size() != boundary.patch_absorption.size())
    found.add("patches", "must have one coefficient a patch", {}, {});
  return found;
}

}  // namespace

double image_candidates(const Room& room, int order) {
  const double n = order;
  if (is_box(room)) return (4 * n * n * n + 6 * n * n + 8 * n) / 3;
  double sum = 0, layer = surface_count(room);
  for (int i = 0; i < order; ++i, layer *= surface_count(room) - 1) sum += layer;
  return sum;
}

Result<ImageReport> image_paths(const Room& room, Vec3 source_m, Vec3 receiver_m,
                                double sound_speed_m_s, const ReflectingBoundary& boundary,
                                const ImageOptions& options) {
  if (Diagnostics found = wrong_image_request(room, source_m, receiver_m, boundary, options);
      !found.empty())
    return found;
  const Walls walls(room);
  ImageReport report;
  report.direct_m = length(receiver_m - source_m);
  report.direct_clear = !walls.cut(source_m, receiver_m, -1, -1);
  if (is_box(room)) {
    box_images(walls, source_m, receiver_m, sound_speed_m_s, boundary, options, report);
  } else {
    ImageSearch search(walls, source_m, receiver_m, sound_speed_m_s, boundary, options, report);
    search.grow(source_m, 0);
  }
  std::stable_sort(report.paths.begin(), report.paths.end(), [](const auto& a, const auto& b) {
    // Equal delays (symmetric places) are told apart by their surfaces, not by a last digit.
    const double da = std::round(a.delay_ms * 1e6), db = std::round(b.delay_ms * 1e6);
    return da != db ? da < db : a.surfaces < b.surfaces;
  });
  return report;
}

}  // namespace roomwright::acoustics
