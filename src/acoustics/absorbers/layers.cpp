// The layers' own formulas, and the recursion through a stack. Admittances are carried from the
// back to the front, so that a rigid wall is plain 0 and nothing overflows in thick or resistive
// layers. Sources, all from memory unless a test names a figure: porous layers Delany & Bazley,
// Appl. Acoust. 3 (1970); Miki, J. Acoust. Soc. Jpn (E) 11 (1990); Garai & Pompoli, Appl. Acoust.
// 66 (2005); Johnson, Champoux & Allard as in Allard & Atalla, Propagation of Sound in Porous Media
// (2009), ch. 5; limp frame Panneton, J. Acoust. Soc. Am. 122 (2007); perforated sheets with
// Fok-type end correction as in Cox & D'Antonio, Acoustic Absorbers and Diffusers; microperforated
// sheets Maa, J. Acoust. Soc. Am. 104 (1998); slots Smits & Kosten, Acustica 1 (1951).
#include "acoustics/absorbers/layers.h"

#include <cmath>

namespace roomwright::acoustics {

namespace {

using Complex = std::complex<double>;
const double layer_pi = std::acos(-1.0);
const Complex j{0, 1};

/// 1 + a x^-b - j c x^-d
Complex power_law(double x, double a, double b, double c, double d) {
  const double power = std::pow(x, -b);
  return {1 + a * power, -c * (b == d ? power : std::pow(x, -d))};
}

Wave delany_bazley(double x) {
  return {power_law(x, 0.0571, 0.754, 0.087, 0.732), power_law(x, 0.0978, 0.700, 0.189, 0.595)};
}
Wave miki(double y) {
  return {power_law(y, 0.070, 0.632, 0.107, 0.632), power_law(y, 0.109, 0.618, 0.160, 0.618)};
}
Wave garai_pompoli(double x) {
  return {power_law(x, 0.078, 0.623, 0.074, 0.660), power_law(x, 0.121, 0.530, 0.159, 0.571)};
}

Wave johnson_champoux_allard(const PorousLayer& layer, const Air& air, double omega) {
  const double rho0 = air.density_kg_m3, eta = air.viscosity_pa_s, phi = layer.porosity;
  const double sigma = layer.flow_resistivity_pa_s_m2, a = layer.tortuosity;
  const double viscous = layer.viscous_length_m, thermal = layer.thermal_length_m;
  const double gamma = air.heat_capacity_ratio, prandtl = air.prandtl;
  const Complex drag = std::sqrt(1.0 + 4.0 * j * a * a * eta * rho0 * omega /
                                           (sigma * sigma * viscous * viscous * phi * phi));
  Complex density = a * rho0 / phi * (1.0 + sigma * phi / (j * omega * rho0 * a) * drag);
  const Complex heat =
      1.0 + 8 * eta / (j * omega * rho0 * prandtl * thermal * thermal) *
                std::sqrt(1.0 + j * rho0 * omega * prandtl * thermal * thermal / (16 * eta));
  const Complex modulus = gamma * air.pressure_pa / phi / (gamma - (gamma - 1) / heat);
  if (layer.limp) {
    const double total = layer.density_kg_m3 + phi * rho0;
    density = (total * density - rho0 * rho0) / (total + density - 2 * rho0);
  }
  return {std::sqrt(density * modulus) / air.impedance_pa_s_m(),
          std::sqrt(density / modulus) * air.sound_speed_m_s};
}

/// 1 − F for a round hole or a slot: F of the velocity profile, by x = perforate constant.
Complex round_profile(double x) {
  // 2 J1(z) / (z J0(z)) with z = x √−j, by the continued fraction z²/8 …, stable for every x.
  const Complex z2 = -j * x * x;
  Complex tail = 0;
  for (int n = 40 + static_cast<int>(x); n >= 1; --n) tail = z2 / (2.0 * (n + 1) - tail);
  return 2.0 / (2.0 - tail);  // J1(z) = z J0(z) / (2 − tail)
}
Complex slot_profile(double x) {
  const Complex z = x * std::sqrt(j);
  return std::tanh(z) / z;
}

Complex perforated_impedance(const PerforatedLayer& layer, const Air& air, double omega) {
  const double e = layer.open_area, d = layer.hole_diameter_m, rho0 = air.density_kg_m3;
  if (!layer.losses) {
    const double reach = 1 - 1.47 * std::sqrt(e) + 0.47 * std::sqrt(e * e * e);
    return j * omega * rho0 / e * (layer.thickness_m + 1.7 * d / 2 * reach);
  }
  const double x = d / 2 * std::sqrt(omega * rho0 / air.viscosity_pa_s);
  return j * omega * rho0 * layer.thickness_m / e / (1.0 - round_profile(x)) +
         std::sqrt(2.0) * air.viscosity_pa_s * x / (e * d) + j * omega * rho0 * 0.85 * d / e;
}

Complex slotted_impedance(const SlottedLayer& layer, const Air& air, double omega) {
  const double e = layer.open_area, w = layer.slot_width_m, rho0 = air.density_kg_m3;
  const double end = -w / layer_pi * std::log(std::sin(layer_pi * e / 2));
  if (!layer.losses) return j * omega * rho0 / e * (layer.thickness_m + 2 * end);
  const double x = w / 2 * std::sqrt(omega * rho0 / air.viscosity_pa_s);
  return j * omega * rho0 * layer.thickness_m / e / (1.0 - slot_profile(x)) +
         j * omega * rho0 * 2.0 * end / e +
         std::sqrt(2.0 * omega * rho0 * air.viscosity_pa_s) / (2 * e);
}

Complex screen_impedance(const ScreenLayer& layer, double omega) {
  if (!layer.mass_kg_m2) return layer.flow_resistance_pa_s_m;
  const Complex mass = j * omega * *layer.mass_kg_m2;
  const Complex sum = layer.flow_resistance_pa_s_m + mass;
  return sum == 0.0 ? Complex(0) : layer.flow_resistance_pa_s_m * mass / sum;
}

struct StepMaker {
  const Air& air;
  double hz;
  double omega() const { return 2 * layer_pi * hz; }
  Prepared::Step thin(Complex impedance) const {
    return {KernelStep::thin, impedance / air.impedance_pa_s_m(), 0, 0};
  }
  Prepared::Step operator()(const PorousLayer& layer) const {
    const Wave wave = porous_wave(layer, air, hz);
    return {KernelStep::wave, wave.impedance, wave.number, layer.thickness_m};
  }
  Prepared::Step operator()(const AirLayer& layer) const {
    return {KernelStep::air, 1, 1, layer.thickness_m};
  }
  Prepared::Step operator()(const ScreenLayer& layer) const {
    return thin(screen_impedance(layer, omega()));
  }
  Prepared::Step operator()(const PerforatedLayer& layer) const {
    return thin(perforated_impedance(layer, air, omega()));
  }
  Prepared::Step operator()(const SlottedLayer& layer) const {
    return thin(slotted_impedance(layer, air, omega()));
  }
  Prepared::Step operator()(const MembraneLayer& layer) const {
    return thin(j * omega() * layer.mass_kg_m2);
  }
};

}  // namespace

Wave porous_wave(const PorousLayer& layer, const Air& air, double hz) {
  const double y = hz / layer.flow_resistivity_pa_s_m2;
  const double x = air.density_kg_m3 * y;
  switch (layer.model) {
    case PorousModel::delany_bazley:
      return delany_bazley(x);
    case PorousModel::miki:
      return miki(y);
    case PorousModel::garai_pompoli:
      return garai_pompoli(x);
    case PorousModel::johnson_champoux_allard:
      break;
  }
  return johnson_champoux_allard(layer, air, 2 * layer_pi * hz);
}

Prepared prepare(const Stack& stack, const Air& air, double hz) {
  Prepared out;
  out.open = stack.backing == Backing::open;
  out.wave_number_1_m = 2 * layer_pi * hz / air.sound_speed_m_s;
  for (const Layer& layer : stack.layers)
    out.steps[static_cast<std::size_t>(out.count++)] = std::visit(StepMaker{air, hz}, layer);
  return out;
}

namespace {

/// Wave number across a layer, over k0; waves fade away from their source.
Complex across(const Prepared::Step& step, double sine) {
  const Complex k = std::sqrt(step.number * step.number - sine * sine);
  return k.imag() > 0 ? -k : k;
}

}  // namespace

TransferMatrix matrix_of(const Prepared& stack, double sine) {
  TransferMatrix out{{{1, 0}, {0, 1}}};
  for (std::size_t i = 0; i < static_cast<std::size_t>(stack.count); ++i) {
    const Prepared::Step& step = stack.steps[i];
    TransferMatrix layer{{{1, step.impedance}, {0, 1}}};
    if (step.kind != KernelStep::thin) {
      const Complex k = across(step, sine), z = step.impedance * step.number / k;
      const Complex turn = j * k * stack.wave_number_1_m * step.thickness_m;
      layer = {{{std::cosh(turn), z * std::sinh(turn)}, {std::sinh(turn) / z, std::cosh(turn)}}};
    }
    const TransferMatrix before = out;
    for (std::size_t r = 0; r < 2; ++r)
      for (std::size_t c = 0; c < 2; ++c)
        out[r][c] = before[r][0] * layer[0][c] + before[r][1] * layer[1][c];
  }
  return out;
}

Front front_of(const Prepared& stack, double sine) {
  const double cosine = std::sqrt(1 - sine * sine);
  Complex y = stack.open ? Complex(cosine) : Complex(0);
  Complex passed = stack.open ? 1 : 0;
  for (int i = stack.count - 1; i >= 0; --i) {
    const Prepared::Step* step = &stack.steps[static_cast<std::size_t>(i)];
    if (step->kind == KernelStep::thin) {
      const Complex sum = 1.0 + step->impedance * y;
      passed /= sum;
      y /= sum;
      continue;
    }
    const Complex k = across(*step, sine);
    const Complex z = step->impedance * step->number / k;
    const Complex turn = j * k * stack.wave_number_1_m * step->thickness_m;
    const Complex t = std::tanh(turn);
    // cosh overflows where nothing passes: then passed is 0
    passed =
        std::abs(turn.real()) > 300 ? Complex(0) : passed / (std::cosh(turn) * (1.0 + z * y * t));
    y = (y + t / z) / (1.0 + z * y * t);
  }
  return {y, passed};
}

std::array<KernelStep, most_layers> kernel_steps(const Prepared& stack) {
  static_assert(kernel_layers == most_layers);
  std::array<KernelStep, most_layers> out;  // as many as there are layers are filled
  for (std::size_t i = 0; i < static_cast<std::size_t>(stack.count); ++i) {
    const Prepared::Step& step = stack.steps[i];
    KernelStep& to = out[i];
    if (step.kind == KernelStep::thin) {
      to = {KernelStep::thin, 0, 0, step.impedance.real(), step.impedance.imag(), 0, 0, 0};
      continue;
    }
    to.kind = step.kind;
    to.turn = stack.wave_number_1_m * step.thickness_m / layer_pi;
    const Complex number = step.number * to.turn;
    const Complex square = number * number, product = step.impedance * number;
    to.square_re = square.real();
    to.square_im = square.imag();
    to.product_re = product.real();
    to.product_im = product.imag();
    const double by = 1 / std::norm(product);
    to.inverse_re = product.real() * by;
    to.inverse_im = -product.imag() * by;
  }
  return out;
}

}  // namespace roomwright::acoustics
