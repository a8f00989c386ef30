// Wells made into a contour: front of mouths and fins, rigid sides and back; see diffusers.h.
#include <algorithm>
#include <cmath>
#include <string>

#include "acoustics/diffusers/contour.h"
#include "acoustics/diffusers/polar.h"
#include "acoustics/diffusers/wells.h"

namespace roomwright::acoustics {

namespace {

const double boundary_pi = std::acos(-1.0);

/// The slice's outline and how finely it is cut.
struct Outline {
  double width_m = 0, depth_m = 0;
  double front_step_m = 0, body_step_m = 0;
};

Outline outline_of(const Wells& wells, const PolarOptions& options, double wavelength_m) {
  Outline out;
  out.width_m = slice_width_m(wells, options.periods);
  out.depth_m = *std::max_element(wells.depths_m.begin(), wells.depths_m.end()) + options.back_m;
  const double step_m = wavelength_m / options.elements_per_wavelength;
  out.front_step_m = std::min(step_m, 1.25 * wells.well_width_m / options.elements_per_wavelength);
  out.body_step_m = std::min(step_m, out.depth_m / 2);
  return out;
}

std::size_t pieces(double length_m, double step_m) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(std::ceil(length_m / step_m - 1e-9)));
}

std::size_t element_count(const Wells& wells, const PolarOptions& options, const Outline& outline) {
  const std::size_t fin =
      wells.fin_thickness_m > 0 ? pieces(wells.fin_thickness_m, outline.front_step_m) : 0;
  const std::size_t well = pieces(wells.well_width_m, outline.front_step_m);
  return std::size_t(options.periods * wells.columns()) * (fin + well) + fin +
         pieces(outline.width_m, outline.body_step_m) +
         2 * pieces(outline.depth_m, outline.body_step_m);
}

/// Adds elements from the pen's place and moves it.
struct Pen {
  ContourPoint at;
  Contour contour;

  void draw(double along_x_m, double along_y_m, double step_m, int mouth = -1) {
    const double length_m = std::abs(along_x_m) + std::abs(along_y_m);
    if (!(length_m > 0)) return;
    const std::size_t count = pieces(length_m, step_m);
    for (std::size_t i = 0; i < count; ++i) {
      const double share = double(i) / double(count);
      contour.elements.push_back(
          {{at.x_m + share * along_x_m, at.y_m + share * along_y_m}, {}, mouth});
    }
    at = {at.x_m + along_x_m, at.y_m + along_y_m};
  }
};

/// Anticlockwise: front from the last well to the first, then down, along the back and up.
Contour contour_of(const Wells& wells, int periods, const Outline& outline,
                   const std::vector<Mouth>& mouths) {
  Pen pen{{outline.width_m / 2, 0}, {}};
  for (int period = 0; period < periods; ++period)
    for (std::size_t i = mouths.size(); i-- > 0;) {
      pen.draw(-wells.fin_thickness_m, 0, outline.front_step_m);
      pen.draw(-wells.well_width_m, 0, outline.front_step_m,
               static_cast<int>(pen.contour.mouths.size()));
      pen.contour.mouths.push_back({mouths[i].pressure, mouths[i].velocity});
    }
  pen.draw(-wells.fin_thickness_m, 0, outline.front_step_m);
  pen.draw(0, -outline.depth_m, outline.body_step_m);
  pen.draw(outline.width_m, 0, outline.body_step_m);
  pen.draw(0, outline.depth_m, outline.body_step_m);
  return pen.contour;
}

std::vector<double> amplitudes_of(const ContourField& field,
                                  const std::vector<double>& angles_deg) {
  const double scale = std::sqrt(2 / (boundary_pi * field.wave_number_1_m));
  std::vector<double> out;
  for (const double angle_deg : angles_deg)
    out.push_back(scale * std::abs(far_pattern(field, angle_deg * boundary_pi / 180)));
  return out;
}

double power_error(const ContourField& field) {
  const ContourPowers powers = powers_of(field);
  return std::abs(powers.taken - powers.scattered - powers.absorbed) / std::abs(powers.taken);
}

Diagnostics check_boundary(const Wells& wells, const PolarOptions& options, const Air& air) {
  Diagnostics found = check_polar(wells, options, air);
  if (wells.rows > 1)
    found.add("wells.rows", "must be 1: a grid's slice is no problem of two dimensions",
              double(wells.rows), "take polar_fourier");
  if (!found.empty()) return found;
  for (std::size_t i = 0; i < options.frequencies_hz.size(); ++i) {
    const double wavelength_m = air.sound_speed_m_s / options.frequencies_hz[i];
    const std::size_t count =
        element_count(wells, options, outline_of(wells, options, wavelength_m));
    if (count > most_boundary_elements)
      found.add(frequency_key(i),
                "asks for " + std::to_string(count) + " boundary elements, more than " +
                    std::to_string(most_boundary_elements),
                options.frequencies_hz[i], "take fewer periods or lower frequencies");
  }
  return found;
}

void solve_frequency(const Wells& wells, const PolarOptions& options, double hz, const Air& air,
                     PolarReport& report) {
  const double k = 2 * boundary_pi * hz / air.sound_speed_m_s;
  const Outline outline = outline_of(wells, options, air.sound_speed_m_s / hz);
  const auto solve = [&](const std::vector<Mouth>& mouths) {
    return solve_contour(contour_of(wells, options.periods, outline, mouths), k,
                         options.incidence_deg * boundary_pi / 180, options.threads);
  };
  const ContourField field = solve(mouths_of(wells, hz, options.losses, air));
  const ContourField flat = solve(std::vector<Mouth>(wells.depths_m.size()));
  add_frequency(amplitudes_of(field, report.angles_deg), amplitudes_of(flat, report.angles_deg),
                report);
  report.elements.push_back(field.corners.size());
  report.power_error.push_back(power_error(field));
}

void warn_power(const PolarOptions& options, PolarReport& report) {
  for (std::size_t i = 0; i < report.power_error.size(); ++i)
    if (report.power_error[i] > 0.02)
      report.warnings.push_back(
          {frequency_key(i),
           "powers fail to balance by " + fixed(100 * report.power_error[i], 1) + " %",
           options.frequencies_hz[i], "take more elements_per_wavelength", 0});
}

}  // namespace

Result<PolarReport> polar_boundary(const Wells& wells, const PolarOptions& options, const Air& air,
                                   const Watch& watch) {
  Diagnostics found = check_boundary(wells, options, air);
  if (!found.empty()) return found;
  PolarReport report;
  report.angles_deg = polar_angles_deg(options.step_deg);
  for (std::size_t i = 0; i < options.frequencies_hz.size(); ++i) {
    if (watch.cancelled()) return Complaint{"polar", "was cancelled", {}, "start it again", 0};
    watch.tick(double(i) / double(options.frequencies_hz.size()), "scattering");
    solve_frequency(wells, options, options.frequencies_hz[i], air, report);
  }
  warn_polar(wells, options, air, report);
  warn_power(options, report);
  return report;
}

}  // namespace roomwright::acoustics
