// Independent methods that must agree with the engine: a one-dimensional finite-element solution of
// the same stack, the inner loops against complex functions of the library, transfer matrices
// against reciprocity, and samples that others measured in an impedance tube.
#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <complex>
#include <cstdlib>
#include <filesystem>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/absorbers/layers.h"
#include "core/numerics/numerics.h"
#include "figures/figures.h"

namespace roomwright::acoustics {
namespace {

using Complex = std::complex<double>;

Air still_air() {
  return make_air({}).value();
}

Layer random_layer(Random& random) {
  const double thickness = random.uniform(0.01, 0.15);
  switch (random.below(8)) {
    case 0:
      return AirLayer{thickness};
    case 1: {
      ScreenLayer screen{random.uniform(5, 1000), std::nullopt};
      if (random.below(2)) screen.mass_kg_m2 = random.uniform(0.05, 5);
      return screen;
    }
    case 2:
      return PerforatedLayer{random.uniform(0.001, 0.02), random.uniform(0.0003, 0.01),
                             random.uniform(0.005, 0.3), random.below(2) == 1};
    case 3:
      return SlottedLayer{random.uniform(0.001, 0.02), random.uniform(0.0003, 0.01),
                          random.uniform(0.005, 0.3), random.below(2) == 1};
    case 4:
      return MembraneLayer{random.uniform(0.2, 15)};
    default: {
      PorousLayer layer;
      layer.thickness_m = thickness;
      layer.flow_resistivity_pa_s_m2 = std::pow(10, random.uniform(3.3, 4.7));
      const PorousModel models[] = {PorousModel::miki, PorousModel::garai_pompoli,
                                    PorousModel::johnson_champoux_allard,
                                    PorousModel::delany_bazley};
      layer.model = models[random.below(4)];
      layer.porosity = random.uniform(0.9, 0.99);
      layer.tortuosity = random.uniform(1, 1.5);
      layer.viscous_length_m = random.uniform(5e-5, 2e-4);
      layer.thermal_length_m = layer.viscous_length_m * random.uniform(1, 2.5);
      layer.limp = random.below(3) == 0;
      layer.density_kg_m3 = random.uniform(10, 100);
      return layer;
    }
  }
}

Stack random_stack(Random& random, std::uint32_t most) {
  Stack stack;
  for (std::uint32_t n = 1 + random.below(most); n > 0; --n)
    stack.layers.push_back(random_layer(random));
  stack.backing = random.below(4) == 0 ? Backing::open : Backing::rigid;
  return stack;
}

double any_hz(Random& random) {
  return std::pow(10, random.uniform(std::log10(50), 4));
}

TEST(Absorption, no_random_stack_inside_its_models_ranges_makes_energy_at_any_angle) {
  Random random(4711);
  const int count = std::getenv("ROOMWRIGHT_LONG") ? 100000 : 5000;
  for (int tried = 0; tried < count;) {
    const Stack stack = random_stack(random, 6);
    AbsorptionOptions options;
    options.incidence = {Incidence::at_angle, random.uniform(0, 89.9), 78};
    options.same_on_every_machine = random.below(2) == 1;
    const auto report = absorption(stack, still_air(), {any_hz(random)}, options).value();
    if (!report.warnings.empty()) continue;
    ++tried;
    EXPECT_GE(report.absorption[0], -1e-9) << tried;
    EXPECT_LE(report.absorption[0], 1 + 1e-9) << tried;
  }
}

TEST(Absorption, a_model_outside_its_range_says_so) {
  PorousLayer layer;
  layer.thickness_m = 0.05;
  layer.flow_resistivity_pa_s_m2 = 50000;
  const auto warned = [&](PorousModel model, double ratio) {
    layer.model = model;
    const double hz = ratio * 50000 / still_air().density_kg_m3;
    return !absorption({{layer}, Backing::rigid}, still_air(), {hz}, {}).value().warnings.empty();
  };
  EXPECT_TRUE(warned(PorousModel::delany_bazley, 0.0149));
  EXPECT_FALSE(warned(PorousModel::delany_bazley, 0.0151));
  EXPECT_TRUE(warned(PorousModel::garai_pompoli, 0.0099));
  EXPECT_TRUE(warned(PorousModel::miki, 0.00099));
  EXPECT_FALSE(warned(PorousModel::miki, 0.9));
  EXPECT_TRUE(warned(PorousModel::miki, 1.01));
}

// ---- finite elements ----------------------------------------------------------------------------

/// Stiffness ∫ N'N' and mass ∫ NN on 0…1: two linear functions, then integrated Legendre bubbles.
struct Reference {
  static constexpr int order = 14;
  Eigen::MatrixXd stiffness = Eigen::MatrixXd::Zero(order + 1, order + 1), mass = stiffness;

