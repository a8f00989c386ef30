// Exterior Helmholtz problem on a contour: constant straight elements, midpoint collocation, the
// combined equation of Burton & Miller (Proc. R. Soc. Lond. A 323 (1971), from memory), which has
// one solution at every frequency. With G = −(j/4) H0⁽²⁾(kr), n out of the body, q = ∂p/∂n:
//   p/2 − ∫ p ∂G/∂n + ∫ q G + α (q/2 − ∫ p ∂²G/∂n∂n′ + ∫ q ∂G/∂n′) = p_i + α ∂p_i/∂n.
// On a straight element with constant p the hypersingular integral is, by Maue's identity,
//   k² n·n′ ∫ G − [∂G/∂t′] from end to end, t′ the tangent where the field is asked for.
#include "acoustics/diffusers/contour.h"

#include <math.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

using Complex = std::complex<double>;
const double contour_pi = std::acos(-1.0);
const Complex contour_j{0, 1};

Complex hankel_zero(double z) {
  return {::j0(z), -::y0(z)};
}
Complex hankel_one(double z) {
  return {::j1(z), -::y1(z)};
}

struct Arrow {
  double x = 0, y = 0;
};
double dot(Arrow a, Arrow b) {
  return a.x * b.x + a.y * b.y;
}
Arrow between(ContourPoint from, ContourPoint to) {
  return {to.x_m - from.x_m, to.y_m - from.y_m};
}

/// An element with all that the integrals ask of it.
struct Panel {
  ContourPoint from, middle;
  Arrow tangent, normal;
  double length = 0;
};

std::vector<Panel> panels_of(const std::vector<ContourPoint>& corners) {
  std::vector<Panel> out;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const ContourPoint from = corners[i], to = corners[(i + 1) % corners.size()];
    const Arrow along = between(from, to);
    const double length = std::sqrt(dot(along, along));
    const Arrow tangent{along.x / length, along.y / length};
    const ContourPoint middle{(from.x_m + to.x_m) / 2, (from.y_m + to.y_m) / 2};
    out.push_back({from, middle, tangent, {tangent.y, -tangent.x}, length});
  }
  return out;
}

/// Gauss rules on [−1/2, 1/2], more points the nearer the element. Elements of one length stand at
/// whole distances, so the limits are none: rounding then never chooses.
struct Rules {
  Quadrature far = gauss_legendre(2, -0.5, 0.5), middle = gauss_legendre(4, -0.5, 0.5),
             near = gauss_legendre(8, -0.5, 0.5), nearest = gauss_legendre(20, -0.5, 0.5);

  const Quadrature& at(double distance_over_length) const {
    if (distance_over_length > 5.3) return far;
    if (distance_over_length > 2.3) return middle;
    return distance_over_length > 1.1 ? near : nearest;
  }
};

/// ∫ G, ∫ ∂G/∂n (at the element) and ∫ ∂G/∂n′ (at the point) over one element.
struct Integrals {
  Complex g, at_element, at_point;
  Complex both = 0;  ///< ∫ ∂²G/∂n∂n′
};

Integrals over_other(const Panel& point, const Panel& element, double k, const Rules& rules) {
  const Arrow apart = between(element.middle, point.middle);
  const Quadrature& rule = rules.at(std::sqrt(dot(apart, apart)) / element.length);
  Integrals out;
  for (std::size_t i = 0; i < rule.points.size(); ++i) {
    const double along = rule.points[i] * element.length;
    const Arrow r{apart.x - along * element.tangent.x, apart.y - along * element.tangent.y};
    const double distance = std::sqrt(dot(r, r));
    const double weight = rule.weights[i] * element.length;
    const Complex slope = weight * k / distance * hankel_one(k * distance);
    out.g += weight * hankel_zero(k * distance);
    out.at_element -= slope * dot(r, element.normal);
    out.at_point += slope * dot(r, point.normal);
  }
  const Complex quarter = contour_j / 4.0;
  return {-quarter * out.g, quarter * out.at_element, quarter * out.at_point, 0};
}

