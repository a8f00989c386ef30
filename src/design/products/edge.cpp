// The routed edge: its profile, the cloth's way over it, the passes. All in the plane across the
// edge: u in from the outer side, v back from the face. A chamfer takes away the wedge under the
// line from (face, 0) to (0, side); a round-over what lies outside the circle round (r, r); a cove
// the quarter disc round the edge itself. Cloth is taut: it follows the convex hull.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

constexpr int chords = 16;
constexpr double least_angle_deg = 15, greatest_angle_deg = 75;

double diagonal_m(double a, double b) {
  return std::sqrt(a * a + b * b);
}

/// What of the taut cloth lies over the cut.
double cloth_over_cut_m(const EdgeSpec& edge) {
  const double u = edge.face().metres(), v = edge.side().metres();
  return edge.shape == EdgeShape::round_over ? std::numbers::pi / 2 * u : diagonal_m(u, v);
}

std::vector<std::array<Length, 2>> profile_of(const EdgeSpec& edge, Length depth) {
  std::vector<std::array<Length, 2>> out{{edge.face(), Length()}};
  const double r = edge.size.metres();
  const bool arc = edge.shape == EdgeShape::round_over || edge.shape == EdgeShape::cove;
  for (int i = 1; arc && i < chords; ++i) {
    const double turn = std::numbers::pi / 2 * i / chords;
    const double u = edge.shape == EdgeShape::cove ? r * std::cos(turn) : r - r * std::sin(turn);
    const double v = edge.shape == EdgeShape::cove ? r * std::sin(turn) : r - r * std::cos(turn);
    out.push_back({Length::from_m(u), Length::from_m(v)});
  }
  if (edge.shape != EdgeShape::square) out.push_back({Length(), edge.side()});
  out.push_back({Length(), depth});
  return out;
}

struct Bit {
  Length largest, per_pass;
  const char* name;
};
Bit bit_for(const EdgeSpec& edge, const shop::Rules& rules) {
  if (edge.shape == EdgeShape::chamfer)
    return {rules.router_bit, rules.chamfer_per_pass, "the shop's router bit"};
  return {rules.round_bit, rules.round_per_pass, "the shop's round bit"};
}

void check_edge(const EdgeSpec& edge, Length deepest, const Bit& bit, const std::string& key,
                Diagnostics& found) {
  const Length cut = std::max(edge.face(), edge.side());
  if (edge.angle_deg < least_angle_deg || edge.angle_deg > greatest_angle_deg)
    found.add(key, "must be cut at 15 to 75 degrees", edge.angle_deg, "45 is the usual bit");
  // What is asked of the longer leg is told for the size, which a person can change.
  const double share = cut > Length() ? edge.size.metres() / cut.metres() : 1;
  const Length leg = std::min(deepest, bit.largest);
  const std::string remedy =
      "make it at most " +
      print_mm(Length::from_m(leg.metres() * share).round_down_to(Length::from_mm(1)));
  if (cut > deepest)
    found.add(key, "leaves less than 5 mm of the timber", print_mm(edge.size), remedy);
  if (cut > bit.largest)
    found.add(key, std::string("is larger than ") + bit.name, print_mm(edge.size), remedy);
}

}  // namespace

Length EdgeSpec::face() const {
  return shape == EdgeShape::square ? Length() : size;
}

Length EdgeSpec::side() const {
  if (shape != EdgeShape::chamfer || angle_deg == 45) return face();
  return Length::from_m(size.metres() * std::tan(angle_deg * std::numbers::pi / 180));
}

EdgeSpec edge_of(const ProductSpec& spec) {
  if (spec.edge) return *spec.edge;
  if (spec.chamfer <= Length()) return {};
  return {EdgeShape::chamfer, spec.chamfer, 45};
}

void shape_edge(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found) {
  EdgeSpec edge = edge_of(product.spec);
  if (edge.size <= Length()) edge.shape = EdgeShape::square;
  if (edge.shape == EdgeShape::square) edge = {};
  const Length depth = product.frame_depth;
  const Bit bit = bit_for(edge, with.shop->rules);
  if (edge.shape != EdgeShape::square)
    check_edge(edge, std::min(with.timber->width, depth) - Length::from_mm(5), bit,
               where + (product.spec.edge ? ".edge.size" : ".chamfer"), found);
  if (!found.empty()) return;
  product.edge = edge;
  product.edge_profile = profile_of(edge, depth);
  product.cloth_path = depth;
  if (edge.shape == EdgeShape::square) return;
  product.cloth_path = Length::from_m(cloth_over_cut_m(edge)) + depth - edge.side();
  const std::int64_t pass = std::max<std::int64_t>(1, bit.per_pass.nanometres());
  const Length cut = std::max(edge.face(), edge.side());
  product.router_passes = static_cast<int>((cut.nanometres() + pass - 1) / pass);
  for (int i = 1; i <= product.router_passes; ++i) {
    const double share = std::min(1.0, double(pass) * i / double(cut.nanometres()));
    product.bit_heights.push_back(
        Length::from_nm(std::llround(share * double(edge.side().nanometres()))));
  }
}

}  // namespace roomwright::design
