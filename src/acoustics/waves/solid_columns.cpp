// The matrices of each column of prisms, and their product with fields; see solid_model.h.
#include <algorithm>
#include <cmath>

#include "acoustics/waves/dense.h"
#include "acoustics/waves/solid_model.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

using Matrix = Eigen::MatrixXd;

std::size_t seat(int i) {
  return static_cast<std::size_t>(i);
}

// ---- matrices of a column
// ------------------------------------------------------------------------

/// A plane through values at a triangle's corners.
struct Slope {
  double at0 = 0;
  Vec2 gradient;
};

class ColumnMatrices {
 public:
  ColumnMatrices(SolidModel& model, std::size_t t)
      : model_(model), corners_(model.mesh.triangles[t]), out_(model.columns[t]) {
    for (std::size_t i = 0; i < 3; ++i) p_[i] = model.mesh.points[seat(corners_[i])];
    const double twice = cross(p_[1] - p_[0], p_[2] - p_[0]);
    for (std::size_t i = 0; i < 3; ++i) {
      const Vec2 across = p_[(i + 2) % 3] - p_[(i + 1) % 3];
      gradient_[i] = Vec2{-across.y, across.x} * (1 / twice);
    }
    tabulate(twice);
  }
  void make() {
    bool flat = true;
    for (std::size_t l = 0; l <= model_.layers.size(); ++l)
      flat = flat && std::abs(level(l).gradient.x) + std::abs(level(l).gradient.y) < 1e-12;
    if (!flat) {
      for (std::size_t l = 0; l < model_.layers.size(); ++l) sloped_layer(l);
      return;
    }
    const Eigen::Index n = points_.cols();
    const Eigen::VectorXd ones = Eigen::VectorXd::Ones(n);
    if (model_.stretch_along)
      out_.plan = {stiffness(dx_, ones), mass(ones), stiffness(dy_, ones)};
    else
      out_.plan = {stiffness(ones), mass(ones)};
    for (int m = 0; m < model_.materials; ++m)
      if (std::any_of(out_.fills.begin(), out_.fills.end(),
                      [m](const SolidFill& fill) { return fill.material == m; }))
        flat_material(m);
  }

