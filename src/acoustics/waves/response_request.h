// Private to acoustics/waves: what is asked of the driven box, checked, and put into the box's own
// frame.
#pragma once

#include <array>
#include <complex>

#include "acoustics/waves/response_layout.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

using BoxPlace = std::array<double, 3>;

/// Places in the box's own frame: its corner at the plan's first, x along the plan's first side.
class BoxCoordinates {
 public:
  explicit BoxCoordinates(const Room& room) : origin_(room.plan_m[0]) {
    const Vec2 along = room.plan_m[1] - room.plan_m[0];
    along_ = along * (1 / length(along));
    const Vec3 size = box_size_m(room);
    size_ = {size.x, size.y, size.z};
  }
  const BoxPlace& size() const { return size_; }
  BoxPlace place(Vec3 point) const {
    const Vec2 at = Vec2{point.x, point.y} - origin_;
    BoxPlace out{dot(at, along_), cross(along_, at), point.z};
    for (std::size_t d = 0; d < 3; ++d) out[d] = std::clamp(out[d], 0.0, size_[d]);
    return out;
  }
  /// Floor and ceiling have the plan's own x and y: false where those lie across the box's.
  bool square() const { return std::abs(along_.x) > 1 - 1e-12 || std::abs(along_.y) > 1 - 1e-12; }

 private:
  Vec2 origin_, along_;
  BoxPlace size_{};
};

/// The wall of a box (see response_kernel.h) that a surface is.
inline constexpr std::array<int, 6> wall_of_surface{4, 5, 2, 1, 3, 0};

/// Where a patch cannot be moved yet: rooms that are no prism, objects in them.
Diagnostics not_built(const ResponseRequest& request);
/// All that is wrong with a box and everything in it.
Diagnostics wrong_response_request(const ResponseRequest& request);
/// Of a patch that is right.
WallPatch wall_patch(const Room& room, const BoxCoordinates& frame, const Patch& patch);
LayoutInput layout_input(const ResponseRequest& request, const ResponseOptions& options);
/// More unknowns or modes than one call may have.
Diagnostics too_much(const LayoutInput& input);

/// Of the six walls, none below least_admittance.
std::array<std::complex<double>, 6> wall_admittances(const ResponseRequest& request,
                                                     std::size_t frequency);
const std::complex<double>& at_frequency(const Admittance& values, std::size_t frequency);

}  // namespace roomwright::acoustics
