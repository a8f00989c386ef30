// Image sources: every specular path from a source to a receiver up to an order, exact in any plan
// with a flat or sloped ceiling. A path counts when each of its reflection points lies on its
// surface and no surface stands in any of its legs. Omnidirectional sources, coefficients that do
// not depend on the angle.
#pragma once

#include <limits>
#include <string>
#include <vector>

#include "acoustics/rooms/rooms.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

inline constexpr int greatest_order = 20;          ///< in a box
inline constexpr int greatest_order_any_plan = 5;  ///< elsewhere
inline constexpr double most_image_candidates = 5e6;

/// Absorption of the boundary in one band (or one number): by surface, and patches that replace it.
struct ReflectingBoundary {
  std::vector<double> surface_absorption;  ///< by surface; empty: rigid
  std::vector<Patch> patches;
  std::vector<double> patch_absorption;  ///< by patch
};

struct ImagePath {
  double delay_ms = 0;  ///< after the direct sound
  double level_db = 0;  ///< against it: 20 lg(d₀/d) + Σ 10 lg(1 − α); at least -300
  double length_m = 0;
  int order = 0;
  std::vector<int> surfaces;   ///< from the source
  std::vector<Vec3> points_m;  ///< reflection points, in the same order
};

struct ImageOptions {
  int max_order = 1;
  double window_ms = std::numeric_limits<double>::infinity();
};

struct ImageReport {
  std::vector<ImagePath> paths;  ///< by delay, then by surfaces
  double direct_m = 0;
  bool direct_clear = true;  ///< false: a wall stands between them (non-convex plans)
};

/// Errors: source or receiver outside the room or nearer than 1 mm to a surface; an order out of
/// range or with too many candidates for this plan (the message says which order is possible);
/// spectra of another size than the room; source and receiver in one place.
/// Source: J. B. Allen & D. A. Berkley, J. Acoust. Soc. Am. 65 (1979); J. Borish, J. Acoust. Soc.
/// Am. 75 (1984) for any polyhedron.
Result<ImageReport> image_paths(const Room& room, Vec3 source_m, Vec3 receiver_m,
                                double sound_speed_m_s, const ReflectingBoundary& boundary,
                                const ImageOptions& options);

}  // namespace roomwright::acoustics