 private:
  void tabulate(double twice) {
    int highest = 2;
    for (const TriangleShape& shape : out_.shapes)
      highest = std::max({highest, shape.order, shape.one + shape.two + 3});
    const Quadrature rule = gauss_legendre(highest + 3, 0, 1);
    const auto g = static_cast<Eigen::Index>(rule.points.size());
    const auto n = static_cast<Eigen::Index>(out_.shapes.size());
    points_.resize(2, g * g), weight_.resize(g * g);
    value_.resize(n, g * g), dx_.resize(n, g * g), dy_.resize(n, g * g);
    for (Eigen::Index a = 0; a < g; ++a)
      for (Eigen::Index b = 0; b < g; ++b) {
        const double two = rule.points[static_cast<std::size_t>(a)];
        const double one = rule.points[static_cast<std::size_t>(b)] * (1 - two);
        const Eigen::Index q = a * g + b;
        weight_(q) = rule.weights[static_cast<std::size_t>(a)] *
                     rule.weights[static_cast<std::size_t>(b)] * (1 - two) * twice;
        points_(0, q) = one, points_(1, q) = two;
        for (Eigen::Index f = 0; f < n; ++f) {
          const ShapeValue v =
              shape_at(out_.shapes[static_cast<std::size_t>(f)], {1 - one - two, one, two});
          value_(f, q) = v.value;
          dx_(f, q) = dy_(f, q) = 0;
          for (std::size_t i = 0; i < 3; ++i) {
            dx_(f, q) += v.slope[i] * gradient_[i].x;
            dy_(f, q) += v.slope[i] * gradient_[i].y;
          }
        }
      }
    if (!model_.stretch_along) return;
    const Vec2 along = *model_.stretch_along;
    const Matrix dx = along.x * dx_ + along.y * dy_;
    dy_ = along.x * dy_ - along.y * dx_;
    dx_ = dx;
  }
  Slope level(std::size_t l) const {
    Slope out;
    out.at0 = model_.level_m[seat(corners_[0])][l];
    for (std::size_t i = 0; i < 3; ++i)
      out.gradient = out.gradient + gradient_[i] * model_.level_m[seat(corners_[i])][l];
    return out;
  }
  Matrix stiffness(const Eigen::VectorXd& factor) const {
    const Eigen::VectorXd w = weight_.cwiseProduct(factor);
    return dx_ * w.asDiagonal() * dx_.transpose() + dy_ * w.asDiagonal() * dy_.transpose();
  }
  Matrix stiffness(const Matrix& slope, const Eigen::VectorXd& factor) const {
    return slope * weight_.cwiseProduct(factor).asDiagonal() * slope.transpose();
  }
  Matrix mass(const Eigen::VectorXd& factor) const {
    return value_ * weight_.cwiseProduct(factor).asDiagonal() * value_.transpose();
  }
  Matrix mixed(Vec2 along) const {
    return (along.x * dx_ + along.y * dy_) * weight_.asDiagonal() * value_.transpose();
  }
  /// In the frame of dx_ and dy_.
  Vec2 turned(Vec2 v) const {
    if (!model_.stretch_along) return v;
    return {dot(*model_.stretch_along, v), cross(*model_.stretch_along, v)};
  }
  Matrix over_all(std::size_t l, HeightMatrices::Which which) const {
    return over_all(model_.layers[l], model_.layers[l].matrices.of[which]);
  }
  Matrix over_all(const SolidLayer& layer, const Matrix& up) const {
    Matrix out = Matrix::Zero(model_.height_size, model_.height_size);
    for (Eigen::Index a = 0; a < up.rows(); ++a)
      for (Eigen::Index b = 0; b < up.cols(); ++b)
        out(layer.functions[static_cast<std::size_t>(a)],
            layer.functions[static_cast<std::size_t>(b)]) += up(a, b);
    return out;
  }
  void add(int plan, int height, double in_stiffness, double in_mass, int material) {
    out_.terms.push_back({plan, height, in_stiffness, in_mass, material, -1});
  }
  /// All flat layers of one material at once.
  void flat_material(int m) {
    Matrix mass_up = Matrix::Zero(model_.height_size, model_.height_size), stiff_up = mass_up;
    for (const SolidFill& fill : out_.fills) {
      if (fill.material != m) continue;
      const auto l = seat(fill.layer);
      const double h = level(l + 1).at0 - level(l).at0;
      const HeightPart part = height_part(model_.layers[l], fill.from, fill.to);
      mass_up += h * over_all(model_.layers[l], part.mass);
      stiff_up += over_all(model_.layers[l], part.stiff) / h;
    }
    const int mass_at = add_height(model_, mass_up);
    if (model_.stretch_along) {
      add(0, mass_at, 1, 0, material_part(m, 0));
      add(2, mass_at, 1, 0, material_part(m, 1));
      add(1, mass_at, 0, 1, material_part(m, 0));
      add(1, add_height(model_, stiff_up), 1, 0, material_part(m, 2));
      return;
    }
    add(0, mass_at, 1, 0, m);
    add(1, mass_at, 0, 1, m);
    add(1, add_height(model_, stiff_up), 1, 0, m);
  }
  void sloped_layer(std::size_t l) {
    const Slope low = level(l), high = level(l + 1);
    const Vec2 b = turned(low.gradient), s = turned(high.gradient - low.gradient);
    Eigen::VectorXd h(points_.cols());
    for (Eigen::Index q = 0; q < h.size(); ++q) {
      const Vec2 away = turned((p_[1] - p_[0]) * points_(0, q) + (p_[2] - p_[0]) * points_(1, q));
      h(q) = high.at0 - low.at0 + dot(s, away);
    }
    const int first = static_cast<int>(out_.plan.size()), m = out_.fills[l].material;
    if (model_.stretch_along) {
      sloped_parts(l, h, b, s);
      return;
    }
    out_.plan.push_back(stiffness(h));
    out_.plan.push_back(mass(h));
    out_.plan.push_back(mass(h.cwiseInverse()));
    const int mass_at = add_height(model_, over_all(l, HeightMatrices::mass));
    add(first, mass_at, 1, 0, m);
    add(first + 1, mass_at, 0, 1, m);
    const Matrix up = (1 + dot(b, b)) * over_all(l, HeightMatrices::stiff) +
                      2 * dot(b, s) * over_all(l, HeightMatrices::stiff_up) +
                      dot(s, s) * over_all(l, HeightMatrices::stiff_up2);
    add(first + 2, add_height(model_, up), 1, 0, m);
    add_mixed(l, b, HeightMatrices::mixed, HeightMatrices::mixed_back, m);
    add_mixed(l, s, HeightMatrices::mixed_up, HeightMatrices::mixed_up_back, m);
  }
  void add_mixed(std::size_t l, Vec2 along, HeightMatrices::Which forth, HeightMatrices::Which back,
                 int material) {
    if (length(along) < 1e-12) return;
    const int at = static_cast<int>(out_.plan.size());
    out_.plan.push_back(mixed(along));
    out_.plan.push_back(out_.plan.back().transpose());
    add(at, add_height(model_, over_all(l, forth)), -1, 0, material);
    add(at + 1, add_height(model_, over_all(l, back)), -1, 0, material);
  }
  /// The same by direction: the slope of the pressure along x is φ_x − (b_x + ζ s_x) φ_ζ / h, along
  /// y likewise, upward φ_ζ / h.
  void sloped_parts(std::size_t l, const Eigen::VectorXd& h, Vec2 b, Vec2 s) {
    const int first = static_cast<int>(out_.plan.size()), m = out_.fills[l].material;
    out_.plan.push_back(stiffness(dx_, h));
    out_.plan.push_back(stiffness(dy_, h));
    out_.plan.push_back(mass(h));
    out_.plan.push_back(mass(h.cwiseInverse()));
    const int mass_at = add_height(model_, over_all(l, HeightMatrices::mass));
    add(first, mass_at, 1, 0, material_part(m, 0));
    add(first + 1, mass_at, 1, 0, material_part(m, 1));
    add(first + 2, mass_at, 0, 1, material_part(m, 0));
    const Matrix stiff = over_all(l, HeightMatrices::stiff);
    add(first + 3, add_height(model_, stiff), 1, 0, material_part(m, 2));
    for (const int d : {0, 1}) {
      const double low = d == 0 ? b.x : b.y, rise = d == 0 ? s.x : s.y;
      if (std::abs(low) + std::abs(rise) < 1e-12) continue;
      const Matrix up = low * low * stiff + 2 * low * rise * over_all(l, HeightMatrices::stiff_up) +
                        rise * rise * over_all(l, HeightMatrices::stiff_up2);
      const Vec2 way = d == 0 ? Vec2{1, 0} : Vec2{0, 1};
      add(first + 3, add_height(model_, up), 1, 0, material_part(m, d));
      add_mixed(l, way * low, HeightMatrices::mixed, HeightMatrices::mixed_back,
                material_part(m, d));
      add_mixed(l, way * rise, HeightMatrices::mixed_up, HeightMatrices::mixed_up_back,
                material_part(m, d));
    }
  }

