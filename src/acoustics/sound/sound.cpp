// Formulas for moist air and the band tables; see sound.h.
#include "acoustics/sound/sound.h"

#include <algorithm>
#include <cmath>

namespace roomwright::acoustics {

namespace {

constexpr double zero_c_k = 273.15;
constexpr double triple_point_k = 273.16;
constexpr double reference_k = 293.15;
constexpr double reference_pa = 101325;

/// Saturation pressure over the reference pressure. Source: ISO 9613-1:1993, Annex B.
double saturation_ratio(double kelvin) {
  return std::pow(10.0, -6.8346 * std::pow(triple_point_k / kelvin, 1.261) + 4.6151);
}

double moist_density(const AirInput& input) {
  const double kelvin = input.temperature_c + zero_c_k;
  const double vapour_pa = input.humidity_percent / 100 * saturation_ratio(kelvin) * reference_pa;
  return (input.pressure_pa - vapour_pa) / (287.05 * kelvin) + vapour_pa / (461.495 * kelvin);
}

/// Source: Sutherland's law, reference values from memory.
double air_viscosity(double kelvin) {
  return 1.716e-5 * std::pow(kelvin / zero_c_k, 1.5) * (zero_c_k + 110.4) / (kelvin + 110.4);
}

}  // namespace

Result<Air> make_air(const AirInput& input) {
  Diagnostics found;
  const auto check = [&](const char* key, double value, double lo, double hi, const char* remedy) {
    if (!(value >= lo && value <= hi))
      found.add(key, "must be from " + shortest(lo) + " to " + shortest(hi), value, remedy);
  };
  check("temperature_c", input.temperature_c, -20, 50, "give the room's temperature, such as 20");
  check("humidity_percent", input.humidity_percent, 0, 100, "give it in per cent, such as 50");
  check("pressure_pa", input.pressure_pa, 50000, 110000, "give it in pascals, such as 101325");
  if (input.density_kg_m3) check("density_kg_m3", *input.density_kg_m3, 0.5, 2, "such as 1.204");
  if (input.sound_speed_m_s)
    check("sound_speed_m_s", *input.sound_speed_m_s, 280, 400, "such as 343.2");
  if (!found.empty()) return found;
  const double kelvin = input.temperature_c + zero_c_k;
  Air air;
  air.temperature_c = input.temperature_c;
  air.humidity_percent = input.humidity_percent;
  air.pressure_pa = input.pressure_pa;
  air.density_kg_m3 = input.density_kg_m3.value_or(moist_density(input));
  air.sound_speed_m_s = input.sound_speed_m_s.value_or(343.2 * std::sqrt(kelvin / reference_k));
  air.viscosity_pa_s = air_viscosity(kelvin);
  air.heat_capacity_ratio = 1.4;
  air.prandtl = 0.71;
  air.attenuation = input.attenuation;
  return air;
}

Air standard_air() {
  return make_air({}).value();
}

double attenuation_db_per_m(const Air& air, double hz) {
  if (!air.attenuation || !(hz > 0)) return 0;
  const double kelvin = air.temperature_c + zero_c_k;
  const double relative_k = kelvin / reference_k;
  const double relative_pa = air.pressure_pa / reference_pa;
  const double water = air.humidity_percent * saturation_ratio(kelvin) / relative_pa;
  const double oxygen_hz = relative_pa * (24 + 4.04e4 * water * (0.02 + water) / (0.391 + water));
  const double nitrogen_hz =
      relative_pa / std::sqrt(relative_k) *
      (9 + 280 * water * std::exp(-4.170 * (std::pow(relative_k, -1.0 / 3) - 1)));
  const double oxygen = 0.01275 * std::exp(-2239.1 / kelvin) / (oxygen_hz + hz * hz / oxygen_hz);
  const double nitrogen =
      0.1068 * std::exp(-3352.0 / kelvin) / (nitrogen_hz + hz * hz / nitrogen_hz);
  return 8.686 * hz * hz *
         (1.84e-11 / relative_pa * std::sqrt(relative_k) +
          std::pow(relative_k, -2.5) * (oxygen + nitrogen));
}

double energy_attenuation_per_m(const Air& air, double hz) {
  return attenuation_db_per_m(air, hz) / (10 * std::log10(std::exp(1.0)));
}

namespace {

/// Band x of 1/b octaves: centre 1000 G^(x/b), edges G^(±1/(2b)) beside it, G = 10^0.3.
Band exact_band(double nominal_hz, int x, int b) {
  const double centre = 1000 * std::pow(10.0, 0.3 * x / b);
  const double edge = std::pow(10.0, 0.3 / (2.0 * b));
  return {nominal_hz, centre, centre / edge, centre * edge};
}

}  // namespace

const std::vector<Band>& octave_bands() {
  static const std::vector<Band> bands = [] {
    std::vector<Band> out;
    int x = -4;
    for (const double nominal : {63., 125., 250., 500., 1000., 2000., 4000., 8000.})
      out.push_back(exact_band(nominal, x++, 1));
    return out;
  }();
  return bands;
}

const std::vector<Band>& third_octave_bands() {
  static const std::vector<Band> bands = [] {
    std::vector<Band> out;
    int x = -13;
    for (const double nominal :
         {50.,  63.,   80.,   100.,  125.,  160.,  200.,  250.,  315.,  400.,  500.,  630.,
          800., 1000., 1250., 1600., 2000., 2500., 3150., 4000., 5000., 6300., 8000., 10000.})
      out.push_back(exact_band(nominal, x++, 3));
    return out;
  }();
  return bands;
}

double energy_db(double ratio) {
  return ratio > 1e-30 ? 10 * std::log10(ratio) : -300;
}
double amplitude_db(double ratio) {
  return ratio > 1e-15 ? 20 * std::log10(ratio) : -300;
}

}  // namespace roomwright::acoustics
