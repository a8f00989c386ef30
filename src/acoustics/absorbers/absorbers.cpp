// Absorption over angles, frequencies and sizes; see absorbers.h.
#include "acoustics/absorbers/absorbers.h"

#include <math.h>

#include <algorithm>
#include <cmath>

#include "acoustics/absorbers/kernel_nodes.h"
#include "acoustics/absorbers/layers.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

using Complex = std::complex<double>;
const double pi = std::acos(-1.0);

// ---- what may be wrong ----------------------------------------------------------------------

/// Adds a complaint where a value is not in (above, at_most].
struct LayerCheck {
  Diagnostics& found;
  std::string where;

  void within(const char* key, double value, double above, double at_most, const char* remedy) {
    if (!(value > above && value <= at_most))
      found.add(where + "." + key,
                "must be above " + shortest(above) + " and at most " + shortest(at_most), value,
                remedy);
  }
  void open_area(double value) {
    if (!(value > 0 && value < 1))
      found.add(where + ".open_area", "must be above 0 and below 1", value,
                "the holes' share of the face, such as 0.08");
  }
  void thickness(double value) {
    within("thickness_m", value, 0, greatest_thickness_m, "give it in metres, such as 0.05");
  }
  void operator()(const PorousLayer& layer) {
    thickness(layer.thickness_m);
    within("flow_resistivity_pa_s_m2", layer.flow_resistivity_pa_s_m2, 0, greatest_flow_resistivity,
           "give the board's flow resistivity, such as 10000");
    if (layer.model != PorousModel::johnson_champoux_allard) return;
    within("porosity", layer.porosity, 0, 1, "such as 0.97");
    if (!(layer.tortuosity >= 1 && layer.tortuosity <= 10))
      found.add(where + ".tortuosity", "must be at least 1 and at most 10", layer.tortuosity,
                "such as 1.05");
    within("viscous_length_m", layer.viscous_length_m, 0, 0.1, "such as 1e-4");
    within("thermal_length_m", layer.thermal_length_m, 0, 0.1, "such as 2e-4");
    if (layer.limp) within("density_kg_m3", layer.density_kg_m3, 0, 10000, "such as 60");
  }
  void operator()(const AirLayer& layer) { thickness(layer.thickness_m); }
  void operator()(const ScreenLayer& layer) {
    if (!(layer.flow_resistance_pa_s_m >= 0 && layer.flow_resistance_pa_s_m <= 1e7))
      found.add(where + ".flow_resistance_pa_s_m", "must be at least 0 and at most 1e+07",
                layer.flow_resistance_pa_s_m, "such as 50 for an open cloth");
    if (layer.mass_kg_m2) within("mass_kg_m2", *layer.mass_kg_m2, 0, 1000, "such as 0.25");
  }
  void operator()(const PerforatedLayer& layer) {
    thickness(layer.thickness_m);
    within("hole_diameter_m", layer.hole_diameter_m, 0, 0.5, "such as 0.006");
    open_area(layer.open_area);
  }
  void operator()(const SlottedLayer& layer) {
    thickness(layer.thickness_m);
    within("slot_width_m", layer.slot_width_m, 0, 0.5, "such as 0.005");
    open_area(layer.open_area);
  }
  void operator()(const MembraneLayer& layer) {
    within("mass_kg_m2", layer.mass_kg_m2, 0, 1000, "such as 5.4");
  }
};

void check_options(const AbsorptionOptions& options, Diagnostics& found) {
  const Incidence& incidence = options.incidence;
  if (incidence.kind == Incidence::at_angle &&
      !(incidence.angle_deg >= 0 && incidence.angle_deg <= 89.9))
    found.add("incidence.angle_deg", "must be at least 0 and at most 89.9", incidence.angle_deg,
              "degrees from the normal");
  if (incidence.kind == Incidence::diffuse &&
      !(incidence.diffuse_to_deg > 0 && incidence.diffuse_to_deg <= 90))
    found.add("incidence.diffuse_to_deg", "must be above 0 and at most 90",
              incidence.diffuse_to_deg, "such as 78");
  if (options.angles < 4 || options.angles > 400)
    found.add("angles", "must be from 4 to 400", double(options.angles), {});
  if (!options.size_m) return;
  for (const double side : {options.size_m->width_m, options.size_m->height_m})
    if (!(side >= 0.02 && side <= 100))
      found.add("size_m", "must be from 0.02 to 100 on each side", side, "give metres");
}

void check_frequencies(const std::vector<double>& hz, Diagnostics& found) {
  if (hz.empty() || hz.size() > most_frequencies)
    found.add("frequencies_hz",
              "must have from 1 to " + std::to_string(most_frequencies) + " entries",
              double(hz.size()), {});
  for (std::size_t i = 0; i < hz.size(); ++i)
    if (!(hz[i] > 0 && hz[i] <= 1e6)) {
      found.add("frequencies_hz[" + std::to_string(i) + "]", "must be above 0 and at most 1e+06",
                hz[i], "give hertz");
      return;
    }
}

