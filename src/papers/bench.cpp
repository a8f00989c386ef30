// What the bench sees: cut sheet, cloth and boards, stations; and the shop's purchase and costing.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "papers/sheets.h"

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Ink;
using drawing::Line;
using drawing::Text;

namespace {

std::string joined(const std::vector<std::string>& parts, const char* between) {
  std::string out;
  for (const auto& part : parts) out += (out.empty() ? "" : between) + part;
  return out;
}

/// A stick to scale with its cuts; marks from the squared end run below it.
void draw_stick(drawing::Sheet& sheet, const shop::StickPattern& pattern,
                const shop::StickPlan& plan, const Units& units, double longest_m, Vec2 from,
                Vec2 to) {
  const double scale = (to.x - from.x) / longest_m;
  const auto x = [&](Length at) { return from.x + at.metres() * scale; };
  const double y0 = from.y + 5, y1 = from.y + 12;
  const Length trimmed = pattern.stock_length - plan.end_trim;
  sheet.shapes.push_back(drawing::filled_rectangle({from.x, y0}, {x(trimmed), y1}, Ink::corridor,
                                                   {Ink::graphite, 0.15, Dash::dashed}));
  double last_text = -100;
  std::array<double, 3> reached{-100, -100, -100};  // of texts at each level
  int level = 0;
  for (const shop::Mark& mark : pattern.marks) {
    sheet.shapes.push_back(drawing::filled_rectangle({x(mark.from), y0}, {x(mark.to), y1},
                                                     Ink::paper, {Ink::cedar, 0.3, Dash::none}));
    const std::string text = print_dimension(mark.length, units);
    if (drawing::text_width_mm(text, 2.8, true) + 1 < x(mark.to) - x(mark.from))
      sheet.shapes.push_back(Text{{(x(mark.from) + x(mark.to)) / 2, y0 + 4.6},
                                  text,
                                  2.8,
                                  true,
                                  Anchor::centre,
                                  0,
                                  Ink::ink});
    const std::string at = print_dimension(mark.to, units);
    const double half = drawing::text_width_mm(at, 2.4) / 2;
    level = x(mark.to) - half < last_text + 1.5 ? (level + 1) % 3 : 0;
    sheet.shapes.push_back(Line{
        {x(mark.to), y1}, {x(mark.to), y1 + 1.5 + level * 3}, {Ink::graphite, 0.15, Dash::none}});
    // Many short parts: where three rows of texts are full a tick stands alone.
    double& row = reached[static_cast<std::size_t>(level)];
    if (x(mark.to) - half >= row + 0.8) {
      sheet.shapes.push_back(
          Text{{x(mark.to), y1 + 4 + level * 3}, at, 2.4, false, Anchor::centre, 0, Ink::ink});
      row = x(mark.to) + half;
    }
    if (level == 0) last_text = x(mark.to) + half;
  }
}

std::string pattern_title(const shop::StickPattern& pattern, const Units& units) {
  std::string out =
      std::to_string(pattern.sticks) + (pattern.sticks == 1 ? " stick of " : " sticks of ") +
      print_length(pattern.stock_length, units) + (pattern.in_hand ? " from the rack" : "");
  if (!pattern.keep_offcut)
    return out + "; offcut " + print_length(pattern.offcut, units) + ", binned";
  const auto& names = pattern.offcut_names;
  return out + "; offcut " + print_length(pattern.offcut, units) + ", to the rack as " +
         (names.empty() ? "K" : names.front()) +
         (names.size() > 1 ? " to " + names.back() : std::string());
}

/// The face away from the first, for shops that mark both: the same marks from the same end.
void draw_far_face(drawing::Sheet& sheet, const shop::StickPattern& pattern, double longest_m,
                   Vec2 from, Vec2 to, double y0) {
  const double scale = (to.x - from.x) / longest_m;
  for (const shop::Mark& mark : pattern.marks) {
    const double x0 = from.x + mark.from.metres() * scale, x1 = from.x + mark.to.metres() * scale;
    sheet.shapes.push_back(drawing::filled_rectangle({x0, y0}, {x1, y0 + 4}, Ink::paper,
                                                     {Ink::cedar, 0.3, Dash::none}));
  }
  sheet.shapes.push_back(Text{{from.x + 1, y0 + 2.9},
                              "far face, the same marks",
                              2.3,
                              false,
                              Anchor::left,
                              0,
                              Ink::graphite});
}

/// `32 × D2 block` for as many in a row.
std::string counted(const std::vector<std::string>& parts) {
  std::string out;
  for (std::size_t i = 0; i < parts.size();) {
    std::size_t end = i;
    while (end < parts.size() && parts[end] == parts[i]) ++end;
    out += (out.empty() ? "" : ", ") + (end - i > 2 ? std::to_string(end - i) + " × " : "") +
           parts[i] + (end - i == 2 ? ", " + parts[i] : "");
    i = end;
  }
  return out;
}

void draw_pattern(Flow& flow, const shop::StickPattern& pattern, const shop::StickPlan& plan,
                  const Units& units, double longest_m, bool both_faces) {
  flow.picture(both_faces ? 31 : 24, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
    sheet.shapes.push_back(Text{
        {from.x, from.y + 3}, pattern_title(pattern, units), 2.9, true, Anchor::left, 0, Ink::ink});
    draw_stick(sheet, pattern, plan, units, longest_m, from, to);
    if (both_faces) draw_far_face(sheet, pattern, longest_m, from, to, from.y + 25);
  });
  std::vector<std::string> owners;
  for (std::size_t s = 0; s < pattern.pieces.size(); ++s)
    owners.push_back((pattern.pieces.size() > 1 ? std::to_string(s + 1) + ": " : "") +
                     counted(pattern.pieces[s]));
  flow.paragraph((owners.size() > 1 ? "Stick " : "") + joined(owners, "; stick ") + ".", 2.7);
}

