// Lists for the inner loop, and exact paths; see tracer_scene.h.
#include "acoustics/rays/tracer_scene.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace roomwright::acoustics {

namespace {

struct BoxFrame {
  Vec3 x, y;
};
BoxFrame frame_of(const TracedBox& box) {
  const double turn = box.turn_deg * std::numbers::pi / 180;
  const double c = std::cos(turn), s = std::sin(turn);
  return {{c, s, 0}, {-s, c, 0}};
}

/// Where a box touches the floor or a flat ceiling, neither's surface is there.
bool stands(const TracedBox& box) {
  return box.low_m <= 1e-6;
}
bool reaches_ceiling(const Room& room, const TracedBox& box) {
  return room.flat() && box.high_m >= room.height_m - 1e-6;
}

double value_at(const std::vector<double>& list, std::size_t band) {
  return list.size() == 1 ? list[0] : list[band];
}

bool strictly_convex(const Polygon& plan) {
  for (std::size_t i = 0; i < plan.size(); ++i) {
    const Vec2 a = plan[i], b = plan[(i + 1) % plan.size()], c = plan[(i + 2) % plan.size()];
    if (cross(b - a, c - b) < 1e-5 * length(b - a) * length(c - b)) return false;
  }
  return true;
}

/// Unit directions of u and v on a surface of the room, as affine functions of the point.
struct Affine {
  Vec3 gradient;
  double at_zero;
};
std::array<Affine, 2> coordinates_of(const Room& room, int surface) {
  const Vec2 zero = to_uv(room, surface, {0, 0, 0});
  std::array<Affine, 2> out{Affine{{}, zero.x}, Affine{{}, zero.y}};
  const Vec2 x = to_uv(room, surface, {1, 0, 0}) - zero, y = to_uv(room, surface, {0, 1, 0}) - zero,
             z = to_uv(room, surface, {0, 0, 1}) - zero;
  out[0].gradient = {x.x, y.x, z.x};
  out[1].gradient = {x.y, y.y, z.y};
  return out;
}

TraceSurface surface_for_loop(const Plane& plane, const std::array<Affine, 2>& uv, Vec3 middle,
                              double u_size, double v_size) {
  TraceSurface out{};
  out.normal_x = float(plane.normal.x);
  out.normal_y = float(plane.normal.y);
  out.normal_z = float(plane.normal.z);
  out.offset = float(plane.offset - dot(plane.normal, middle));
  out.u_x = float(uv[0].gradient.x);
  out.u_y = float(uv[0].gradient.y);
  out.u_z = float(uv[0].gradient.z);
  out.u_offset = float(uv[0].at_zero + dot(uv[0].gradient, middle));
  out.v_x = float(uv[1].gradient.x);
  out.v_y = float(uv[1].gradient.y);
  out.v_z = float(uv[1].gradient.z);
  out.v_offset = float(uv[1].at_zero + dot(uv[1].gradient, middle));
  out.u_size = float(u_size);
  out.v_size = float(v_size);
  return out;
}

Vec3 middle_of(const Room& room) {
  Vec2 low = room.plan_m[0], high = low;
  double top = 0;
  for (const Vec2 corner : room.plan_m) {
    low = {std::min(low.x, corner.x), std::min(low.y, corner.y)};
    high = {std::max(high.x, corner.x), std::max(high.y, corner.y)};
    top = std::max(top, room.ceiling_at(corner));
  }
  return {(low.x + high.x) / 2, (low.y + high.y) / 2, top / 2};
}

double extent_of(const Room& room) {
  double most = 0;
  const Vec3 middle = middle_of(room);
  for (const Vec2 corner : room.plan_m)
    most = std::max({most, std::abs(corner.x - middle.x), std::abs(corner.y - middle.y),
                     room.ceiling_at(corner)});
  return most;
}

void add_room_surfaces(const TracedScene& scene, KernelScene& out) {
  for (int i = 0; i < surface_count(scene.room); ++i) {
    const double run = i < 2 ? 0 : wall_length_m(scene.room, i);
    TraceSurface surface = surface_for_loop(surface_plane(scene.room, i),
                                            coordinates_of(scene.room, i), out.middle_m, run, 0);
    surface.material = i;
    surface.order = 1;
    surface.first_patch = static_cast<int>(out.patches.size());
    for (std::size_t p = 0; p < scene.patches.size(); ++p) {
      const Patch& patch = scene.patches[p];
      if (patch.surface != i) continue;
      out.patches.push_back({float(patch.from_m.x), float(patch.from_m.y), float(patch.to_m.x),
                             float(patch.to_m.y), surface_count(scene.room) + int(p)});
    }
    surface.patches = static_cast<int>(out.patches.size()) - surface.first_patch;
    out.surfaces.push_back(surface);
  }
}

void add_box_faces(const TracedScene& scene, KernelScene& out) {
  const int first = surface_count(scene.room) + static_cast<int>(scene.patches.size());
  for (const BoxFace& face : faces_of(scene.room, scene.boxes)) {
    const Plane plane{face.normal(), dot(face.normal(), face.corner)};
    TraceSurface surface = surface_for_loop(plane,
                                            {Affine{face.along_u, -dot(face.along_u, face.corner)},
                                             Affine{face.along_v, -dot(face.along_v, face.corner)}},
                                            out.middle_m, face.u_m, face.v_m);
    surface.material = first + static_cast<int>(face.box);
    surface.order = beyond_images;
    out.surfaces.push_back(surface);
    ++out.scene.rectangles;
  }
}

void add_receivers(const TracedScene& scene, const std::vector<double>& radius_m,
                   KernelScene& out) {
  for (std::size_t i = 0; i < scene.receivers_m.size(); ++i) {
    const Vec3 at = scene.receivers_m[i] - out.middle_m;
    const double r = radius_m[i];
    TraceReceiver receiver{float(at.x),
                           float(at.y),
                           float(at.z),
                           float(r * r),
                           float(1 / (4 * std::numbers::pi / 3 * r * r * r)),
                           nullptr,
                           0};
    for (std::size_t k = 0; k < out.surfaces.size(); ++k) {
      const TraceSurface& face = out.surfaces[k];
      const double behind =
          double(face.offset) - dot(Vec3{face.normal_x, face.normal_y, face.normal_z}, at);
      if (behind <= 0) continue;
      out.blinds.push_back({static_cast<int>(k), float(behind)});
      ++receiver.blinds;
    }
    out.receivers.push_back(receiver);
  }
  // The list no longer moves.
  const TraceBlind* next = out.blinds.data();
  for (TraceReceiver& receiver : out.receivers) {
    receiver.blind = next;
    next += receiver.blinds;
  }
}

}  // namespace

