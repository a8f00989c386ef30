// Story sticks at full size, tiled over sheets with laps and a line to check the printer by, and
// whole for plotters; the settings of drill and router with their sections at full size.
#include <algorithm>
#include <cmath>

#include "papers/benchwork.h"

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Circle;
using drawing::Dash;
using drawing::Frame;
using drawing::Ink;
using drawing::Line;
using drawing::Path;
using drawing::Text;

std::vector<double> places_apart(std::vector<double> wanted, double gap, double most) {
  for (std::size_t i = 1; i < wanted.size(); ++i)
    wanted[i] = std::max(wanted[i], wanted[i - 1] + gap);
  for (std::size_t i = wanted.size(); i > 0; --i) {
    wanted[i - 1] = std::min(wanted[i - 1], most);
    most = wanted[i - 1] - gap;
  }
  return wanted;
}

std::string listed(const std::vector<std::string>& names) {
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i)
    out += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
  return out;
}

std::string exact_dimension(Length at, const Units& units) {
  if (at.round_to(units.metric ? 1_mm : Length::from_nm(25'400'000 / units.denominator)) == at)
    return print_dimension(at, units);
  return units.metric ? fixed(at.millimetres(), 1) : print_inches(at, 64);
}

namespace {

constexpr double stick_high = 30, lap_mm = 10, words_mm = 2.6;

struct NamedStick {
  design::StoryStick stick;
  std::vector<std::string> products;
};

bool same_marks(const design::StoryStick& a, const design::StoryStick& b) {
  if (a.member != b.member || a.length != b.length || a.marks.size() != b.marks.size())
    return false;
  for (std::size_t i = 0; i < a.marks.size(); ++i)
    if (a.marks[i].at != b.marks[i].at || a.marks[i].kind != b.marks[i].kind) return false;
  return true;
}

bool is_used(const job::Job& job, const design::Product& product) {
  return std::any_of(job.pieces.begin(), job.pieces.end(),
                     [&](const job::Piece& piece) { return piece.product == product.spec.key; });
}

/// Marks that a rule with the staples' pitch gives as well need no strip.
bool has_marks(const design::StoryStick& stick) {
  return std::any_of(stick.marks.begin(), stick.marks.end(), [](const design::StoryMark& mark) {
    return mark.kind != design::MarkKind::end && mark.kind != design::MarkKind::staple;
  });
}

/// One stick for all products that take the same marks.
std::vector<NamedStick> sticks_of_job(const job::Job& job, const job::Pack& pack) {
  std::vector<NamedStick> out;
  for (std::size_t i = 0; i < pack.treatment.products.size(); ++i) {
    const design::Product& product = pack.treatment.products[i];
    if (!is_used(job, product)) continue;
    for (const design::StoryStick& stick : pack.build.makings[i].sticks) {
      if (!has_marks(stick)) continue;
      const auto same = std::find_if(out.begin(), out.end(), [&](const NamedStick& one) {
        return same_marks(one.stick, stick);
      });
      if (same == out.end())
        out.push_back({stick, {product.spec.name}});
      else if (same->products.back() != product.spec.name)
        same->products.push_back(product.spec.name);
    }
  }
  return out;
}

/// What stands at one place of the stick: `27 stile`.
struct Written {
  double at_mm = 0;
  std::string text;
};
std::vector<Written> words_of(const design::StoryStick& stick, const Units& units) {
  std::vector<Written> out;
  Length last;
  for (const design::StoryMark& mark : stick.marks) {
    if (mark.what.empty()) continue;
    if (!out.empty() && mark.at == last) {
      if (out.back().text.find(mark.what) == std::string::npos) out.back().text += ", " + mark.what;
      continue;
    }
    last = mark.at;
    out.push_back({mark.at.millimetres(), exact_dimension(mark.at, units) + " " + mark.what});
  }
  return out;
}

/// From one place of a stick to another. Words stand only before words_to_mm: in the lap those of
/// the next part do.
struct Part {
  double from_mm = 0, to_mm = 0, words_to_mm = 0;
};

/// A part at full size: its outline, marks and words. from: the sheet's place of its beginning, on
/// the stick's upper edge.
void draw_part(drawing::Sheet& sheet, const design::StoryStick& stick, const Units& units,
               const Part& part, Vec2 from) {
  const double from_mm = part.from_mm, to_mm = part.to_mm;
  const auto x = [&](double at_mm) { return from.x + at_mm - from_mm; };
  const double y0 = from.y, y1 = from.y + stick_high;
  sheet.shapes.push_back(
      drawing::rectangle({x(from_mm), y0}, {x(to_mm), y1}, {Ink::ink, 0.3, Dash::none}));
  for (const design::StoryMark& mark : stick.marks) {
    const double at = mark.at.millimetres();
    if (at < from_mm - 1e-9 || at > to_mm + 1e-9) continue;
    switch (mark.kind) {
      case design::MarkKind::staple:
        sheet.shapes.push_back(Line{{x(at), y0}, {x(at), y0 + 2.5}, {Ink::ink, 0.35, Dash::none}});
        break;
      case design::MarkKind::screw:
        sheet.shapes.push_back(Line{{x(at), y0}, {x(at), y1}, {Ink::ink, 0.2, Dash::dashed}});
        break;
      case design::MarkKind::hole:
        sheet.shapes.push_back(Line{{x(at), y0}, {x(at), y1}, {Ink::ink, 0.2, Dash::dotted}});
        break;
      case design::MarkKind::hanger:
        sheet.shapes.push_back(Path{{{x(at) - 2, y0}, {x(at) + 2, y0}, {x(at), y0 + 4}},
                                    true,
                                    {Ink::ink, 0.2, Dash::none},
                                    true,
                                    Ink::ink,
                                    false});
        sheet.shapes.push_back(Line{{x(at), y0}, {x(at), y1}, {Ink::ink, 0.2, Dash::dotted}});
        break;
      default:
        sheet.shapes.push_back(Line{{x(at), y0}, {x(at), y1}, {Ink::ink, 0.3, Dash::none}});
    }
  }
  std::vector<Written> here;
  std::vector<double> wanted;
  for (const Written& one : words_of(stick, units))
    if (one.at_mm >= from_mm - 1e-9 && one.at_mm <= part.words_to_mm + 1e-9) {
      here.push_back(one);
      wanted.push_back(x(one.at_mm) + words_mm + 0.3);
    }
  const auto places = places_apart(wanted, words_mm * 1.22, x(to_mm) - 0.4);
  for (std::size_t i = 0; i < here.size(); ++i)
    sheet.shapes.push_back(Text{{places[i], y1 - 1.5},
                                drawing::fitted(here[i].text, words_mm, stick_high - 6),
                                words_mm,
                                false,
                                Anchor::left,
                                90,
                                Ink::ink});
}

std::string stick_title(const NamedStick& named, const Units& units) {
  return listed(named.products) + ": " + named.stick.member + ", " +
         print_length(named.stick.length, units) + " from the " + named.stick.from;
}

/// What is pasted over the one before it.
void draw_lap(drawing::Sheet& sheet, Vec2 from, Vec2 to, const std::string& letter) {
  Path area = drawing::rectangle(from, to, {Ink::graphite, 0, Dash::none});
  area.hatched = true;
  sheet.shapes.push_back(area);
  sheet.shapes.push_back(Line{from, {from.x, to.y + 4}, {Ink::graphite, 0.2, Dash::dashed}});
  sheet.shapes.push_back(
      Text{{from.x + 1, to.y + 3.6}, letter, 2.8, true, Anchor::left, 0, Ink::ink});
}

std::string lap_letter(std::size_t number) {
  return std::string(1, char('A' + number % 26)) +
         (number < 26 ? std::string() : std::to_string(number / 26));
}

void check_line(Flow& flow, bool metric) {
  const double long_mm = metric ? 100 : 101.6;
  const std::string size = metric ? "100 mm" : "4 in";
  flow.picture(11, [&](drawing::Sheet& sheet, Vec2 from, Vec2) {
    const double y = from.y + 5;
    const drawing::Pen pen{Ink::ink, 0.3, Dash::none};
    sheet.shapes.push_back(Line{{from.x, y}, {from.x + long_mm, y}, pen});
    for (const double x : {from.x, from.x + long_mm})
      sheet.shapes.push_back(Line{{x, y - 3}, {x, y + 3}, pen});
    sheet.shapes.push_back(Text{{from.x + long_mm + 5, y - 0.6},
                                "Measure this line. If it is not " + size +
                                    ", do not use this "
                                    "sheet:",
                                2.9,
                                true,
                                Anchor::left,
                                0,
                                Ink::madder});
    sheet.shapes.push_back(Text{{from.x + long_mm + 5, y + 3.6},
                                "print it again at actual size, without fitting it to the page.",
                                2.9,
                                false,
                                Anchor::left,
                                0,
                                Ink::ink});
  });
}

/// Tiles of one stick, each a lap longer than it advances.
void tile_stick(Flow& flow, const NamedStick& named, const Units& units, bool metric,
                std::size_t& letter) {
  const double whole = named.stick.length.millimetres();
  const double tile = std::floor((flow.width_mm() - 2) / 10) * 10, step = tile - lap_mm;
  const int parts = std::max(1, int(std::ceil((whole - lap_mm) / step - 1e-9)));
  for (int part = 0; part < parts; ++part) {
    const double begin = part * step, end = std::min(whole, begin + tile);
    if (flow.room_mm() < stick_high + 12) {
      flow.new_page("1:1");
      check_line(flow, metric);
    }
    flow.picture(stick_high + 11, [&](drawing::Sheet& sheet, Vec2 from, Vec2) {
      const std::string of =
          parts > 1 ? ", part " + std::to_string(part + 1) + " of " + std::to_string(parts) : "";
      sheet.shapes.push_back(
          Text{{from.x, from.y + 3},
               drawing::fitted(stick_title(named, units) + of, 3, flow.width_mm(), true),
               3,
               true,
               Anchor::left,
               0,
               Ink::ink});
      draw_part(sheet, named.stick, units, {begin, end, part + 1 < parts ? end - lap_mm : end},
                {from.x, from.y + 5});
      const double y1 = from.y + 5 + stick_high;
      if (part > 0)
        sheet.shapes.push_back(
            Text{{from.x, y1 + 3.6},
                 "lay this end over " + lap_letter(letter - 1) + ", mark on mark",
                 2.6,
                 false,
                 Anchor::left,
                 0,
                 Ink::graphite});
      if (part + 1 < parts) {
        const double x = from.x + end - begin;
        draw_lap(sheet, {x - lap_mm, from.y + 5}, {x, y1}, lap_letter(letter));
      }
    });
    if (part + 1 < parts) ++letter;
  }
}

/// The whole stick on a sheet of its own length, for plotters and for DXF.
drawing::Sheet whole_stick(const NamedStick& named, const Units& units) {
  drawing::Sheet sheet;
  sheet.width_mm = named.stick.length.millimetres() + 20;
  sheet.height_mm = stick_high + 30;
  sheet.shapes.push_back(
      Text{{10, 8}, stick_title(named, units), 3, true, Anchor::left, 0, Ink::ink});
  const double whole = named.stick.length.millimetres();
  draw_part(sheet, named.stick, units, {0, whole, whole}, {10, 12});
  return sheet;
}

}  // namespace

