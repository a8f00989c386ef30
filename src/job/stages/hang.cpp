// Hang: where each piece sits from one datum, what its fixings carry, and whether the largest piece
// passes the way in. It approves nothing: every load comes with its caution.
#include <algorithm>
#include <cmath>
#include <tuple>

#include "job/stages/pieces.h"
#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

constexpr double lining_m = 0.015;  // board between screw head and stud, common practice, no source
constexpr Length squeeze = 10_mm;   // room for hands at a door, common practice, no source
constexpr double two_people_kg = 160;

}  // namespace

std::string place_name(const Job& job, const Piece& piece) {
  if (!piece.window.empty()) return piece.window;
  if (piece.corner >= 0) return "corner " + std::to_string(piece.corner);
  return acoustics::surface_name(job.room, piece.surface);
}

OnSurface on_surface(const Piece& piece, const design::Product& product) {
  OnSurface on;
  on.surface = piece.surface;
  on.width = piece.turned ? product.height : product.width;
  on.height = piece.turned ? product.width : product.height;
  on.bottom = piece.from_v;
  on.left = piece.from_u;
  if (product.spec.kind == design::Kind::free_screen) {  // what it covers of the floor
    on.width = piece.turned ? product.depth : product.width;
    on.height = piece.turned ? product.width : product.depth;
  }
  return on;
}

