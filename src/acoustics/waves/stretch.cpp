// A room a little longer, wider or higher, with everything in it: a linear map, so that walls stay
// plane, prisms prisms and rectangles on walls rectangles.
#include <cmath>

#include "acoustics/waves/solid_values.h"

namespace roomwright::acoustics {

namespace {

/// The map in plan and its inverse; both are symmetric.
class PlanStretch {
 public:
  explicit PlanStretch(const RoomStretch& stretch)
      : along_(stretch.along), left_{-stretch.along.y, stretch.along.x}, by_(stretch.by) {}
  Vec2 of(Vec2 p) const {
    return along_ * (by_.x * dot(along_, p)) + left_ * (by_.y * dot(left_, p));
  }
  Vec3 of(const Vec3& p) const {
    const Vec2 flat = of(Vec2{p.x, p.y});
    return {flat.x, flat.y, by_.z * p.z};
  }
  Vec2 back(Vec2 p) const {
    return along_ * (dot(along_, p) / by_.x) + left_ * (dot(left_, p) / by_.y);
  }

 private:
  Vec2 along_, left_;
  Vec3 by_;
};

ResponsePatch stretched_patch(const Room& room, const ResponsePatch& patch, const PlanStretch& plan,
                              double up) {
  ResponsePatch out = patch;
  if (patch.area.surface < 2) {
    out.area.from_m = plan.of(patch.area.from_m), out.area.to_m = plan.of(patch.area.to_m);
    return out;
  }
  const auto wall = static_cast<std::size_t>(patch.area.surface) - 2;
  const Vec2 run = room.plan_m[(wall + 1) % room.plan_m.size()] - room.plan_m[wall];
  const double across = length(plan.of(run)) / length(run);
  out.area.from_m = {across * patch.area.from_m.x, up * patch.area.from_m.y};
  out.area.to_m = {across * patch.area.to_m.x, up * patch.area.to_m.y};
  return out;
}

/// Slabs end at planes: their normal goes by the inverse.
ResponseObject stretched_object(const ResponseObject& object, const PlanStretch& plan, double up) {
  ResponseObject out = object;
  for (Vec2& corner : out.plan_m) corner = plan.of(corner);
  out.low_m *= up, out.high_m *= up;
  const Vec2 flat = plan.back({object.axis.x, object.axis.y});
  const Vec3 normal{flat.x, flat.y, object.axis.z / up};
  out.axis = normal * (1 / length(normal));
  for (FluidSlab& slab : out.slabs) slab.thickness_m *= length(object.axis) / length(normal);
  return out;
}

}  // namespace

ResponseRequest stretched(const ResponseRequest& request, const RoomStretch& stretch) {
  const PlanStretch plan(stretch);
  const double up = stretch.by.z;
  ResponseRequest out = request;
  for (Vec2& corner : out.room.plan_m) corner = plan.of(corner);
  out.room.height_m *= up;
  out.room.slope = plan.back(request.room.slope) * up;
  for (ResponsePatch& patch : out.patches) patch = stretched_patch(request.room, patch, plan, up);
  for (ResponseObject& object : out.objects) object = stretched_object(object, plan, up);
  for (ResponseSource& source : out.sources) source.at_m = plan.of(source.at_m);
  for (Vec3& receiver : out.receivers_m) receiver = plan.of(receiver);
  return out;
}

StretchWeights stretch_weights(const ResponseRequest& request, const RoomStretch& stretch) {
  const Vec3& by = stretch.by;
  StretchWeights out;
  out.volume = by.x * by.y * by.z;
  out.slope = {out.volume / (by.x * by.x), out.volume / (by.y * by.y), out.volume / (by.z * by.z)};
  // A plane's area grows as the map's cofactors take its normal.
  std::vector<double> surfaces;
  for (int s = 0; s < surface_count(request.room); ++s) {
    const Vec3 normal = surface_plane(request.room, s).normal;
    const Vec2 flat{normal.x, normal.y};
    const Vec3 grown{out.volume / by.x * dot(stretch.along, flat),
                     out.volume / by.y * cross(stretch.along, flat), out.volume / by.z * normal.z};
    surfaces.push_back(length(grown));
  }
  out.area = surfaces;
  for (const ResponsePatch& patch : request.patches)
    out.area.push_back(surfaces[static_cast<std::size_t>(patch.area.surface)]);
  return out;
}

SolidValues stretched_values(const SolidValues& plain, const StretchWeights& weights) {
  SolidValues out;
  for (std::size_t m = 0; m < plain.stiffness.size(); ++m)
    for (std::size_t d = 0; d < 3; ++d) {
      out.inverse_density.push_back(weights.slope[d] * plain.inverse_density[m]);
      out.stiffness.push_back(d == 0 ? weights.volume * plain.stiffness[m] : 0);
    }
  for (std::size_t b = 0; b < plain.boundary.size(); ++b)
    out.boundary.push_back(weights.area[b] * plain.boundary[b]);
  return out;
}

}  // namespace roomwright::acoustics