Paper stick_paper(const job::Job& job, const job::Pack& pack) {
  const Units& units = job.region.units;
  Paper paper{"11-story-sticks", "Story sticks", {}, false, {}, {}};
  Flow flow(job, {"Story sticks", units_name(job), "1:1", false, false}, true);
  const auto sticks = sticks_of_job(job, pack);
  flow.finding("Marks at full size: " + std::to_string(sticks.size()) +
               (sticks.size() == 1 ? " stick." : " sticks."));
  flow.paragraph(
      "Cut the strips out, lay each over the hatched end of the one before it, paste them on a "
      "straight batten with the outer edge flush, and carry the marks over with a knife and "
      "square. "
      "Full lines are edges, dashed ones screws, dotted ones hangers or holes; short strokes are "
      "staples. Hangers go on the upper rail. Figures run from the squared end. "
      "Members that carry staples alone need no strip: every " +
          print_length(job.shop.rules.staple_pitch, units) + " from the middle.",
      2.8);
  check_line(flow, units.metric);
  std::size_t letter = 0;
  for (const NamedStick& named : sticks) {
    tile_stick(flow, named, units, units.metric, letter);
    paper.whole.push_back(whole_stick(named, units));
  }
  paper.sheets = flow.finish();
  paper.scales = flow.scales();
  return paper;
}