namespace {

/// What stands or is pressed in takes no screws.
shop::FixingReport rests(const design::Product& product) {
  shop::FixingReport report;
  report.points = 0;
  report.ok = true;
  report.verdict = product.spec.kind == design::Kind::free_screen
                       ? "It stands on its feet."
                       : "Its weight rests on the sill; its seal holds it.";
  report.cautions = {design::standing_caution(product.spec.kind)};
  return report;
}

shop::FixingReport fixing_of(const Job& job, const Piece& piece, const design::Product& product) {
  const shop::Rules& rules = job.shop.rules;
  if (!design::hangs(product.spec.kind)) return rests(product);
  const bool cloud = product.spec.kind == design::Kind::ceiling_cloud;
  const bool clips = product.spec.mounting == design::Mounting::clips;
  shop::FixingRequest request;
  (void)piece;
  request.mass_kg = product.mass_kg();
  request.points = cloud   ? rules.hangers_per_cloud
                   : clips ? rules.clips_per_panel
                           : rules.hangers_per_panel;
  request.overhead = cloud;
  request.pull = cloud ? shop::Pull::along : shop::Pull::across;
  request.asked_factor = rules.hanging_factor;
  request.ground = job.site.fixing_ground == "wood"      ? shop::Ground::wood
                   : job.site.fixing_ground == "masonry" ? shop::Ground::masonry
                                                         : shop::Ground::unknown;
  request.specific_gravity = job.site.stud_specific_gravity;
  if (const auto at = job.shop.hardware.find(rules.wall_screw); at != job.shop.hardware.end()) {
    if (at->second.diameter) request.screw_diameter_m = at->second.diameter->metres();
    if (at->second.length) request.penetration_m = at->second.length->metres() - lining_m;
  }
  if (auto report = shop::fixing(request)) return *report;
  // A screw without its sizes cannot be computed: say so instead of guessing.
  request.ground = shop::Ground::unknown;
  return shop::fixing(request).value();
}

/// Hangers: a quarter in from each side, 60 mm below the top; clouds near their four corners. An
/// outline's lie on its wood, where the weight is between and below them.
std::vector<std::array<Length, 2>> points_of(const OnSurface& on, const design::Product& product,
                                             int count, bool turned) {
  std::vector<std::array<Length, 2>> points;
  if (product.spec.custom)
    for (const Vec2 at : design::hang_points_m(product, count, turned))
      points.push_back({on.left + Length::from_m(at.x).round_to(1_mm),
                        on.bottom + Length::from_m(at.y).round_to(1_mm)});
  if (!points.empty()) return points;
  const auto part = [](Length whole, int of, int out_of) {
    return Length::from_nm(whole.nanometres() * of / out_of);
  };
  if (product.spec.kind == design::Kind::ceiling_cloud) {
    const int side = std::max(2, (count + 1) / 2);
    for (int i = 0; i < side; ++i)
      for (const int row : {1, 7})
        points.push_back(
            {on.left + part(on.width, 2 * i + 1, 2 * side), on.bottom + part(on.height, row, 8)});
    return points;
  }
  for (int i = 0; i < count; ++i)
    points.push_back({on.left + part(on.width, 2 * i + 1, 2 * count),
                      on.bottom + on.height - std::min(60_mm, part(on.height, 1, 4))});
  return points;
}

HangPiece hang_piece(const Job& job, const Treatment& treatment, const Piece& piece) {
  const design::Product& product = product_of(job, treatment, piece);
  const OnSurface on = on_surface(piece, product);
  HangPiece out;
  out.label = piece.label;
  out.product = product.spec.name;
  out.kind = design::kind_title(product.spec.kind);
  out.surface = piece.surface;
  out.place = place_name(job, piece);
  out.left = on.left;
  out.bottom = on.bottom;
  out.width = on.width;
  out.height = on.height;
  out.stand_off = product.stand_off;
  out.lift_on = product.lift_on;
  out.mass_kg = product.mass_kg();
  out.two_people = product.two_people;
  out.fixing = fixing_of(job, piece, product);
  out.fixing_points = points_of(on, product, out.fixing.points, piece.turned);
  if (product.spec.custom)
    for (const Vec2 at : design::face_outline(product, piece.turned))
      out.outline.push_back({on.left + Length::from_m(at.x), on.bottom + Length::from_m(at.y)});
  return out;
}

/// Overhead first, while the floor is free; then the corners, each from its foot up; then the
/// walls, each from the left (common practice, no source).
std::vector<std::size_t> hanging_order(const Job& job, const HangSheet& sheet) {
  std::vector<std::size_t> out(job.pieces.size());
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = i;
  const auto rank = [&](std::size_t i) {
    const Piece& piece = job.pieces[i];
    const int group = piece.surface == 1 ? 0 : piece.corner >= 0 ? 1 : 2;
    const int where = piece.corner >= 0 ? piece.corner : piece.surface;
    return std::tuple(group, where, piece.corner >= 0 ? piece.from_v : sheet.pieces[i].left);
  };
  std::stable_sort(out.begin(), out.end(),
                   [&](std::size_t a, std::size_t b) { return rank(a) < rank(b); });
  return out;
}

/// The two shorter sides of a box against an opening, either way round.
bool passes_opening(const design::Product& product, const WayIn& way) {
  std::array<Length, 3> sides{product.width, product.height, product.depth};
  std::sort(sides.begin(), sides.end());
  const auto [narrow, wide] = std::minmax({way.width - squeeze, way.height - squeeze});
  bool passes = sides[0] <= narrow && sides[1] <= wide;
  if (way.depth) {
    const double across = std::hypot(way.height.metres(), way.depth->metres());
    passes = passes && sides[2].metres() <= across;
  }
  return passes;
}

WayInCheck check_way(const design::Product& product, const std::string& label, const WayIn& way,
                     const Units& units) {
  WayInCheck check{label, way.label, passes_opening(product, way), ""};
  check.sentence =
      label + " (" + print_dimension(product.width, units) + " × " +
      print_dimension(product.height, units) + " × " + print_length(product.depth, units) + ", " +
      print_mass(product.mass_kg(), units) + ") " + (check.passes ? "passes " : "does not pass ") +
      way.label + " (" + print_dimension(way.width, units) + " × " +
      print_length(way.height, units) + ")";
  if (way.limit_kg && product.mass_kg() + two_people_kg > *way.limit_kg) {
    check.passes = false;
    check.sentence +=
        "; with two people it is beyond the " + fixed(*way.limit_kg, 0) + " kg allowed";
  }
  check.sentence += ".";
  return check;
}

void check_way_in(const Job& job, const Treatment& treatment, HangSheet& sheet) {
  const Piece *largest = nullptr, *heaviest = nullptr;
  const auto size = [&](const Piece& piece) {
    const design::Product& product = product_of(job, treatment, piece);
    return product.width.metres() * product.height.metres();
  };
  const auto mass = [&](const Piece& piece) { return product_of(job, treatment, piece).mass_kg(); };
  for (const Piece& piece : job.pieces) {
    if (!largest || size(piece) > size(*largest)) largest = &piece;
    if (!heaviest || mass(piece) > mass(*heaviest)) heaviest = &piece;
    sheet.total_kg += mass(piece);
  }
  if (!largest) return;
  sheet.largest = largest->label;
  sheet.heaviest = heaviest->label;
  std::vector<const Piece*> judged{largest};
  if (heaviest != largest) judged.push_back(heaviest);
  for (const Piece* piece : judged) {
    for (const WayIn& way : job.site.way_in)
      sheet.way_in.push_back(
          check_way(product_of(job, treatment, *piece), piece->label, way, job.region.units));
  }
}

void gather_cautions(HangSheet& sheet) {
  const auto add = [&](const std::string& caution) {
    if (std::find(sheet.cautions.begin(), sheet.cautions.end(), caution) == sheet.cautions.end())
      sheet.cautions.push_back(caution);
  };
  for (const HangPiece& piece : sheet.pieces)
    for (const std::string& caution : piece.fixing.cautions) add(caution);
  add("Stay clear of sprinklers, smoke detectors and vents by what local fire code asks; look for "
      "cables and pipes before drilling; electrics are for a licensed electrician.");
  add("Work from a platform or a ladder that is held, two people for every piece overhead.");
}

/// Pieces on cleats and clips are lifted before they hang.
void say_lifts(const Job& job, HangSheet& sheet) {
  for (const HangPiece& piece : sheet.pieces) {
    if (piece.lift_on <= Length() || piece.surface < 2) continue;
    double free_m = 1e9;
    const double run = acoustics::wall_length_m(job.room, piece.surface);
    for (const Length x : {piece.left, piece.left + piece.width}) {
      const Vec3 at = acoustics::from_uv(job.room, piece.surface, {run - x.metres(), 0});
      free_m = std::min(free_m, job.room.ceiling_at({at.x, at.y}));
    }
    const Length left = Length::from_m(free_m) - piece.bottom - piece.height - piece.lift_on;
    if (left < Length())
      sheet.statements.push_back(
          {85, "lift",
           piece.label + " must be lifted " + print_length(piece.lift_on, job.region.units) +
               " above its place to be hooked on; " +
               print_length(Length() - left, job.region.units) + " of that are missing.",
           "the ceiling is too near", "hang it that much lower, or take a stand-off"});
  }
}

void say_hang(const Job& job, HangSheet& sheet) {
  const Units& units = job.region.units;
  int open = 0, weak = 0;
  for (const HangPiece& piece : sheet.pieces) {
    if (piece.fixing.points == 0) continue;
    open += !piece.fixing.safety_factor;
    weak += piece.fixing.safety_factor && !piece.fixing.ok;
  }
  for (const WayInCheck& check : sheet.way_in)
    if (!check.passes)
      sheet.statements.push_back({80, "way in", check.sentence, "it is larger than the way in",
                                  "build it in two or bring it in in parts"});
  say_lifts(job, sheet);
  if (weak > 0)
    sheet.statements.push_back({90, "fixing",
                                std::to_string(weak) +
                                    (weak == 1 ? " piece hangs" : " pieces hang") +
                                    " below the asked safety factor.",
                                "too few or too short screws", "add fixing points"});
  if (open > 0)
    sheet.statements.push_back(
        {40, "fixing",
         "For " + std::to_string(open) + " of " + std::to_string(sheet.pieces.size()) +
             " pieces no published value covers what the screws go into: the installer chooses "
             "rated anchors for the load that the sheet states.",
         "the wall is not known to be wood", "find out what is behind the surface"});
  sheet.statements.push_back({0, "weight",
                              "All pieces weigh " + print_mass(sheet.total_kg, units) +
                                  "; the heaviest is " + sheet.heaviest + ", the largest " +
                                  sheet.largest + ".",
                              "", ""});
}

}  // namespace

HangSheet hang(const Job& job, const Treatment& treatment) {
  HangSheet sheet;
  for (const Piece& piece : job.pieces) sheet.pieces.push_back(hang_piece(job, treatment, piece));
  sheet.order = hanging_order(job, sheet);
  check_way_in(job, treatment, sheet);
  gather_cautions(sheet);
  say_hang(job, sheet);
  return sheet;
}

}  // namespace roomwright::job