// ---- what lies outside a model's range ------------------------------------------------------

/// Published ranges: Delany & Bazley 0.01 < X < 1; Miki holds below that too, to about 1; Garai &
/// Pompoli were fitted to polyester from 0.01 to 1 as well.
void warn_porous(const Stack& stack, const Air& air, const std::vector<double>& hz,
                 std::vector<Complaint>& warnings) {
  for (std::size_t i = 0; i < stack.layers.size(); ++i) {
    const auto* layer = std::get_if<PorousLayer>(&stack.layers[i]);
    if (!layer || layer->model == PorousModel::johnson_champoux_allard) continue;
    const auto [least, most] = std::minmax_element(hz.begin(), hz.end());
    const double low = air.density_kg_m3 * *least / layer->flow_resistivity_pa_s_m2;
    const double high = air.density_kg_m3 * *most / layer->flow_resistivity_pa_s_m2;
    const std::string where = "layers[" + std::to_string(i) + "]";
    if (low < 0.015 && layer->model == PorousModel::delany_bazley)
      warnings.push_back({where, "the model can make energy for ρf/σ below 0.015", low,
                          "take miki, or trust it less at low frequencies", 0});
    if (low < 0.01 && layer->model == PorousModel::garai_pompoli)
      warnings.push_back({where, "the model was fitted for ρf/σ from 0.01 to 1", low,
                          "trust it less at low frequencies, or take miki", 0});
    if (low < 0.001 && layer->model == PorousModel::miki)
      warnings.push_back({where, "ρf/σ is far below the 0.01 to which the model was fitted", low,
                          "trust it less at low frequencies", 0});
    if (high > 1)
      warnings.push_back({where, "the model was fitted for ρf/σ up to 1", high,
                          "trust it less at high frequencies", 0});
  }
}

void warn_holes(const Stack& stack, std::vector<Complaint>& warnings) {
  for (std::size_t i = 0; i < stack.layers.size(); ++i) {
    const std::string where = "layers[" + std::to_string(i) + "].open_area";
    if (const auto* sheet = std::get_if<PerforatedLayer>(&stack.layers[i]);
        sheet && !sheet->losses && sheet->open_area > 0.16)
      warnings.push_back({where, "the end correction is published below 0.16", sheet->open_area,
                          "trust the tuning less", 0});
  }
}

// ---- absorption -----------------------------------------------------------------------------

/// The angles as the inner loop takes them: filled up to its step with angles of no weight. Where
/// the face reacts locally the layers are passed at normal incidence whatever the angle.
struct Angles {
  std::vector<double> sine, secant, weight, gain;  ///< weights sum to 1; gain = 4 weight sec θ
  std::vector<double> layer_sine2, layer_cosine, layer_secant;
  std::vector<double> radiation_re, radiation_im;  ///< set by set_radiation

  void add(double at_sine, double at_weight, bool local) {
    const double cosine = std::sqrt(1 - at_sine * at_sine);
    sine.push_back(at_sine);
    secant.push_back(1 / cosine);
    weight.push_back(at_weight);
    gain.push_back(4 * at_weight / cosine);
    layer_sine2.push_back(local ? 0 : at_sine * at_sine);
    layer_cosine.push_back(local ? 1 : cosine);
    layer_secant.push_back(local ? 1 : 1 / cosine);
  }
  KernelAngles view(const KernelTable& table) const {
    return {static_cast<int>(sine.size()),
            layer_sine2.data(),
            layer_cosine.data(),
            layer_secant.data(),
            radiation_re.data(),
            radiation_im.data(),
            gain.data(),
            weight.data(),
            table.sets().data(),
            static_cast<int>(table.sets().size())};
  }
};

/// ∫ f sin 2θ dθ / sin² θmax by Gauss points over θ.
Angles angles_of(const AbsorptionOptions& options) {
  const Incidence& incidence = options.incidence;
  const bool local = options.reaction == Reaction::local;
  Angles out;
  if (incidence.kind == Incidence::normal) out.add(0, 1, local);
  if (incidence.kind == Incidence::at_angle)
    out.add(std::sin(incidence.angle_deg * pi / 180), 1, local);
  if (incidence.kind == Incidence::diffuse) {
    const double limit = incidence.diffuse_to_deg * pi / 180;
    const double most = std::sin(limit) * std::sin(limit);
    const Quadrature rule = gauss_legendre(options.angles, 0, limit);
    for (std::size_t i = 0; i < rule.points.size(); ++i)
      out.add(std::sin(rule.points[i]), rule.weights[i] * std::sin(2 * rule.points[i]) / most,
              local);
  }
  while (out.sine.size() % kernel_step != 0) out.add(0, 0, local);
  return out;
}