  SolidModel& model_;
  Corners corners_;
  SolidColumn& out_;
  std::array<Vec2, 3> p_{}, gradient_{};
  Matrix points_, value_, dx_, dy_;
  Eigen::VectorXd weight_;
};

/// Fields that go through a column of prisms together.
constexpr Eigen::Index batch = 16;

/// Fields over one column of prisms. In memory: functions of the plan, then fields, then modes of
/// the height, so that the plan's matrices and the height's each take all the others at once.
class ColumnFields {
 public:
  ColumnFields(const SolidModel& model, const SolidColumn& column, Eigen::Index fields)
      : model_(model),
        column_(column),
        n_(static_cast<Eigen::Index>(column.functions.size())),
        fields_(fields) {
    for (const int f : column.functions) tall_ = std::max(tall_, Eigen::Index(model.tall[seat(f)]));
    x = Matrix::Zero(n_ * fields, tall_);
    sum = Matrix::Zero(n_, fields * tall_);
  }
  /// visit(place in x or sum, row of the whole, field)
  template <class Visit>
  void each(Visit visit) const {
    for (Eigen::Index f = 0; f < n_; ++f) {
      const std::size_t function = seat(column_.functions[static_cast<std::size_t>(f)]);
      for (Eigen::Index c = 0; c < fields_; ++c)
        for (Eigen::Index a = 0; a < model_.tall[function]; ++a)
          visit(f + n_ * (c + fields_ * a), Eigen::Index(model_.first[function]) + a, c);
    }
  }
  /// y += weight · x, over the height.
  void over_height(int height, double weight, Matrix& y) const {
    if (y.size() == 0) y = Matrix::Zero(x.rows(), x.cols());
    const auto& entries = model_.heights[seat(height)].entries;
    const auto here = [&](const HeightMatrix::Entry& e) {
      return e.row < tall_ && e.column < tall_;
    };
    if (static_cast<Eigen::Index>(4 * entries.size()) > tall_ * tall_) {
      Matrix up = Matrix::Zero(tall_, tall_);
      for (const auto& e : entries)
        if (here(e)) up(e.column, e.row) = weight * e.value;
      add_product(y, 1, dense_view(x), dense_view(up));
      return;
    }
    for (const auto& e : entries)
      if (here(e)) y.col(e.row) += (weight * e.value) * x.col(e.column);
  }
  /// sum += plan · y.
  void over_plan(int plan, const Matrix& y) {
    if (y.size() == 0) return;
    const DenseView flat{y.data(), nullptr, long(n_), long(fields_ * tall_), 1, long(n_)};
    add_product(sum, 1, dense_view(column_.plan[seat(plan)]), flat);
  }