namespace {

// ---- drill and router -------------------------------------------------------------------------

/// The outer side of a corner as the drill meets it: face to the left, heads where they come.
void drill_view(drawing::Sheet& sheet, const design::SetUp& set_up, const Units& units, Vec2 from) {
  const double depth = set_up.member_depth.millimetres(), wide = set_up.member_width.millimetres();
  const Vec2 at{from.x, from.y + 6};
  sheet.shapes.push_back(Text{{from.x, from.y + 3},
                              "Where the screws go: the outer side at a "
                              "corner, 1:1, face to the left",
                              3,
                              true,
                              Anchor::left,
                              0,
                              Ink::ink});
  sheet.shapes.push_back(drawing::filled_rectangle(at, {at.x + depth, at.y + wide}, Ink::corridor,
                                                   {Ink::cedar, 0.35, Dash::none}));
  if (!set_up.passes.empty()) {
    const double c = set_up.profile[set_up.profile.size() - 2][1].millimetres();
    sheet.shapes.push_back(drawing::filled_rectangle(at, {at.x + c, at.y + wide}, Ink::paper,
                                                     {Ink::cedar, 0.2, Dash::dashed}));
  }
  const double middle = at.y + wide / 2;
  sheet.shapes.push_back(
      Line{{at.x - 3, middle}, {at.x + depth + 3, middle}, {Ink::graphite, 0.15, Dash::dashed}});
  std::vector<drawing::Mark> marks = {{0, "0"},
                                      {depth / 1000, print_dimension(set_up.member_depth, units)}};
  for (const design::ScrewHole& hole : set_up.holes) {
    const double x = at.x + hole.from_face.millimetres();
    sheet.shapes.push_back(Circle{{x, middle},
                                  set_up.head.millimetres() / 2,
                                  {hole.ok ? Ink::ink : Ink::madder, 0.3, Dash::none},
                                  false});
    sheet.shapes.push_back(Circle{{x, middle},
                                  set_up.clearance_hole.millimetres() / 2,
                                  {hole.ok ? Ink::ink : Ink::madder, 0.2, Dash::none},
                                  false});
    marks.push_back({hole.from_face.metres(), exact_dimension(hole.from_face, units)});
  }
  drawing::marks_below(sheet, {{at.x, 0}, 1}, at.y + wide + 3, marks);
}

/// The member's section with each pass of the bit and the shanks behind it.
void edge_view(drawing::Sheet& sheet, const design::SetUp& set_up, const Units& units, Vec2 from) {
  const double depth = set_up.member_depth.millimetres(), wide = set_up.member_width.millimetres();
  const Vec2 at{from.x, from.y + 6};
  sheet.shapes.push_back(Text{{from.x, from.y + 3},
                              "The edge, 1:1, face to the left, outer side up",
                              3,
                              true,
                              Anchor::left,
                              0,
                              Ink::ink});
  Path wood;
  wood.closed = wood.filled = true;
  wood.fill = Ink::corridor;
  wood.pen = {Ink::cedar, 0.35, Dash::none};
  for (const auto& [in, back] : set_up.profile)
    wood.points.push_back({at.x + back.millimetres(), at.y + in.millimetres()});
  wood.points.push_back({at.x + depth, at.y + wide});
  wood.points.push_back({at.x, at.y + wide});
  sheet.shapes.push_back(wood);
  const double face = set_up.profile.front()[0].millimetres(),
               side = set_up.passes.back().millimetres();
  sheet.shapes.push_back(Path{{{at.x, at.y + face}, at, {at.x + side, at.y}},
                              false,
                              {Ink::graphite, 0.15, Dash::dashed},
                              false,
                              Ink::paper,
                              false});
  // A straight cut moves parallel to itself; a curved one comes down as it is.
  for (std::size_t i = 0; set_up.profile.size() == 3 && i + 1 < set_up.passes.size(); ++i) {
    const double c = set_up.passes[i].millimetres();
    sheet.shapes.push_back(
        Line{{at.x, at.y + face * c / side}, {at.x + c, at.y}, {Ink::graphite, 0.2, Dash::dashed}});
  }
  for (const design::ScrewHole& hole : set_up.holes) {
    const double x = at.x + hole.from_face.millimetres(), half = set_up.thread.millimetres() / 2;
    sheet.shapes.push_back(
        drawing::rectangle({x - half, at.y}, {x + half, at.y + wide},
                           {hole.ok ? Ink::ink : Ink::madder, 0.2, Dash::dashed}));
  }
  std::vector<drawing::Mark> marks = {{0, "0"}};
  for (const Length pass : set_up.passes)
    marks.push_back({pass.metres(), exact_dimension(pass, units)});
  marks.push_back({depth / 1000, print_dimension(set_up.member_depth, units)});
  drawing::marks_below(sheet, {{at.x, 0}, 1}, at.y + wide + 3, marks);
}

void drill_words(Flow& flow, const design::SetUp& set_up, const Units& units) {
  flow.table(
      {{"drill", 1.2, Align::left}, {"size", 0.8, Align::right}, {"how deep", 2, Align::left}},
      {{"clearance hole", print_fine(set_up.clearance_hole, units),
        "through the member that the head lies in, " + print_length(set_up.member_width, units)},
       {"pilot hole", print_fine(set_up.pilot_hole, units),
        print_length(set_up.pilot_depth, units) + " into the end of the other"},
       {"countersink", print_fine(set_up.head, units), "until the head lies flush"}},
      2.8);
  flow.paragraph("For " + set_up.screw + ", in this timber: try it on an offcut of it first.", 2.6,
                 Ink::graphite);
}

std::string pass_words(const design::SetUp& set_up, const Units& units) {
  std::string out = "Bit height: ";
  for (std::size_t i = 0; i < set_up.passes.size(); ++i)
    out += (i == 0                          ? ""
            : i + 1 == set_up.passes.size() ? ", then "
                                            : ", ") +
           print_fine(set_up.passes[i], units);
  return out + (set_up.passes.size() == 1 ? ", one pass" : "; set it anew for each pass") +
         " on all four sides. Test on a scrap of the same section.";
}

void set_up_page(Flow& flow, const job::Job& job, const design::Product& product,
                 const design::SetUp& set_up) {
  const Units& units = job.region.units;
  flow.keep_together(110);
  flow.heading(product.spec.name);
  std::vector<Cells> rows;
  for (const design::Setting& stop : set_up.stops)
    rows.push_back({print_length(stop.stop, units), std::to_string(stop.count),
                    stop.member + (stop.count == 1 ? "" : "s"), ""});
  if (!rows.empty())
    flow.table({{"stop at", 1, Align::right},
                {"of each piece", 1, Align::right},
                {"for", 2.4, Align::left},
                {"done", 0.6, Align::left}},
               rows, 2.8);
  const double high = set_up.member_width.millimetres() + 26;
  if (set_up.screwed) {
    flow.picture(high, [&](drawing::Sheet& sheet, Vec2 from, Vec2) {
      drill_view(sheet, set_up, units, {from.x + 4, from.y});
    });
    drill_words(flow, set_up, units);
  }
  if (!set_up.passes.empty()) {
    flow.picture(high, [&](drawing::Sheet& sheet, Vec2 from, Vec2) {
      edge_view(sheet, set_up, units, {from.x + 4, from.y});
    });
    flow.bullet(pass_words(set_up, units));
  }
  for (const design::ScrewHole& hole : set_up.holes)
    if (!hole.check.empty()) flow.bullet((hole.ok ? "" : "Fault: ") + hole.check);
  for (const std::string& line : product.making) flow.bullet(line);
}

}  // namespace

Paper set_up_paper(const job::Job& job, const job::Pack& pack) {
  Flow flow(job, {"Drill and router", units_name(job), "1:1", false, false});
  flow.finding("Stops, drills and bit heights, product by product.");
  flow.caution(
      "Pull the plug before a bit is changed or its height set. Eye and ear protection, dust "
      "extraction; feed against the turn of the bit; clamp what is drilled. The machine's manual "
      "and local rules come first.");
  for (std::size_t i = 0; i < pack.treatment.products.size(); ++i)
    if (is_used(job, pack.treatment.products[i]))
      set_up_page(flow, job, pack.treatment.products[i], pack.build.makings[i].set_up);
  return {"13-set-ups", "Drill and router", flow.finish(), false, {}, {}};
}

}  // namespace roomwright::papers