std::vector<BoxFace> faces_of(const Room& room, const std::vector<TracedBox>& boxes) {
  std::vector<BoxFace> out;
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    const TracedBox& box = boxes[i];
    const auto [x, y] = frame_of(box);
    const Vec3 z{0, 0, 1};
    const double w = box.size_m.x, d = box.size_m.y, h = box.high_m - box.low_m;
    const Vec3 low = Vec3{box.middle_m.x, box.middle_m.y, box.low_m} - x * (w / 2) - y * (d / 2);
    const Vec3 high = low + x * w + y * d + z * h;
    // Each normal is u × v: -y, -x, -z, then +y, +x, +z from the opposite corner.
    out.push_back({low, x, z, w, h, i});
    out.push_back({low, z, y, h, d, i});
    if (!stands(box)) out.push_back({low, y, x, d, w, i});
    out.push_back({high, z * -1, x * -1, h, w, i});
    out.push_back({high, y * -1, z * -1, d, h, i});
    if (!reaches_ceiling(room, box)) out.push_back({high, x * -1, y * -1, w, d, i});
  }
  return out;
}

double box_volume_m3(const TracedBox& box) {
  return box.size_m.x * box.size_m.y * (box.high_m - box.low_m);
}

double gap_to_box_m(const TracedBox& box, Vec3 point) {
  const auto [x, y] = frame_of(box);
  const Vec3 from = point - Vec3{box.middle_m.x, box.middle_m.y, (box.low_m + box.high_m) / 2};
  const double dx = std::abs(dot(from, x)) - box.size_m.x / 2;
  const double dy = std::abs(dot(from, y)) - box.size_m.y / 2;
  const double dz = std::abs(from.z) - (box.high_m - box.low_m) / 2;
  if (dx <= 0 && dy <= 0 && dz <= 0) return std::max({dx, dy, dz});
  return length(Vec3{std::max(dx, 0.0), std::max(dy, 0.0), std::max(dz, 0.0)});
}