/// By how much at most; what is paid stands on the purchase list, which the bench does not get.
std::string may_be_cheaper(const shop::StickPlan& plan) {
  const double cost = double(plan.cost.minor_units()), bound = double(plan.bound.minor_units());
  return "A plan that is cheaper by at most " + fixed(100 * (cost - bound) / cost, 1) +
         " % may exist.";
}

}  // namespace

Paper cut_paper(const job::Job& job, const job::Pack& pack) {
  const Units& units = job.region.units;
  Flow flow(job, {"Cut sheet", units_name(job), "", false, false}, true);
  const auto& plans = pack.build.schedule.sticks;
  std::size_t sticks = 0, stops = 0;
  for (const auto& plan : plans)
    sticks += std::size_t(plan.sticks_to_buy + plan.sticks_from_rack), stops += plan.stops.size();
  flow.finding(std::to_string(sticks) + " sticks, " + std::to_string(stops) + " stop settings.");
  for (const auto& statement : pack.build.statements)
    if (statement.topic == "bench") flow.caution(statement.sentence);
  flow.caution(
      "Saw: guard on, eye and ear protection, dust extraction, hands clear of the line of cut; the "
      "machine's manual and local rules come first.");
  for (const auto& plan : plans) {
    flow.keep_together(60);
    flow.heading(plan.name);
    flow.paragraph(
        "Square one end (take off " + print_length(plan.end_trim, units) +
        "), then set the stop, longest first. Kerf " + print_fine(plan.kerf, units) +
        ". Marks are from the squared end, the saw's kerf between neighbours counted in; cut on "
        "the "
        "far side of each line. " +
        (job.shop.rules.mark_both_faces
             ? std::string("Square each mark round to the far face as well. ")
             : std::string()) +
        "Write " + (job.reference.empty() ? std::string("the job") : job.reference) +
        " and its K number on what goes back to the rack. " +
        (plan.proven ? std::string("No cheaper plan exists.") : may_be_cheaper(plan)));
    std::vector<Cells> rows;
    for (const auto& stop : plan.stops)
      rows.push_back({print_length(stop.stop, units), std::to_string(stop.count),
                      joined(stop.parts, "; "), ""});
    flow.table({{"stop at", 1, Align::right},
                {"cut", 0.6, Align::right},
                {"for", 6, Align::left},
                {"done", 0.7, Align::left}},
               rows, 3);
    double longest_m = 0;
    for (const auto& pattern : plan.patterns)
      longest_m = std::max(longest_m, pattern.stock_length.metres());
    for (const auto& pattern : plan.patterns)
      draw_pattern(flow, pattern, plan, units, longest_m, job.shop.rules.mark_both_faces);
  }
  return {"03-cut-sheet", "Cut sheet", flow.finish(), false, {}};
}