/// F(R): the shape factor of the rectangle at distance R, integrated over a quarter turn.
double shape_factor(Size2 size, double r) {
  const double a = size.width_m, b = size.height_m;
  const double from = r > a ? std::acos(a / r) : 0;
  const double to = r > b ? std::asin(b / r) : pi / 2;
  const auto primitive = [&](double angle) {
    const double s = std::sin(angle), c = std::cos(angle);
    return a * b * angle + a * r * c - b * r * s + r * r * s * s / 2;
  };
  return to > from ? primitive(to) - primitive(from) : 0;
}

/// The integral over R in pieces that break where F does (at the shorter and the longer side).
struct Rings {
  std::vector<double> radius, weight;  ///< weight includes F
};
Rings rings_of(Size2 size, double wave_number) {
  Rings out;
  const double a = std::min(size.width_m, size.height_m), b = std::max(size.width_m, size.height_m);
  const double edges[] = {0, a, b, std::hypot(a, b)};
  for (int i = 0; i < 3; ++i) {
    const double span = edges[i + 1] - edges[i];
    if (span <= 0) continue;
    const int points = std::min(400, 12 + static_cast<int>(wave_number * span));
    const Quadrature rule = gauss_legendre(points, edges[i], edges[i + 1]);
    for (std::size_t p = 0; p < rule.points.size(); ++p) {
      out.radius.push_back(rule.points[p]);
      out.weight.push_back(rule.weights[p] * shape_factor(size, rule.points[p]));
    }
  }
  return out;
}

Complex radiation_over(const Rings& rings, Size2 size, double k, double sine) {
  Complex sum = 0;
  for (std::size_t i = 0; i < rings.radius.size(); ++i) {
    const double kr = k * rings.radius[i];
    sum += rings.weight[i] * ::j0(kr * sine) * Complex(std::cos(kr), -std::sin(kr));
  }
  return Complex(0, 2 * k / (pi * size.width_m * size.height_m)) * sum;
}

/// Above this k times the diagonal the finite face is taken as infinite: its oscillating integral
/// would need too many points, and the two differ by less than the doubt of either.
constexpr double large_face = 380;

/// The face's radiation impedance at one frequency: sec θ where it is infinite.
/// α(θ) = 4 Re z sec θ / |z + z_r|², which for z_r = sec θ is 1 − |R|².
void set_radiation(Angles& angles, const AbsorptionOptions& options, double k) {
  angles.radiation_re = angles.secant;
  angles.radiation_im.assign(angles.secant.size(), 0);
  if (!options.size_m) return;
  const Size2 size = *options.size_m;
  if (k * std::hypot(size.width_m, size.height_m) > large_face) return;
  const Rings rings = rings_of(size, k);
  for (std::size_t i = 0; i < angles.sine.size(); ++i) {
    if (angles.weight[i] == 0) continue;
    const Complex radiation = radiation_over(rings, size, k, angles.sine[i]);
    angles.radiation_re[i] = radiation.real();
    angles.radiation_im[i] = radiation.imag();
  }
}

/// z = 1 / y, kept finite: a rigid face shows 1e9.
Complex impedance_of(const Prepared& prepared) {
  const Complex y = front_of(prepared, 0).admittance;
  return std::abs(y) < 1e-9 ? Complex(1e9) : 1.0 / y;
}

}  // namespace

std::vector<Complaint> model_warnings(const Stack& stack, const Air& air,
                                      const std::vector<double>& frequencies_hz) {
  std::vector<Complaint> out;
  warn_porous(stack, air, frequencies_hz, out);
  warn_holes(stack, out);
  return out;
}

double resistance_of_absorption(double absorption) {
  const auto of = [](double z) { return 8 / z * (1 + 1 / (1 + z) - 2 / z * std::log(1 + z)); };
  double low = 1.567, high = 1e9;  // α falls from its most, 0.951
  for (int i = 0; i < 200 && high / low > 1 + 1e-12; ++i) {
    const double middle = std::sqrt(low * high);
    (of(middle) > absorption ? low : high) = middle;
  }
  return low;
}

Diagnostics check_stack(const Stack& stack) {
  Diagnostics found;
  if (stack.layers.empty() || stack.layers.size() > most_layers)
    found.add("layers", "must have from 1 to 12 layers", double(stack.layers.size()),
              "list them from the room side to the back");
  for (std::size_t i = 0; i < stack.layers.size() && i < most_layers; ++i)
    std::visit(LayerCheck{found, "layers[" + std::to_string(i) + "]"}, stack.layers[i]);
  return found;
}