double gap_m(const TracedScene& scene, Vec3 point) {
  const Room& room = scene.room;
  const Vec2 at{point.x, point.y};
  double gap = std::min(
      {point.z, surface_plane(room, 1).distance(point), distance_to_edge(room.plan_m, at)});
  for (const TracedBox& box : scene.boxes) gap = std::min(gap, gap_to_box_m(box, point));
  return gap;
}

double absorption_of(const Finish& finish, std::size_t band) {
  return std::min(1.0, value_at(finish.absorption, band));
}

double scattering_of(const Finish& finish, std::size_t band) {
  return value_at(finish.scattering, band);
}

std::vector<Finish> materials_of(const TracedScene& scene) {
  std::vector<Finish> out = scene.surfaces;
  out.resize(static_cast<std::size_t>(surface_count(scene.room)));
  out.insert(out.end(), scene.patch_finishes.begin(), scene.patch_finishes.end());
  for (const TracedBox& box : scene.boxes) out.push_back(box.finish);
  return out;
}

std::size_t material_at(const TracedScene& scene, int surface, Vec3 point) {
  const Vec2 uv = to_uv(scene.room, surface, point);
  for (std::size_t i = 0; i < scene.patches.size(); ++i) {
    const Patch& patch = scene.patches[i];
    if (patch.surface == surface && uv.x >= patch.from_m.x && uv.x <= patch.to_m.x &&
        uv.y >= patch.from_m.y && uv.y <= patch.to_m.y)
      return static_cast<std::size_t>(surface_count(scene.room)) + i;
  }
  return static_cast<std::size_t>(surface);
}

std::vector<double> areas_of(const TracedScene& scene) {
  std::vector<double> out;
  for (int i = 0; i < surface_count(scene.room); ++i) out.push_back(surface_area_m2(scene.room, i));
  const std::size_t surfaces = out.size();
  const double slant = std::sqrt(1 + dot(scene.room.slope, scene.room.slope));
  for (const Patch& patch : scene.patches) {
    const Vec2 size = patch.to_m - patch.from_m;
    const double area = size.x * size.y * (patch.surface == 1 ? slant : 1);
    out.push_back(area);
    out[static_cast<std::size_t>(patch.surface)] -= area;
  }
  out.resize(surfaces + scene.patches.size() + scene.boxes.size(), 0);
  for (const BoxFace& face : faces_of(scene.room, scene.boxes))
    out[surfaces + scene.patches.size() + face.box] += face.u_m * face.v_m;
  for (const TracedBox& box : scene.boxes) {
    const double plan = box.size_m.x * box.size_m.y;
    if (stands(box)) out[0] -= plan;
    if (reaches_ceiling(scene.room, box)) out[1] -= plan;
  }
  return out;
}

std::vector<std::vector<std::size_t>> band_groups(const TracedScene& scene) {
  const auto materials = materials_of(scene);
  const auto alike = [&](std::size_t a, std::size_t b) {
    return std::all_of(materials.begin(), materials.end(), [&](const Finish& finish) {
      return scattering_of(finish, a) == scattering_of(finish, b);
    });
  };
  std::vector<std::vector<std::size_t>> groups;
  for (std::size_t band = 0; band < scene.bands; ++band) {
    const auto group = std::find_if(groups.begin(), groups.end(), [&](const auto& known) {
      return known.size() < trace_row && alike(known[0], band);
    });
    if (group == groups.end())
      groups.push_back({band});
    else
      group->push_back(band);
  }
  return groups;
}

Pattern::Pattern(const Directivity& directivity, std::size_t bands)
    : kind_(directivity.kind),
      axis_(normalised(directivity.axis)),
      order_(directivity.order),
      level_db_(directivity.level_db) {
  constexpr int steps = 4096;  // midpoints in cos θ
  for (std::size_t band = 0; band < bands; ++band) {
    double sum = 0;
    for (int i = 0; i < steps; ++i) sum += raw(band, 1 - (2 * i + 1.0) / steps);
    mean_.push_back(sum / steps);
  }
}