/// The element's own: ∂G/∂n is 0 on a straight line; ln r is integrated by hand, the rest is
/// smooth.
Integrals over_itself(const Panel& element, double k, const Rules& rules) {
  const double half = element.length / 2;
  const Quadrature& rule = rules.near;
  Complex sum = 0;
  for (std::size_t i = 0; i < rule.points.size(); ++i) {
    const double r = (rule.points[i] + 0.5) * half;
    const Complex smooth = -contour_j / 4.0 * hankel_zero(k * r) + std::log(r) / (2 * contour_pi);
    sum += 2.0 * rule.weights[i] * half * smooth;
  }
  return {sum - half * (std::log(half) - 1) / contour_pi, 0, 0};
}

/// ∂G/∂t′ at a panel's middle for a source in a corner.
Complex tangential(const Panel& point, ContourPoint corner, double k) {
  const Arrow r = between(corner, point.middle);
  const double distance = std::sqrt(dot(r, r));
  return contour_j * k / 4.0 * hankel_one(k * distance) * dot(r, point.tangent) / distance;
}

/// The equations: one at each panel's middle, then one for each mouth. Unknown are u on each
/// element (in a mouth the pressure itself) and u of each mouth.
struct Assembly {
  const Contour& contour;
  const std::vector<Panel>& panels;
  double k;
  Complex mixing;  ///< α
  Rules rules;

  std::size_t size() const { return panels.size() + contour.mouths.size(); }
  /// From the wave at panel i's middle.
  void row(std::size_t i, Complex* out) const {
    const Panel& point = panels[i];
    const std::size_t count = panels.size();
    std::fill(out + count, out + size(), Complex(0));
    const Complex first = tangential(point, panels[0].from, k);
    Complex before = first;
    for (std::size_t m = 0; m < count; ++m) {
      const Complex after = m + 1 < count ? tangential(point, panels[m + 1].from, k) : first;
      Integrals integrals =
          m == i ? over_itself(point, k, rules) : over_other(point, panels[m], k, rules);
      integrals.both = k * k * dot(point.normal, panels[m].normal) * integrals.g - (after - before);
      enter(integrals, m == i ? 0.5 : 0.0, m, out);
      before = after;
    }
  }

  void enter(const Integrals& integrals, double jump, std::size_t m, Complex* out) const {
    const Complex of_pressure = jump - integrals.at_element - mixing * integrals.both;
    const Complex of_velocity =
        (integrals.g + mixing * (jump + integrals.at_point)) * contour_j * k;
    const ContourElement& element = contour.elements[m];
    if (element.mouth < 0) {
      out[m] = of_pressure * element.surface.pressure + of_velocity * element.surface.velocity;
      return;
    }
    const std::size_t mouth = static_cast<std::size_t>(element.mouth);
    out[m] = of_pressure;
    out[panels.size() + mouth] += of_velocity * contour.mouths[mouth].velocity;
  }

  /// The mean of a mouth's pressures is its own pressure.
  void mouth_row(std::size_t mouth, Complex* out) const {
    std::fill(out, out + size(), Complex(0));
    double length = 0;
    for (std::size_t m = 0; m < panels.size(); ++m)
      if (contour.elements[m].mouth == static_cast<int>(mouth)) length += panels[m].length;
    for (std::size_t m = 0; m < panels.size(); ++m)
      if (contour.elements[m].mouth == static_cast<int>(mouth)) out[m] = panels[m].length / length;
    out[panels.size() + mouth] = -contour.mouths[mouth].pressure;
  }

  Complex right_side(std::size_t i, Arrow source) const {
    const Panel& point = panels[i];
    const double phase = k * (point.middle.x_m * source.x + point.middle.y_m * source.y);
    return std::polar(1.0, phase) * (1.0 + mixing * contour_j * k * dot(source, point.normal));
  }

  void read(const Complex* unknowns, ContourField& field) const {
    for (std::size_t m = 0; m < panels.size(); ++m) {
      const ContourElement& element = contour.elements[m];
      const bool alone = element.mouth < 0;
      const std::size_t mouth = static_cast<std::size_t>(std::max(element.mouth, 0));
      field.pressures.push_back(alone ? element.surface.pressure * unknowns[m] : unknowns[m]);
      field.velocities.push_back(alone ? element.surface.velocity * unknowns[m]
                                       : contour.mouths[mouth].velocity *
                                             unknowns[panels.size() + mouth]);
    }
  }
};

