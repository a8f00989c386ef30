// The images of a box summed into bins of time without their paths: what each costs is a root, a
// division and a product for each band. See rays.h.
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "acoustics/rays/box_frame.h"
#include "acoustics/rays/echogram.h"
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
  if (options.max_order < 1 || options.max_order > greatest_echogram_order)
    found.add("max_order", "must be from 1 to 200", double(options.max_order), {});
  if (!(options.bin_s >= 1e-5 && options.bin_s <= 1))
    found.add("bin_s", "must be from 0.00001 to 1", options.bin_s, {});
  if (!(options.from_s >= 0 && options.window_s > 0))
    found.add("window_s", "must be above 0, from a time of at least 0", options.window_s, {});
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

/// The three axes of a box's lattice, and of every bin what is needed to fill it.
struct BoxLattice {
  AxisImages x, y, z;
  int order = 0;
  double square_m2(int i, int j, int k) const {
    const auto at = [&](int n) { return static_cast<std::size_t>(n + order); };
    return x.square_m2[at(i)] + y.square_m2[at(j)] + z.square_m2[at(k)];
  }
};

/// The lattice to `order`; along an axis images lie the farther the higher their order.
BoxLattice lattice_of(const Room& room, Vec3 source_m, Vec3 receiver_m, int order,
                      const std::vector<std::vector<double>>& absorption) {
  const BoxFrame frame(room);
  const Vec3 side = frame.side, s = frame.to_local(source_m), r = frame.to_local(receiver_m);
  const std::size_t bands = absorption[0].size();
  std::array<std::vector<double>, 6> kept;
  for (std::size_t i = 0; i < 6; ++i)
    for (const double share : absorption[i]) kept[i].push_back(1 - std::min(1.0, share));
  // x: wall3 (x = 0), wall1; y: wall0, wall2; z: floor, ceiling.
  return {axis_images(side.x, s.x, r.x, order, bands, kept[5], kept[3]),
          axis_images(side.y, s.y, r.y, order, bands, kept[2], kept[4]),
          axis_images(side.z, s.z, r.z, order, bands, kept[0], kept[1]), order};
}

/// The nearest image of the lattice's own order: nothing of that order or above is nearer.
double nearest_of_order_m(const BoxLattice& lattice) {
  const int n = lattice.order;
  double least = std::numeric_limits<double>::infinity();
  for (int i = -n; i <= n; ++i)
    for (int j = -(n - std::abs(i)); j <= n - std::abs(i); ++j) {
      const int k = n - std::abs(i) - std::abs(j);
      least = std::min({least, lattice.square_m2(i, j, k), lattice.square_m2(i, j, -k)});
    }
  return std::sqrt(least);
}

double farthest_m(const BoxLattice& lattice) {
  double sum = 0;
  for (const AxisImages* axis : {&lattice.x, &lattice.y, &lattice.z})
    sum += std::sqrt(std::max(axis->square_m2.front(), axis->square_m2.back()));
  return sum;
}

/// Every image into its bin; `last` is then the last bin that holds anything.
void fill_bins(const BoxLattice& lattice, const BoxImageOptions& options, double speed,
               std::size_t most_bins, BoxImages& out, std::size_t& last) {
  const int order = lattice.order;
  const std::size_t bands = out.bands;
  const double to_bin = 1 / (speed * options.bin_s), before = options.from_s / options.bin_s;
  std::vector<double> across(bands);
  for (int i = -order; i <= order; ++i)
    for (int j = -(order - std::abs(i)); j <= order - std::abs(i); ++j) {
      const auto at_x = static_cast<std::size_t>(i + order),
                 at_y = static_cast<std::size_t>(j + order);
      const double square = lattice.x.square_m2[at_x] + lattice.y.square_m2[at_y];
      if (std::sqrt(square) * to_bin - before >= double(most_bins)) continue;
      for (std::size_t band = 0; band < bands; ++band)
        across[band] = lattice.x.kept[at_x * bands + band] * lattice.y.kept[at_y * bands + band] /
                       (4 * std::numbers::pi);
      const int most = order - std::abs(i) - std::abs(j);
      for (int k = -most; k <= most; ++k) {
        const auto at_z = static_cast<std::size_t>(k + order);
        const double way = square + lattice.z.square_m2[at_z], share = 1 / way;
        const double place = std::sqrt(way) * to_bin - before;
        if (!(place >= 0 && place < double(most_bins))) continue;
        if (!options.direct && i == 0 && j == 0 && k == 0) continue;
        const auto bin = static_cast<std::size_t>(place);
        double* to = out.bins.data() + bin * bands;
        const double* left = lattice.z.kept.data() + at_z * bands;
        for (std::size_t band = 0; band < bands; ++band)
          to[band] += across[band] * left[band] * share;
        last = std::max(last, bin);
        ++out.images;
      }
    }
}

}  // namespace