Complex radiation_impedance(Size2 size_m, double wave_number_1_m, double angle_rad) {
  return radiation_over(rings_of(size_m, wave_number_1_m), size_m, wave_number_1_m,
                        std::sin(angle_rad));
}

namespace {

/// So many sums over the angles make up for the making of a table of nodes.
constexpr std::size_t worth_a_table = 1000;

/// Several stacks behind faces of one size: what depends on the size alone is worked out once.
std::vector<AbsorptionReport> absorption_of_each(const std::vector<Stack>& stacks, const Air& air,
                                                 const std::vector<double>& frequencies_hz,
                                                 const AbsorptionOptions& options,
                                                 bool with_impedance) {
  std::vector<AbsorptionReport> reports(stacks.size());
  const Kernel kernel = options.same_on_every_machine ? kernel_baseline : fastest_kernel();
  Angles angles = angles_of(options);
  const bool many = stacks.size() * frequencies_hz.size() >= worth_a_table;
  const KernelTable table(many && !options.same_on_every_machine ? angles.layer_sine2
                                                                 : std::vector<double>{});
  for (AbsorptionReport& report : reports) report.absorption.reserve(frequencies_hz.size());
  for (const double hz : frequencies_hz) {
    const double k = 2 * pi * hz / air.sound_speed_m_s;
    set_radiation(angles, options, k);
    for (std::size_t i = 0; i < stacks.size(); ++i) {
      const Prepared prepared = prepare(stacks[i], air, hz);
      const auto steps = kernel_steps(prepared);
      reports[i].absorption.push_back(
          kernel({steps.data(), prepared.count, prepared.open, angles.view(table)}));
      if (with_impedance) reports[i].impedance.push_back(impedance_of(prepared));
    }
  }
  for (std::size_t i = 0; i < stacks.size(); ++i)
    reports[i].warnings = model_warnings(stacks[i], air, frequencies_hz);
  return reports;
}

OctaveReport octaves_of(const AbsorptionReport& report) {
  OctaveReport out;
  out.warnings = report.warnings;
  for (std::size_t i = 0; i < out.absorption.size(); ++i)
    out.absorption[i] =
        (report.absorption[3 * i] + report.absorption[3 * i + 1] + report.absorption[3 * i + 2]) /
        3;
  return out;
}

}  // namespace

Result<AbsorptionReport> absorption(const Stack& stack, const Air& air,
                                    const std::vector<double>& frequencies_hz,
                                    const AbsorptionOptions& options) {
  Diagnostics found = check_stack(stack);
  check_frequencies(frequencies_hz, found);
  check_options(options, found);
  if (!found.empty()) return found;
  return absorption_of_each({stack}, air, frequencies_hz, options, true)[0];
}

Result<TransferMatrix> transfer_matrix(const Stack& stack, const Air& air, double hz,
                                       double angle_deg) {
  Diagnostics found = check_stack(stack);
  check_frequencies({hz}, found);
  AbsorptionOptions options;
  options.incidence = {Incidence::at_angle, angle_deg, 78};
  check_options(options, found);
  if (!found.empty()) return found;
  const TransferMatrix out = matrix_of(prepare(stack, air, hz), std::sin(angle_deg * pi / 180));
  for (const auto& row : out)
    for (const Complex& entry : row)
      if (!std::isfinite(std::abs(entry)))
        return Complaint{"layers", "are too thick at this frequency for a transfer matrix", hz,
                         "ask for a lower frequency, or for the absorption", 0};
  return out;
}

Result<std::vector<std::vector<double>>> absorptions(const std::vector<Stack>& stacks,
                                                     const Air& air,
                                                     const std::vector<double>& frequencies_hz,
                                                     const AbsorptionOptions& options) {
  Diagnostics found;
  for (const Stack& stack : stacks) found.add_all(check_stack(stack));
  check_frequencies(frequencies_hz, found);
  check_options(options, found);
  if (!found.empty()) return found;
  std::vector<std::vector<double>> out;
  for (auto& report : absorption_of_each(stacks, air, frequencies_hz, options, false))
    out.push_back(std::move(report.absorption));
  return out;
}

Result<std::vector<OctaveReport>> octave_absorptions(const std::vector<Stack>& stacks,
                                                     const Air& air,
                                                     const AbsorptionOptions& options) {
  Diagnostics found;
  for (const Stack& stack : stacks) found.add_all(check_stack(stack));
  check_options(options, found);
  if (!found.empty()) return found;
  std::vector<double> hz;
  for (const Band& band : third_octave_bands()) hz.push_back(band.centre_hz);
  std::vector<OctaveReport> out;
  for (const auto& report : absorption_of_each(stacks, air, hz, options, false))
    out.push_back(octaves_of(report));
  return out;
}

}  // namespace roomwright::acoustics