namespace {

/// Roll drawn lying: along to the right, across upward.
void draw_roll(drawing::Sheet& sheet, const shop::ClothPlan& plan, const Units& units,
               std::size_t from_piece, std::size_t to_piece, Length start, Length end, Vec2 from,
               Vec2 to) {
  const double scale = std::min((to.x - from.x) / std::max(0.5, (end - start).metres()),
                                (to.y - from.y - 8) / plan.roll_width.metres());
  const auto at = [&](Length along, Length across) {
    return Vec2{from.x + (along - start).metres() * scale, to.y - 6 - across.metres() * scale};
  };
  sheet.shapes.push_back(drawing::filled_rectangle(at(start, plan.roll_width), at(end, Length()),
                                                   Ink::corridor,
                                                   {Ink::graphite, 0.2, Dash::none}));
  for (std::size_t i = from_piece; i < to_piece; ++i) {
    const shop::ClothPiece& piece = plan.pieces[i];
    const Vec2 a = at(piece.y, piece.x + piece.across), b = at(piece.y + piece.along, piece.x);
    sheet.shapes.push_back(
        drawing::filled_rectangle(a, b, Ink::cloth, {Ink::chalk_blue, 0.25, Dash::none}));
    sheet.shapes.push_back(
        Text{{(a.x + b.x) / 2, (a.y + b.y) / 2},
             drawing::fitted(piece.piece + " " + piece.name, 2.8, b.x - a.x - 1, true),
             2.8,
             true,
             Anchor::centre,
             0,
             Ink::ink});
    sheet.shapes.push_back(Text{{(a.x + b.x) / 2, (a.y + b.y) / 2 + 3.8},
                                drawing::fitted(print_dimension(piece.along, units) + " × " +
                                                    print_dimension(piece.across, units),
                                                2.4, b.x - a.x - 1),
                                2.4,
                                false,
                                Anchor::centre,
                                0,
                                Ink::graphite});
  }
  sheet.shapes.push_back(Text{{from.x, to.y - 1},
                              (plan.pile_one_way ? "pile runs this way →   " : "") +
                                  std::string("from ") + print_length(start, units) + " to " +
                                  print_length(end, units) + " of the roll",
                              2.6,
                              false,
                              Anchor::left,
                              0,
                              Ink::graphite});
}

/// A row of pieces that begin before `reach`: what fits one strip of the page.
void draw_cloth(Flow& flow, const shop::ClothPlan& plan, const Units& units) {
  const double height = std::min(62.0, plan.roll_width.metres() * 36 + 10);
  const Length strip = Length::from_m(flow.width_mm() / ((height - 8) / plan.roll_width.metres()));
  for (std::size_t i = 0; i < plan.pieces.size();) {
    const Length start = plan.pieces[i].y;
    Length end = start + plan.pieces[i].along;
    std::size_t stop = i;
    while (stop < plan.pieces.size() &&
           (plan.pieces[stop].y + plan.pieces[stop].along <= start + strip || stop == i)) {
      end = std::max(end, plan.pieces[stop].y + plan.pieces[stop].along);
      ++stop;
    }
    flow.picture(height, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
      draw_roll(sheet, plan, units, i, stop, start, end, from, to);
    });
    i = stop;
  }
}

/// Name and size in a part's rectangle: on two lines, on one along its longer side where it is a
/// strip, or not at all where it is thinner than the type (the list of parts has it).
void label_piece(drawing::Sheet& sheet, Vec2 a, Vec2 b, const std::string& name,
                 const std::string& size) {
  constexpr double type = 2.3;
  const double wide = b.x - a.x, high = std::abs(b.y - a.y);
  const double x = (a.x + b.x) / 2, y = (a.y + b.y) / 2;
  const auto fits = [&](const std::string& words, double room) {
    return drawing::text_width_mm(words, type) <= room;
  };
  const auto text = [&](Vec2 at, std::string words, double room, double turn, Ink ink) {
    if (!fits(words, room)) words = fits(name, room) ? name : "";
    if (!words.empty())
      sheet.shapes.push_back(Text{at, words, type, false, Anchor::centre, turn, ink});
  };
  if (std::min(wide, high) < type + 0.6) return;
  if (high >= 6.4 && fits(size, wide - 1)) {
    // Of many owners the first ones stand there.
    text({x, y - 0.4}, drawing::fitted(name, type, wide - 1), wide - 1, 0, Ink::ink);
    text({x, y + 2.6}, size, wide - 1, 0, Ink::graphite);
  } else if (wide >= high) {
    text({x, y + 0.8}, name + " " + size, wide - 1, 0, Ink::ink);
  } else {
    text({x + 0.8, y}, name + " " + size, high - 1, 90, Ink::ink);
  }
}