double Pattern::raw(std::size_t band, double cosine) const {
  if (kind_ == Directivity::Kind::omnidirectional) return 1;
  if (kind_ == Directivity::Kind::first_order) {
    const double pressure = order_ + (1 - order_) * cosine;
    return pressure * pressure;
  }
  const std::vector<double>& levels = level_db_[level_db_.size() == 1 ? 0 : band];
  const double place = std::acos(std::clamp(cosine, -1.0, 1.0)) / std::numbers::pi *
                       static_cast<double>(levels.size() - 1);
  const std::size_t at = std::min(static_cast<std::size_t>(place), levels.size() - 2);
  const double part = place - static_cast<double>(at);
  return std::pow(10.0, (levels[at] * (1 - part) + levels[at + 1] * part) / 10);
}

double Pattern::gain(std::size_t band, Vec3 way) const {
  return even() ? 1 : raw(band, dot(axis_, way)) / mean_[band];
}

KernelScene kernel_scene(const TracedScene& scene, const std::vector<std::size_t>& bands,
                         const std::vector<double>& radius_m) {
  KernelScene out;
  out.middle_m = middle_of(scene.room);
  add_room_surfaces(scene, out);
  add_box_faces(scene, out);
  for (const Finish& finish : materials_of(scene)) {
    TraceMaterial material{};
    for (std::size_t i = 0; i < bands.size(); ++i) {
      material.kept[i] = float(1 - absorption_of(finish, bands[i]));
      material.most_kept = std::max(material.most_kept, material.kept[i]);
    }
    material.scattering = float(scattering_of(finish, bands[0]));
    out.materials.push_back(material);
  }
  add_receivers(scene, radius_m, out);
  out.scene.walls = surface_count(scene.room) - 2;
  out.scene.convex = strictly_convex(scene.room.plan_m);
  out.scene.tolerance_m = float(std::max(1e-5, 4e-6 * extent_of(scene.room)));
  out.scene.receiver_count = static_cast<int>(out.receivers.size());
  out.scene.surfaces = out.surfaces.data();
  out.scene.patches = out.patches.data();
  out.scene.materials = out.materials.data();
  out.scene.receivers = out.receivers.data();
  return out;
}

namespace {

bool faces_stand_between(const std::vector<BoxFace>& faces, Vec3 a, Vec3 b) {
  for (const BoxFace& face : faces) {
    const Plane plane{face.normal(), dot(face.normal(), face.corner)};
    const double from = plane.distance(a), to = plane.distance(b);
    if ((from > 0) == (to > 0) || std::abs(from - to) < 1e-12) continue;
    const Vec3 at = a + (b - a) * (from / (from - to)) - face.corner;
    const double u = dot(at, face.along_u), v = dot(at, face.along_v);
    if (u >= 0 && u <= face.u_m && v >= 0 && v <= face.v_m) return true;
  }
  return false;
}

}  // namespace

ExactPaths exact_paths(const TracedScene& scene, const Pattern& pattern, Vec3 source, Vec3 receiver,
                       const ImageReport& images) {
  ExactPaths out;
  const auto faces = faces_of(scene.room, scene.boxes);
  const auto materials = materials_of(scene);
  const auto add = [&](const std::vector<Vec3>& points, const std::vector<int>& surfaces,
                       double length_m) {
    Vec3 at = source;
    for (std::size_t i = 0; i <= points.size(); ++i) {
      const Vec3 to = i < points.size() ? points[i] : receiver;
      if (faces_stand_between(faces, at, to)) return false;
      at = to;
    }
    const Vec3 way = normalised((points.empty() ? receiver : points[0]) - source);
    std::vector<double> energy(scene.bands);
    for (std::size_t band = 0; band < scene.bands; ++band) {
      const double air = scene.air_energy_1_m.empty() ? 0 : scene.air_energy_1_m[band];
      double e = pattern.gain(band, way) * std::exp(-air * length_m) /
                 (4 * std::numbers::pi * length_m * length_m);
      for (std::size_t i = 0; i < points.size(); ++i) {
        const Finish& finish = materials[material_at(scene, surfaces[i], points[i])];
        e *= (1 - absorption_of(finish, band)) * (1 - scattering_of(finish, band));
      }
      energy[band] = e;
    }
    out.time_s.push_back(length_m / scene.sound_speed_m_s);
    out.energy.push_back(std::move(energy));
    return true;
  };
  out.direct_clear = images.direct_clear && add({}, {}, images.direct_m);
  for (const ImagePath& path : images.paths)
    out.paths += add(path.points_m, path.surfaces, path.length_m) ? 1 : 0;
  return out;
}

}  // namespace roomwright::acoustics
