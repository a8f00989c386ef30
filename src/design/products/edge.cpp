// The routed edge: its profile, the cloth's way over it, the passes, and whether a corner screw
// lies in the path of the bit. All in the plane across the edge: x in from the outer side, z back
// from the face. A 45° chamfer of size c takes away everything with x + z < c.
#include <algorithm>
#include <cmath>

#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

/// √2 of a length, to the nearest nanometre.
Length diagonal_of(Length side) {
  return Length::from_m(std::sqrt(2.0) * side.metres());
}

/// Distance from (x, z) to the chamfer's cut from (c, 0) to (0, c), metres.
double to_cut_m(double x, double z, double c) {
  const double along = std::clamp(((c - x) + z) / (2 * c), 0.0, 1.0);  // 0 at (c, 0), 1 at (0, c)
  return std::hypot(x - c * (1 - along), z - c * along);
}

struct ScrewPlace {
  int number = 1;
  Length from_face;
};

std::vector<ScrewPlace> corner_screws(const Product& product, const shop::Rules& rules) {
  std::vector<ScrewPlace> out;
  const Length first = rules.screw_from_face;
  const Length last = product.depth - rules.screw_from_back;
  for (int i = 0; i < rules.screws_per_corner; ++i) {
    const Length step =
        rules.screws_per_corner > 1
            ? Length::from_nm((last - first).nanometres() * i / (rules.screws_per_corner - 1))
            : Length();
    out.push_back({i + 1, first + step});
  }
  return out;
}

std::string bit_sentence(const Units& units, const ScrewPlace& screw, Length clearance,
                         Length wanted, Length deepest) {
  const auto fine = [&](Length length) { return print_fine(length, units); };
  const Length short_by = wanted - clearance;
  std::string out = "Screw " + std::to_string(screw.number) + " of each corner, " +
                    fine(screw.from_face) + " behind the face, ";
  out += clearance < Length() ? "lies " + fine(Length() - clearance) + " inside the bit's path"
                              : "clears the bit by " + fine(clearance);
  if (short_by <= Length()) return out + ".";
  out += "; the rule asks for " + fine(wanted) + ". ";
  if (screw.from_face + short_by <= deepest)
    return out + "Set it at least " + fine(short_by) + " farther back, at " +
           fine(screw.from_face + short_by) + ".";
  return out + "Make the chamfer at least " + fine(short_by) +
         " smaller: the frame has no room to set it farther back.";
}

/// The screw's head lies flush in the outer side of the member that runs through, so the cut must
/// stay clear of the head there; along the other side's edge the shank runs beside the cut.
Length screw_clearance(const Product& product, const shop::Hardware& screw, Length from_face,
                       Length member) {
  const double diameter = screw.diameter ? screw.diameter->metres() : 0.004;
  const double c = product.spec.chamfer.metres();
  const double z = from_face.metres();
  const double head = z - diameter - c;  // a countersunk head is twice the thread's diameter wide
  const double shank = to_cut_m(member.metres() / 2, z, c) - diameter / 2;
  return Length::from_m(std::min(head, shank));
}

}  // namespace

void shape_edge(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found) {
  const shop::Rules& rules = with.shop->rules;
  const Length c = product.spec.chamfer;
  const Length d = product.depth;
  const Length deepest = std::min(with.timber->width, d) - Length::from_mm(5);
  if (c > deepest)
    found.add(where + ".chamfer", "leaves less than 5 mm of the timber", print_mm(c),
              "make it at most " + print_mm(deepest));
  if (c > rules.router_bit)
    found.add(where + ".chamfer", "is larger than the shop's router bit", print_mm(c),
              "make it at most " + print_mm(rules.router_bit));
  if (!found.empty()) return;
  if (c == Length()) {
    product.edge_profile = {{Length(), Length()}, {Length(), d}};
    product.cloth_path = d;
    return;
  }
  product.edge_profile = {{c, Length()}, {Length(), c}, {Length(), d}};
  product.cloth_path = diagonal_of(c) + d - c;
  const std::int64_t pass = std::max<std::int64_t>(1, rules.chamfer_per_pass.nanometres());
  product.router_passes = static_cast<int>((c.nanometres() + pass - 1) / pass);
}

void check_bench(Product& product, const Ingredients& with) {
  const shop::Rules& rules = with.shop->rules;
  const auto at = with.shop->hardware.find(rules.corner_screw);
  if (at == with.shop->hardware.end()) return;
  const shop::Hardware& screw = at->second;
  const Length member = with.timber->width;
  if (product.spec.chamfer > Length())
    for (const ScrewPlace& place : corner_screws(product, rules)) {
      const Length clearance = screw_clearance(product, screw, place.from_face, member);
      const Length deepest = product.depth - rules.screw_from_back;
      product.checks.push_back(
          {"screw " + std::to_string(place.number) + " against the router bit",
           clearance >= rules.screw_clearance, clearance - rules.screw_clearance,
           bit_sentence(with.shop->units, place, clearance, rules.screw_clearance, deepest)});
    }
  if (screw.length && *screw.length <= member)
    product.checks.push_back({"screw length", false, *screw.length - member,
                              "The corner screw (" + print_mm(*screw.length) +
                                  ") does not pass the member (" + print_mm(member) +
                                  "): take a screw at least " +
                                  print_mm(member + Length::from_mm(25)) + " long."});
}

}  // namespace roomwright::design