Result<BoxImages> box_image_echogram(const Room& room, Vec3 source_m, Vec3 receiver_m,
                                     double sound_speed_m_s,
                                     const std::vector<std::vector<double>>& absorption,
                                     const BoxImageOptions& options) {
  if (Diagnostics found = wrong_box_request(room, source_m, receiver_m, absorption, options);
      !found.empty())
    return found;
  const BoxLattice lattice = lattice_of(room, source_m, receiver_m, options.max_order, absorption);
  const double until_s =
      std::min(farthest_m(lattice) / sound_speed_m_s - options.from_s, options.window_s);
  BoxImages out;
  out.bands = absorption[0].size();
  const double bins = std::max(1.0, std::ceil(until_s / options.bin_s - 1e-9));
  if (bins * double(out.bands) > most_echogram_cells)
    return Complaint{"bin_s", "makes more than 4 million bins of all bands", options.bin_s,
                     "take longer bins, or a shorter window", 0};
  const auto most_bins = static_cast<std::size_t>(bins);
  out.bins.assign(most_bins * out.bands, 0.0);
  std::size_t last = 0;
  fill_bins(lattice, options, sound_speed_m_s, most_bins, out, last);
  if (options.window_s == std::numeric_limits<double>::infinity())
    out.bins.resize((last + 1) * out.bands);
  out.complete_s = nearest_of_order_m(lattice_of(room, source_m, receiver_m, options.max_order + 1,
                                                 std::vector<std::vector<double>>(6, {0.0}))) /
                   sound_speed_m_s;
  return out;
}

namespace {

constexpr double decay_bin_s = 0.5e-3;

/// One band of the bins, air's share taken, the direct sound beside them.
Echogram band_echogram(const BoxDecayScene& scene, const BoxImages& images, std::size_t band) {
  Echogram out;
  const double direct_m = length(scene.receiver_m - scene.source_m);
  const double air_1_m = scene.air_energy_1_m.empty() ? 0 : scene.air_energy_1_m[band];
  const double way_of_bin_m = decay_bin_s * scene.sound_speed_m_s;
  out.bin_s = decay_bin_s;
  out.arrival_s = direct_m / scene.sound_speed_m_s;
  out.longer = "raise max_order";
  const std::size_t bins = images.bins.size() / images.bands;
  for (std::size_t i = 0; i < bins; ++i)
    out.bins.push_back(images.bins[i * images.bands + band] *
                       std::exp(-air_1_m * (double(i) + 0.5) * way_of_bin_m));
  out.paths = {{out.arrival_s,
                std::exp(-air_1_m * direct_m) / (4 * std::numbers::pi * direct_m * direct_m)}};
  return out;
}

}  // namespace

Result<BoxDecay> box_image_decay(const BoxDecayScene& scene, int max_order) {
  BoxImageOptions options;
  options.max_order = max_order;
  options.bin_s = decay_bin_s;
  options.direct = false;
  options.window_s = greatest_trace_s;
  auto images = box_image_echogram(scene.room, scene.source_m, scene.receiver_m,
                                   scene.sound_speed_m_s, scene.absorption, options);
  if (!images) return images.mistakes();
  if (!scene.air_energy_1_m.empty() && scene.air_energy_1_m.size() != images->bands)
    return Complaint{"air", "must have one attenuation a band", {}, {}, 0};
  // Past the time up to which all are there the images are too few: they would shorten the decay.
  const auto whole = static_cast<std::size_t>(images->complete_s / decay_bin_s);
  images->bins.resize(
      std::min(images->bins.size(), std::max<std::size_t>(1, whole) * images->bands));
  BoxDecay out;
  out.images = images->images;
  out.complete_s = std::min(images->complete_s, greatest_trace_s);
  for (std::size_t band = 0; band < images->bands; ++band) {
    const auto figures = decay_figures_of(band_echogram(scene, *images, band));
    TracedBand here;
    TracedValue* const places[] = {&here.edt_s,  &here.t20_s, &here.t30_s, &here.c50_db,
                                   &here.c80_db, &here.d50,   &here.ts_ms, &here.strength_db};
    for (std::size_t k = 0; k < decay_figures; ++k)
      *places[k] = {figures[k].value, 0, figures[k].reason};
    out.bands.push_back(std::move(here));
  }
  return out;
}

}  // namespace roomwright::acoustics
