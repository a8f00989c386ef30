// The images of a box summed into bins of time without their paths: what each costs is a root, a
// division and a product for each band. See rays.h.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "acoustics/rays/box_frame.h"
#include "acoustics/rays/rays.h"

namespace roomwright::acoustics {

namespace {

/// The images along one axis: square of the way, and by band what walls leave of the energy.
struct AxisImages {
  std::vector<double> square_m2, kept;
};

/// low, high: the surfaces at 0 and at `side`.
AxisImages axis_images(double side, double source, double receiver, int order, std::size_t bands,
                       const std::vector<double>& low, const std::vector<double>& high) {
  AxisImages out;
  for (int n = -order; n <= order; ++n) {
    const double at = lattice(source, side, n);
    out.square_m2.push_back((at - receiver) * (at - receiver));
    const int far = n > 0 ? (n + 1) / 2 : -n / 2, near = n > 0 ? n / 2 : (1 - n) / 2;
    for (std::size_t band = 0; band < bands; ++band)
      out.kept.push_back(std::pow(low[band], near) * std::pow(high[band], far));
  }
  return out;
}

Diagnostics wrong_box_request(const Room& room, Vec3 source, Vec3 receiver,
                              const std::vector<std::vector<double>>& absorption,
                              const BoxImageOptions& options) {
  Diagnostics found;
  if (!is_box(room)) found.add("room", "is no box", {}, "ask for paths");
  if (options.max_order < 1 || options.max_order > greatest_order)
    found.add("max_order", "must be from 1 to 20", double(options.max_order), {});
  if (!(options.bin_s >= 1e-5 && options.bin_s <= 1))
    found.add("bin_s", "must be from 0.00001 to 1", options.bin_s, {});
  for (const auto& [where, point] : {std::pair{"source", source}, {"receiver", receiver}})
    if (!contains(room, point, 1e-3))
      found.add(where, "is not inside the room, 1 mm clear of its surfaces", {}, "move it inside");
  if (length(source - receiver) < 1e-3)
    found.add("receiver", "stands in the source", {}, "move it at least 1 mm away");
  const bool even = absorption.size() == 6 && !absorption[0].empty() &&
                    std::all_of(absorption.begin(), absorption.end(), [&](const auto& bands) {
                      return bands.size() == absorption[0].size();
                    });
  if (!even) found.add("surfaces", "must have a coefficient for each band, six of them", {}, {});
  return found;
}

}  // namespace

Result<BoxImages> box_image_echogram(const Room& room, Vec3 source_m, Vec3 receiver_m,
                                     double sound_speed_m_s,
                                     const std::vector<std::vector<double>>& absorption,
                                     const BoxImageOptions& options) {
  if (Diagnostics found = wrong_box_request(room, source_m, receiver_m, absorption, options);
      !found.empty())
    return found;
  const std::size_t bands = absorption[0].size();
  const int order = options.max_order;
  const BoxFrame frame(room);
  const Vec3 side = frame.side, s = frame.to_local(source_m), r = frame.to_local(receiver_m);
  std::array<std::vector<double>, 6> kept;
  for (std::size_t i = 0; i < 6; ++i)
    for (const double share : absorption[i]) kept[i].push_back(1 - std::min(1.0, share));
  // x: wall3 (x = 0), wall1; y: wall0, wall2; z: floor, ceiling.
  const AxisImages x = axis_images(side.x, s.x, r.x, order, bands, kept[5], kept[3]);
  const AxisImages y = axis_images(side.y, s.y, r.y, order, bands, kept[2], kept[4]);
  const AxisImages z = axis_images(side.z, s.z, r.z, order, bands, kept[0], kept[1]);
  const double longest = std::sqrt(x.square_m2.front()) + std::sqrt(x.square_m2.back()) +
                         std::sqrt(y.square_m2.front()) + std::sqrt(y.square_m2.back()) +
                         std::sqrt(z.square_m2.front()) + std::sqrt(z.square_m2.back());
  const double to_bin = 1 / (sound_speed_m_s * options.bin_s);
  BoxImages out;
  out.bands = bands;
  out.bins.assign((static_cast<std::size_t>(longest * to_bin) + 1) * bands, 0.0);
  std::vector<double> across(bands);
  std::size_t last = 0;
  for (int i = -order; i <= order; ++i)
    for (int j = -(order - std::abs(i)); j <= order - std::abs(i); ++j) {
      const auto at_x = static_cast<std::size_t>(i + order),
                 at_y = static_cast<std::size_t>(j + order);
      const double square = x.square_m2[at_x] + y.square_m2[at_y];
      for (std::size_t band = 0; band < bands; ++band)
        across[band] =
            x.kept[at_x * bands + band] * y.kept[at_y * bands + band] / (4 * std::numbers::pi);
      const int most = order - std::abs(i) - std::abs(j);
      for (int k = -most; k <= most; ++k) {
        const auto at_z = static_cast<std::size_t>(k + order);
        const double way = square + z.square_m2[at_z], share = 1 / way;
        const auto bin = static_cast<std::size_t>(std::sqrt(way) * to_bin);
        double* to = out.bins.data() + bin * bands;
        const double* left = z.kept.data() + at_z * bands;
        for (std::size_t band = 0; band < bands; ++band)
          to[band] += across[band] * left[band] * share;
        last = std::max(last, bin);
        ++out.images;
      }
    }
  out.bins.resize((last + 1) * bands);
  return out;
}

}  // namespace roomwright::acoustics