  Matrix x, sum;

 private:
  const SolidModel& model_;
  const SolidColumn& column_;
  Eigen::Index n_, fields_, tall_ = 0;
};

/// Σ of the column's terms that `weight` does not put to 0, times `in`.
template <class Weight>
Matrix apply_terms(const SolidModel& model, const Matrix& in, Weight weight) {
  Matrix out = Matrix::Zero(in.rows(), in.cols());
  for (const SolidColumn& column : model.columns) {
    if (std::all_of(column.terms.begin(), column.terms.end(),
                    [&](const SolidTerm& term) { return weight(term) == 0; }))
      continue;
    for (Eigen::Index from = 0; from < in.cols(); from += batch) {
      ColumnFields fields(model, column, std::min(batch, in.cols() - from));
      fields.each([&](Eigen::Index at, Eigen::Index row, Eigen::Index c) {
        fields.x.data()[at] = in(row, from + c);
      });
      for (int p = 0; p < static_cast<int>(column.plan.size()); ++p) {
        Matrix y;
        for (const SolidTerm& term : column.terms)
          if (const double w = term.plan == p ? weight(term) : 0; w != 0)
            fields.over_height(term.height, w, y);
        fields.over_plan(p, y);
      }
      fields.each([&](Eigen::Index at, Eigen::Index row, Eigen::Index c) {
        out(row, from + c) += fields.sum.data()[at];
      });
    }
  }
  return out;
}

/// The whole matrix, for one column of prisms: real parts of the fields, then imaginary ones.
void add_whole(const SolidModel& model, const SolidValues& values, const SolidColumn& column,
               const Eigen::MatrixXcd& in, Eigen::MatrixXcd& out) {
  const Eigen::Index width = in.cols();
  ColumnFields fields(model, column, 2 * width);
  const Eigen::Index half = static_cast<Eigen::Index>(column.functions.size()) * width;
  fields.each([&](Eigen::Index at, Eigen::Index row, Eigen::Index c) {
    fields.x.data()[at] = c < width ? in(row, c).real() : in(row, c - width).imag();
  });
  for (int p = 0; p < static_cast<int>(column.plan.size()); ++p) {
    Matrix y;
    for (const SolidTerm& term : column.terms) {
      const std::complex<double> w = term.plan == p ? weight_of(term, values) : 0.0;
      if (w == 0.0) continue;
      Matrix one;
      fields.over_height(term.height, 1, one);
      if (y.size() == 0) y = Matrix::Zero(one.rows(), one.cols());
      y.topRows(half) += w.real() * one.topRows(half) - w.imag() * one.bottomRows(half);
      y.bottomRows(half) += w.imag() * one.topRows(half) + w.real() * one.bottomRows(half);
    }
    fields.over_plan(p, y);
  }
  fields.each([&](Eigen::Index at, Eigen::Index row, Eigen::Index c) {
    const double value = fields.sum.data()[at];
    if (c < width)
      out(row, c) += value;
    else
      out(row, c - width) += std::complex<double>(0, value);
  });
}

}  // namespace