/// α: enough of the second equation to lift every false resonance, and no more than balances the
/// two, since it knows the edges of mouths less well.
Complex mixing_of(const std::vector<Panel>& panels, double k) {
  double length = 0;
  for (const Panel& panel : panels) length += panel.length;
  return -contour_j * std::min(1 / k, length / double(panels.size()));
}

Arrow direction(double angle_rad) {
  return {std::sin(angle_rad), std::cos(angle_rad)};
}

Complex pattern(const ContourField& field, const std::vector<Panel>& panels, Arrow towards) {
  const double k = field.wave_number_1_m;
  Complex sum = 0;
  for (std::size_t i = 0; i < panels.size(); ++i) {
    const Panel& panel = panels[i];
    const double half = k * dot(towards, panel.tangent) * panel.length / 2;
    const double mean = std::abs(half) < 1e-8 ? 1 : std::sin(half) / half;
    const double phase = k * (panel.middle.x_m * towards.x + panel.middle.y_m * towards.y);
    const Complex strength = dot(towards, panel.normal) * field.pressures[i] - field.velocities[i];
    sum += panel.length * mean * std::polar(1.0, phase) * strength;
  }
  return k / 4 * sum;  // (−j/4)(jk)
}

/// Enough equal steps around the circle that the sum of |f|², a finite Fourier sum, is exact.
int circle_steps(const std::vector<Panel>& panels, double k) {
  double radius = 0;
  for (const Panel& panel : panels)
    radius = std::max(radius, std::hypot(panel.from.x_m, panel.from.y_m));
  return 64 + 2 * static_cast<int>(std::ceil(2.2 * k * radius));
}

}  // namespace

ContourField solve_contour(const Contour& contour, double wave_number_1_m, double incidence_rad,
                           int threads) {
  RW_ASSERT(contour.elements.size() >= 3);
  ContourField field;
  field.wave_number_1_m = wave_number_1_m;
  field.incidence_rad = incidence_rad;
  for (const ContourElement& element : contour.elements) field.corners.push_back(element.from);
  const std::vector<Panel> panels = panels_of(field.corners);
  const Assembly assembly{contour, panels, wave_number_1_m, mixing_of(panels, wave_number_1_m), {}};
  const Eigen::Index count = static_cast<Eigen::Index>(assembly.size());
  Eigen::Matrix<Complex, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> system(count, count);
  Eigen::VectorXcd right = Eigen::VectorXcd::Zero(count);
  parallel_for(panels.size(), threads, [&](std::size_t i) {
    const Eigen::Index at = static_cast<Eigen::Index>(i);
    assembly.row(i, system.row(at).data());
    right(at) = assembly.right_side(i, direction(incidence_rad));
  });
  for (std::size_t i = 0; i < contour.mouths.size(); ++i)
    assembly.mouth_row(i, system.row(static_cast<Eigen::Index>(panels.size() + i)).data());
  const Eigen::VectorXcd solution = system.partialPivLu().solve(right);
  assembly.read(solution.data(), field);
  return field;
}

Complex far_pattern(const ContourField& field, double angle_rad) {
  return pattern(field, panels_of(field.corners), direction(angle_rad));
}

ContourPowers powers_of(const ContourField& field) {
  const std::vector<Panel> panels = panels_of(field.corners);
  const double k = field.wave_number_1_m;
  ContourPowers out;
  const Arrow source = direction(field.incidence_rad);
  out.taken = -4 / k * pattern(field, panels, {-source.x, -source.y}).real();
  const int steps = circle_steps(panels, k);
  for (int i = 0; i < steps; ++i)
    out.scattered += std::norm(pattern(field, panels, direction(2 * contour_pi * i / steps)));
  out.scattered *= 4 / (k * steps);
  for (std::size_t i = 0; i < panels.size(); ++i) {
    out.absorbed += panels[i].length * (field.pressures[i] * std::conj(field.velocities[i])).real();
  }
  return out;
}

}  // namespace roomwright::acoustics
