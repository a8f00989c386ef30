// What a request's matrix is made of at each frequency; see solid_values.h.
#include "acoustics/waves/solid_values.h"

#include <algorithm>
#include <cmath>

namespace roomwright::acoustics {

namespace {

using Value = std::complex<double>;
constexpr double slowest_followed = 2;  // times shorter than air's: meshes keep to no more

Value at_index(const Admittance& values, std::size_t i) {
  return values[values.size() == 1 ? 0 : i];
}

/// The parabola through the three nearest values (a line through two), also at complex frequencies;
/// from the ends outwards the values stay.
Value continued(const std::vector<double>& hz, const Admittance& values, Value at) {
  if (values.empty()) return 0;
  if (values.size() == 1) return values[0];
  if (at.real() < hz.front()) at.real(hz.front());
  if (at.real() > hz.back()) at.real(hz.back());
  const std::size_t n = std::min<std::size_t>(3, hz.size());
  const auto above = std::size_t(std::lower_bound(hz.begin(), hz.end(), at.real()) - hz.begin());
  const bool upper = above > 0 && hz[above] - at.real() > at.real() - hz[above - 1];
  const std::size_t nearest = upper ? above - 1 : above;
  const std::size_t first = std::min(nearest > 0 ? nearest - 1 : 0, hz.size() - n);
  Value sum = 0;
  for (std::size_t i = first; i < first + n; ++i) {
    Value term = values[i];
    for (std::size_t j = first; j < first + n; ++j)
      if (j != i) term *= (at - hz[j]) / (hz[i] - hz[j]);
    sum += term;
  }
  return sum;
}

}  // namespace

bool is_lossless(const ResponseRequest& request) {
  const auto lossy = [](const Admittance& values) {
    return std::any_of(values.begin(), values.end(), [](Value v) { return v.real() > 1e-9; });
  };
  return request.objects.empty() &&
         std::none_of(request.surfaces.begin(), request.surfaces.end(), lossy) &&
         std::none_of(request.patches.begin(), request.patches.end(),
                      [&](const ResponsePatch& p) { return lossy(p.admittance); });
}

double least_loss(const ResponseRequest& request) {
  double least = 1;
  for (std::size_t i = 0; i < request.frequencies_hz.size(); ++i) {
    double sum = 0;
    for (std::size_t s = 0; s < request.surfaces.size(); ++s)
      if (!request.surfaces[s].empty())
        sum += surface_area_m2(request.room, static_cast<int>(s)) *
               at_index(request.surfaces[s], i).real();
    for (const ResponsePatch& patch : request.patches) {
      const Vec2 size = patch.area.to_m - patch.area.from_m;
      sum += std::abs(size.x * size.y) * std::min(1.0, at_index(patch.admittance, i).real());
    }
    least = std::min(least, sum / total_area_m2(request.room));
  }
  return least;
}

Fluids fluids_of(const ResponseRequest& request) {
  Fluids out;
  for (const ResponseObject& object : request.objects)
    for (const FluidSlab& slab : object.slabs) {
      const auto same = std::find_if(out.all.begin(), out.all.end(), [&](const FluidSlab* known) {
        return known->density == slab.density && known->compressibility == slab.compressibility;
      });
      out.of_slab.push_back(static_cast<int>(same - out.all.begin()) + 1);
      if (same == out.all.end()) out.all.push_back(&slab);
    }
  return out;
}

SolidValues values_at(const ResponseRequest& request, const Fluids& fluids, std::size_t i) {
  SolidValues out;
  const double k = 2 * std::acos(-1.0) * request.frequencies_hz[i] / request.sound_speed_m_s;
  out.inverse_density = {1};
  out.stiffness = {k * k};
  for (const FluidSlab* fluid : fluids.all) {
    out.inverse_density.push_back(1.0 / at_index(fluid->density, i));
    out.stiffness.push_back(k * k * at_index(fluid->compressibility, i));
  }
  const auto surfaces = static_cast<std::size_t>(surface_count(request.room));
  const bool lossless = is_lossless(request);
  std::vector<Value> wall(surfaces, 0);
  for (std::size_t s = 0; s < surfaces; ++s) {
    if (s < request.surfaces.size() && !request.surfaces[s].empty())
      wall[s] = at_index(request.surfaces[s], i);
    if (lossless && wall[s].real() < least_admittance) wall[s] += least_admittance;
  }
  const Value turn{0, k};
  for (const Value& beta : wall) out.boundary.push_back(turn * beta);
  for (const ResponsePatch& patch : request.patches)
    out.boundary.push_back(turn * (at_index(patch.admittance, i) -
                                   wall[static_cast<std::size_t>(patch.area.surface)]));
  return out;
}

SolidValues values_at_wave(const ResponseRequest& request, Value k, double share) {
  SolidValues out;
  const Value hz = k * request.sound_speed_m_s / (2 * std::acos(-1.0));
  const auto at = [&](const Admittance& values) {
    return continued(request.frequencies_hz, values, hz);
  };
  out.inverse_density = {1};
  out.stiffness = {k * k};
  for (const FluidSlab* fluid : fluids_of(request).all) {
    out.inverse_density.push_back(1.0 + share * (1.0 / at(fluid->density) - 1.0));
    out.stiffness.push_back(k * k * (1.0 + share * (at(fluid->compressibility) - 1.0)));
  }
  std::vector<Value> wall(static_cast<std::size_t>(surface_count(request.room)), 0);
  for (std::size_t s = 0; s < std::min(wall.size(), request.surfaces.size()); ++s)
    wall[s] = at(request.surfaces[s]);
  const Value turn = Value(0, share) * k;
  for (const Value& beta : wall) out.boundary.push_back(turn * beta);
  for (const ResponsePatch& patch : request.patches)
    out.boundary.push_back(
        turn * (at(patch.admittance) - wall[static_cast<std::size_t>(patch.area.surface)]));
  return out;
}

std::vector<double> slowness(const ResponseRequest& request) {
  const double top =
      *std::max_element(request.frequencies_hz.begin(), request.frequencies_hz.end());
  std::vector<double> out{1};
  for (const FluidSlab* fluid : fluids_of(request).all) {
    double most = 0;
    for (std::size_t i = 0; i < request.frequencies_hz.size(); ++i)
      most = std::max(most, request.frequencies_hz[i] / top *
                                std::sqrt(std::abs(at_index(fluid->density, i) *
                                                   at_index(fluid->compressibility, i))));
    // Along a slab its field follows the air's; only across it do its own short waves stand, and
    // those die away within a few of them.
    out.push_back(std::clamp(most, 0.3, slowest_followed));
  }
  return out;
}

}  // namespace roomwright::acoustics