void draw_cut_sheet(drawing::Sheet& sheet, const shop::CutSheet& cut, const Units& units, bool wool,
                    Vec2 from, Vec2 to) {
  const double scale =
      std::min((to.x - from.x) / cut.height.metres(), (to.y - from.y - 5) / cut.width.metres());
  // Lying: the sheet's height to the right.
  const auto at = [&](Length x, Length y) {
    return Vec2{from.x + y.metres() * scale, from.y + 5 + x.metres() * scale};
  };
  sheet.shapes.push_back(
      Text{{from.x, from.y + 3.4},
           std::to_string(cut.repeat) + (wool ? " board" : " sheet") + (cut.repeat == 1 ? "" : "s"),
           2.6,
           true,
           Anchor::left,
           0,
           Ink::ink});
  sheet.shapes.push_back(drawing::filled_rectangle(at(Length(), Length()),
                                                   at(cut.width, cut.height), Ink::corridor,
                                                   {Ink::graphite, 0.2, Dash::none}));
  for (const shop::SheetPiece& piece : cut.pieces) {
    const Vec2 a = at(piece.x, piece.y), b = at(piece.x + piece.width, piece.y + piece.height);
    sheet.shapes.push_back(drawing::filled_rectangle(
        a, b, wool ? Ink::wool : Ink::paper, {wool ? Ink::moss : Ink::cedar, 0.25, Dash::none}));
    if (piece.triangle)
      sheet.shapes.push_back(Line{a, b, {wool ? Ink::moss : Ink::cedar, 0.35, Dash::none}});
    label_piece(sheet, a, b, piece.piece,
                print_dimension(piece.width, units) + " × " + print_dimension(piece.height, units));
  }
}

/// Every part of a plan by size, largest first: what the drawing is too small to letter.
std::string parts_of_plan(const shop::SheetPlan& plan, const Units& units) {
  std::map<std::pair<Length, Length>, std::map<std::string, int>> sizes;
  for (const shop::CutSheet& cut : plan.sheets)
    for (const shop::SheetPiece& piece : cut.pieces)
      sizes[std::minmax(piece.width, piece.height)][piece.piece] += cut.repeat;
  std::string out;
  for (auto size = sizes.rbegin(); size != sizes.rend(); ++size) {
    std::string owners;
    int count = 0;
    for (const auto& [piece, number] : size->second) {
      owners += (owners.empty() ? "" : ", ") + piece;
      count += number;
    }
    out += (out.empty() ? "" : "; ") + std::to_string(count) + " of " +
           print_dimension(size->first.first, units) + " × " +
           print_dimension(size->first.second, units) + " (" + owners + ")";
  }
  return out + ".";
}

/// Wool boards stand three abreast; sheets, with their many strips, two and larger.
void draw_boards(Flow& flow, const shop::SheetPlan& plan, const Units& units) {
  const std::size_t across = plan.wool ? 3 : 2;
  if (!plan.wool) flow.paragraph("Parts: " + parts_of_plan(plan, units), 2.6, Ink::graphite);
  for (std::size_t i = 0; i < plan.sheets.size(); i += across)
    flow.picture(plan.wool ? 36 : 70, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
      const double width = (to.x - from.x) / double(across);
      for (std::size_t k = 0; k < across && i + k < plan.sheets.size(); ++k)
        draw_cut_sheet(sheet, plan.sheets[i + k], units, plan.wool,
                       {from.x + double(k) * width, from.y},
                       {from.x + double(k + 1) * width - 4, to.y});
    });
}

}  // namespace

Paper flat_paper(const job::Job& job, const job::Pack& pack) {
  const Units& units = job.region.units;
  Flow flow(job, {"Cloth, boards, sheets", units_name(job), "", false, false}, true);
  flow.finding("Cloth along the pile, boards with the least left over.");
  flow.caution(
      "Mineral fibre irritates: gloves, long sleeves, a dust mask, ventilation; long knives cut "
      "away from the body.");
  for (const auto& plan : pack.build.schedule.cloths) {
    flow.keep_together(85);
    flow.heading(plan.name);
    flow.paragraph(
        "Roll " + print_length(plan.roll_width, units) + " wide; " +
        print_length(plan.length, units) + " used" +
        (plan.proven ? ", the least there is"
                     : ", at least " + print_length(plan.bound, units) + " by the bound") +
        "; " +
        (plan.to_buy > Length() ? "buy " + print_length(plan.to_buy, units)
                                : "from the rack " + print_length(plan.from_rack, units)) +
        ", one dye lot" +
        (plan.pile_one_way ? "; nothing is turned." : "; no pile, pieces may be turned."));
    draw_cloth(flow, plan, units);
  }
  for (const auto& plan : pack.build.schedule.sheets) {
    flow.keep_together(plan.wool ? 65 : 100);
    flow.heading(plan.name);
    flow.paragraph(
        std::to_string(plan.used) + (plan.wool ? " board" : " sheet") +
        (plan.used == 1 ? "" : "s") +
        (plan.proven ? ", the fewest there are"
                     : ", at least " + std::to_string(plan.bound) + " by the bound") +
        "; " + std::to_string(plan.from_rack) + " from the rack, " + std::to_string(plan.packs) +
        (plan.wool && plan.per_pack > 1
             ? (plan.packs == 1 ? " pack of " : " packs of ") + std::to_string(plan.per_pack)
             : "") +
        " to buy, " + std::to_string(plan.left_over) + " left over.");
    draw_boards(flow, plan, units);
  }
  return {"04-cloth-and-boards", "Cloth, boards, sheets", flow.finish(), false, {}};
}