std::complex<double> weight_of(const SolidTerm& term, const SolidValues& values) {
  if (term.boundary >= 0) return values.boundary[seat(term.boundary)] * term.in_mass;
  return values.inverse_density[seat(term.material)] * term.in_stiffness -
         values.stiffness[seat(term.material)] * term.in_mass;
}

Eigen::MatrixXcd apply_all(const SolidModel& model, const SolidValues& values,
                           const Eigen::MatrixXcd& in) {
  Eigen::MatrixXcd out = Eigen::MatrixXcd::Zero(in.rows(), in.cols());
  for (const SolidColumn& column : model.columns) add_whole(model, values, column, in, out);
  return out;
}

HeightPart height_part(const SolidLayer& layer, double from, double to) {
  if (from == 0 && to == 1)
    return {layer.matrices.of[HeightMatrices::mass], layer.matrices.of[HeightMatrices::stiff]};
  const auto n = static_cast<Eigen::Index>(layer.functions.size());
  HeightPart out{Matrix::Zero(n, n), Matrix::Zero(n, n)};
  Eigen::VectorXd v(n), s(n);
  const Quadrature rule = gauss_legendre(layer.degree + 1, from, to);
  for (std::size_t g = 0; g < rule.points.size(); ++g) {
    height_shapes(layer.degree, rule.points[g], v.data(), s.data());
    out.mass += rule.weights[g] * v * v.transpose();
    out.stiff += rule.weights[g] * s * s.transpose();
  }
  return out;
}

void add_matrices(SolidModel& model, std::size_t column) {
  ColumnMatrices(model, column).make();
}

int add_height(SolidModel& model, const Matrix& over_functions) {
  const Matrix over_modes = model.modes.transpose() * over_functions * model.modes;
  const double least = 1e-13 * over_modes.cwiseAbs().maxCoeff();
  HeightMatrix out;
  for (Eigen::Index b = 0; b < over_modes.cols(); ++b)
    for (Eigen::Index a = 0; a < over_modes.rows(); ++a)
      if (std::abs(over_modes(a, b)) > least)
        out.entries.push_back({static_cast<int>(a), static_cast<int>(b), over_modes(a, b)});
  // Columns alike have the same: once is enough.
  std::size_t key = out.entries.size();
  for (const auto& e : out.entries) key = key * 1099511628211u + std::hash<double>()(e.value);
  const auto [first, last] = model.known_heights.equal_range(key);
  for (auto known = first; known != last; ++known)
    if (model.heights[seat(known->second)] == out) return known->second;
  model.heights.push_back(std::move(out));
  const int at = static_cast<int>(model.heights.size()) - 1;
  model.known_heights.emplace(key, at);
  return at;
}

Matrix apply_stiffness(const SolidModel& model, int material, const Matrix& in) {
  return apply_terms(model, in, [material](const SolidTerm& term) {
    return term.material == material ? term.in_stiffness : 0;
  });
}
Matrix apply_mass(const SolidModel& model, int material, const Matrix& in) {
  return apply_terms(model, in, [material](const SolidTerm& term) {
    return term.material == material ? term.in_mass : 0;
  });
}
Matrix apply_boundary(const SolidModel& model, int boundary, const Matrix& in) {
  return apply_terms(model, in, [boundary](const SolidTerm& term) {
    return term.boundary == boundary ? term.in_mass : 0;
  });
}

}  // namespace roomwright::acoustics