  Reference() {
    const Quadrature rule = gauss_legendre(order + 2, -1, 1);
    for (std::size_t q = 0; q < rule.points.size(); ++q) {
      const double x = rule.points[q], weight = rule.weights[q];
      Eigen::VectorXd value(order + 1), slope(order + 1), legendre(order + 2);
      legendre[0] = 1;
      legendre[1] = x;
      for (int n = 1; n <= order; ++n)
        legendre[n + 1] = ((2 * n + 1) * x * legendre[n] - n * legendre[n - 1]) / (n + 1);
      value[0] = (1 - x) / 2;
      value[1] = (1 + x) / 2;
      slope[0] = -1;
      slope[1] = 1;
      for (int n = 1; n < order; ++n) {
        value[n + 1] = (legendre[n + 1] - legendre[n - 1]) / (2 * n + 1);
        slope[n + 1] = 2 * legendre[n];
      }
      stiffness += weight / 2 * slope * slope.transpose();
      mass += weight / 2 * value * value.transpose();
    }
  }
};

/// −(p'/ρ)' − k0² q²/ρ p = 0 through one element: the admittance at its back becomes that at its
/// front. Velocity is −p'/(j k0 ρ), all relative to air.
Complex through_element(Complex y, double h_m, double k0, Complex density, Complex square) {
  static const Reference reference;
  const Complex j{0, 1};
  const Eigen::MatrixXcd full = reference.stiffness.cast<Complex>() / (density * h_m) -
                                reference.mass.cast<Complex>() * (k0 * k0 * square / density * h_m);
  const int inner = Reference::order - 1;
  const Eigen::MatrixXcd small =
      full.topLeftCorner(2, 2) -
      full.topRightCorner(2, inner) * full.bottomRightCorner(inner, inner)
                                          .partialPivLu()
                                          .solve(full.bottomLeftCorner(inner, 2));
  const Complex back = -small(1, 0) / (small(1, 1) + j * k0 * y);
  return (small(0, 0) + small(0, 1) * back) / (j * k0);
}

/// The front's admittance by finite elements.
Complex admittance_by_elements(const Prepared& stack, double sine) {
  Complex y = stack.open ? std::sqrt(1 - sine * sine) : 0;
  for (int i = stack.count - 1; i >= 0; --i) {
    const Prepared::Step& step = stack.steps[i];
    if (step.kind == KernelStep::thin) {
      y = 1.0 / (1.0 / y + step.impedance);
      continue;
    }
    const Complex square = step.number * step.number - sine * sine;
    const double turn = std::abs(std::sqrt(square)) * stack.wave_number_1_m * step.thickness_m;
    const int elements = 1 + static_cast<int>(turn / 2.5);
    for (int e = 0; e < elements; ++e)
      y = through_element(y, step.thickness_m / elements, stack.wave_number_1_m,
                          step.impedance * step.number, square);
  }
  return y;
}

TEST(Witness, finite_elements_through_the_stack_agree_to_a_millionth) {
  Random random(20261125);
  double worst = 0;
  for (int n = 0; n < 200; ++n) {
    Stack stack = random_stack(random, 4);
    stack.backing = Backing::rigid;
    AbsorptionOptions options;
    options.incidence = {Incidence::at_angle, random.uniform(0, 80), 78};
    const double sine = std::sin(options.incidence.angle_deg * std::acos(-1.0) / 180);
    const double cosine = std::sqrt(1 - sine * sine);
    std::vector<double> hz;
    for (int i = 0; i < 20; ++i) hz.push_back(any_hz(random));
    const auto report = absorption(stack, still_air(), hz, options).value();
    for (std::size_t i = 0; i < hz.size(); ++i) {
      const Complex y = admittance_by_elements(prepare(stack, still_air(), hz[i]), sine);
      const double alpha = 1 - std::norm((cosine - y) / (cosine + y));
      worst = std::max(worst, std::abs(alpha - report.absorption[i]));
      EXPECT_NEAR(report.absorption[i], alpha, 1e-6) << n << " at " << hz[i] << " Hz";
    }
  }
  RecordProperty("worst", std::to_string(worst));
}

// ---- the inner loops ----------------------------------------------------------------------------

double by_kernel(Kernel kernel, const Prepared& stack, double sine) {
  const double cosine = std::sqrt(1 - sine * sine);
  const auto list = [](double first) {
    std::vector<double> out(kernel_step, 0.5);
    out[0] = first;
    return out;
  };
  const auto only = [](double first) {
    std::vector<double> out(kernel_step, 0);
    out[0] = first;
    return out;
  };
  const auto sine2 = list(sine * sine), cos = list(cosine), secant = list(1 / cosine),
             none = list(0), gain = only(4 / cosine), weight = only(1);
  const auto steps = kernel_steps(stack);
  return kernel({steps.data(),
                 stack.count,
                 stack.open,
                 {kernel_step, sine2.data(), cos.data(), secant.data(), secant.data(), none.data(),
                  gain.data(), weight.data()}});
}

double by_library(const Prepared& stack, double sine) {
  const double cosine = std::sqrt(1 - sine * sine);
  const Front front = front_of(stack, sine);
  const Complex reflected = (cosine - front.admittance) / (cosine + front.admittance);
  return 1 - std::norm(reflected) - std::norm((1.0 + reflected) * front.passed);
}

TEST(InnerLoop, agrees_with_the_librarys_complex_functions_for_every_kind_of_stack) {
  Random random(7);
  const int count = std::getenv("ROOMWRIGHT_LONG") ? 200000 : 20000;
  for (int n = 0; n < count; ++n) {
    const Prepared stack = prepare(random_stack(random, 12), still_air(), any_hz(random));
    const double sine = random.below(5) == 0 ? 0 : random.uniform(0, 0.99998);
    const double wanted = by_library(stack, sine);
    EXPECT_NEAR(by_kernel(kernel_baseline, stack, sine), wanted, 1e-10) << n;
    EXPECT_NEAR(by_kernel(fastest_kernel(), stack, sine), wanted, 1e-10) << n;
  }
}

TEST(InnerLoop, holds_at_the_ends_of_what_the_checks_let_through) {
  for (const double hz : {1e-3, 1.0, 1e6})
    for (const double resistivity : {1e-3, 1.0, 1e7})
      for (const double thickness : {1e-9, 0.05, 5.0}) {
        PorousLayer layer;
        layer.thickness_m = thickness;
        layer.flow_resistivity_pa_s_m2 = resistivity;
        Stack stack{{ScreenLayer{1e7, 1000.0}, layer, MembraneLayer{1000}, AirLayer{5}, layer,
                     MembraneLayer{1e-9}, AirLayer{1e-9}, layer},
                    Backing::rigid};
        for (const Backing backing : {Backing::rigid, Backing::open}) {
          stack.backing = backing;
          const double alpha = absorption(stack, still_air(), {hz}, {}).value().absorption[0];
          EXPECT_TRUE(std::isfinite(alpha)) << hz << " " << resistivity << " " << thickness;
        }
      }
}

// ---- transfer matrices --------------------------------------------------------------------------

TEST(TransferMatrix, is_reciprocal_and_gives_the_engines_impedance) {
  Random random(99);
  for (int n = 0; n < 2000; ++n) {
    Stack stack = random_stack(random, 4);
    stack.backing = Backing::rigid;
    const double hz = std::pow(10, random.uniform(1.5, 3));
    const auto m = transfer_matrix(stack, still_air(), hz, random.uniform(0, 80)).value();
    // Source: reciprocity of a layer: determinant 1 (Allard & Atalla 2009, ch. 2, from memory)
    const double size = std::abs(m[0][0] * m[1][1]) + std::abs(m[0][1] * m[1][0]);
    EXPECT_LT(std::abs(m[0][0] * m[1][1] - m[0][1] * m[1][0] - 1.0), 1e-12 * (1 + size)) << n;
    const auto at_normal = transfer_matrix(stack, still_air(), hz, 0).value();
    const Complex z = absorption(stack, still_air(), {hz}, {}).value().impedance[0];
    // A stack of thin layers shows the rigid wall behind it, which is told as 1e9.
    EXPECT_LT(std::abs(at_normal[0][0] / z - at_normal[1][0]),
              2e-9 * (std::abs(at_normal[0][0]) + std::abs(at_normal[1][0])))
        << n;
  }
}

TEST(TransferMatrix, passes_as_much_sound_from_either_side) {
  Random random(3);
  for (int n = 0; n < 500; ++n) {
    Stack stack = random_stack(random, 6);
    stack.backing = Backing::open;
    Stack turned = stack;
    std::reverse(turned.layers.begin(), turned.layers.end());
    const double hz = any_hz(random), sine = random.uniform(0, 0.98);
    const double cosine = std::sqrt(1 - sine * sine);
    const auto passed = [&](const Stack& way) {
      const Front front = front_of(prepare(way, still_air(), hz), sine);
      return 2 * cosine / (cosine + front.admittance) * front.passed;
    };
    EXPECT_LT(std::abs(passed(stack) - passed(turned)), 1e-10) << n;
  }
}

// ---- measured samples ---------------------------------------------------------------------------

TEST(Measured, porous_samples_in_the_tube_are_predicted_within_a_tenth) {
  const std::string shared_data = ROOMWRIGHT_SHARED_DATA;
  const std::string folder = shared_data + "/data/porous_impedance/";
  if (shared_data.empty() || !std::filesystem::exists(folder))
    GTEST_SKIP() << "needs the folder of open data sets";
  // Source: Y. Atalla, R. Panneton, Canadian Acoustics 33(1) (2005) p. 14, curves read off
  int samples = 0;
  for (const auto& row : figures::read_rows(folder + "samples.csv")) {
    if (row.at("porosity").empty()) continue;  // parameters not stated
    AirInput input;
    input.temperature_c = std::stod(row.at("temperature_c"));
    input.pressure_pa = std::stod(row.at("static_pressure_atm")) * 101325;
    const Air air = make_air(input).value();
    PorousLayer layer;
    layer.thickness_m = std::stod(row.at("thickness_mm")) / 1000;
    layer.flow_resistivity_pa_s_m2 = std::stod(row.at("flow_resistivity_pa_s_m2"));
    layer.porosity = std::stod(row.at("porosity"));
    layer.tortuosity = std::stod(row.at("tortuosity"));
    layer.viscous_length_m = std::stod(row.at("viscous_length_um")) * 1e-6;
    layer.thermal_length_m = std::stod(row.at("thermal_length_um")) * 1e-6;
    layer.density_kg_m3 = std::stod(row.at("bulk_density_kg_m3"));
    std::vector<double> hz, measured;
    for (const auto& point : figures::read_rows(folder + row.at("file"))) {
      if (std::stod(point.at("frequency_hz")) < std::stod(row.at("valid_from_hz"))) continue;
      hz.push_back(std::stod(point.at("frequency_hz")));
      measured.push_back(std::stod(point.at("alpha_normal_incidence")));
    }
    AbsorptionOptions options;
    options.incidence.kind = Incidence::normal;
    for (const bool limp : {false, true})
      for (const PorousModel model : {PorousModel::miki, PorousModel::johnson_champoux_allard}) {
        layer.model = model;
        layer.limp = limp;
        const auto got = absorption({{layer}, Backing::rigid}, air, hz, options).value();
        double error = 0;
        for (std::size_t i = 0; i < hz.size(); ++i)
          error += std::abs(got.absorption[i] - measured[i]) / double(hz.size());
        EXPECT_LT(error, 0.10) << row.at("file") << " " << int(model) << (limp ? " limp" : "");
        RecordProperty(row.at("file") + std::to_string(int(model)) + (limp ? "l" : ""),
                       std::to_string(error));
      }
    ++samples;
  }
  EXPECT_EQ(samples, 4);
}

}  // namespace
}  // namespace roomwright::acoustics