Paper station_paper(const job::Job& job, const job::Pack& pack) {
  Flow flow(job, {"Station sheet", units_name(job), "", false, false});
  flow.finding(fixed(pack.build.schedule.shop_min() / 60, 1) +
               " hours in the shop, station by station.");
  for (const auto& station : pack.build.schedule.stations) {
    flow.keep_together(45);
    flow.heading(shop::station_title(station.station) + ": " + fixed(station.total_min(), 0) +
                 " min");
    for (const auto& caution : station.cautions) flow.caution(caution);
    for (const auto& step : station.steps) flow.bullet(step);
    std::vector<Cells> rows{
        {"set up", "1", fixed(station.set_up_min, 1), fixed(station.set_up_min, 0)}};
    for (const auto& line : station.lines) {
      std::string feature = line.feature;
      std::replace(feature.begin(), feature.end(), '_', ' ');
      rows.push_back({feature, fixed(line.count, line.count == std::floor(line.count) ? 0 : 1),
                      fixed(line.each_min, 1), fixed(line.count * line.each_min, 0)});
    }
    flow.table({{"what", 3, Align::left},
                {"how often", 1, Align::right},
                {"min each", 1, Align::right},
                {"min", 1, Align::right}},
               rows, 2.8);
  }
  return {"05-stations", "Station sheet", flow.finish(), false, {}};
}

Paper purchase_paper(const job::Job& job, const job::Pack& pack) {
  Flow flow(job, {"Purchase list", units_name(job), "", false, false});
  flow.finding("To buy for " + print_money(pack.price.purchase.total, job.shop.currency) + ".");
  std::vector<Cells> rows;
  for (const auto& row : pack.price.purchase.rows)
    rows.push_back({row.group, row.name, row.needed,
                    row.in_hand.rfind("0 ", 0) == 0 ? "none" : row.in_hand, row.buy,
                    print_money(row.cost, job.shop.currency), ""});
  rows.push_back(
      {"", "all", "", "", "", print_money(pack.price.purchase.total, job.shop.currency), ""});
  flow.table({{"group", 0.9, Align::left},
              {"what", 2.2, Align::left},
              {"needed", 1, Align::right},
              {"in hand", 1.1, Align::right},
              {"buy", 1.7, Align::right},
              {"cost", 1.1, Align::right},
              {"got", 0.5, Align::left}},
             rows, 2.7, true);
  flow.paragraph(
      "All cloth of one kind comes from one dye lot. Ask for the fire certificate of cloth and "
      "boards with the delivery.",
      2.8);
  for (const auto& [key, cloth] : job.shop.cloths)
    if (!cloth.fire_note.empty()) flow.bullet(cloth.name + ": " + cloth.fire_note + ".");
  return {"08-purchase", "Purchase list", flow.finish(), false, {}};
}

Paper costing_paper(const job::Job& job, const job::Pack& pack) {
  const shop::Costing& costing = pack.price.costing;
  const auto money = [&](Money amount) { return print_money(amount, job.shop.currency); };
  Flow flow(job, {"Costing, for the shop alone", units_name(job), "", false, false});
  flow.finding("Costs " + money(costing.cost) + ", asked " + money(costing.price) +
               " before tax, with every option.");
  std::vector<Cells> rows;
  for (const auto& row : costing.rows)
    rows.push_back({row.group, row.name, row.quantity, money(row.cost)});
  rows.push_back({"", "cost", "", money(costing.cost)});
  flow.table({{"group", 1, Align::left},
              {"what", 3, Align::left},
              {"how much", 2.2, Align::right},
              {"cost", 1.2, Align::right}},
             rows, 2.7, true);
  flow.table({{"", 4, Align::left}, {"", 1.2, Align::right}},
             {{"margin, " + job.shop.terms.margin_percent.text() + " % of the price",
               money(costing.margin)},
              {"price before tax", money(costing.price)}},
             2.9, true);
  return {"09-costing", "Costing", flow.finish(), false, {}};
}

}  // namespace roomwright::papers
