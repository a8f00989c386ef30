// What leaves the shop: the van trip by trip in load order, or an order's cartons and the sheet
// that lies in them.
#include <algorithm>
#include <cmath>

#include "papers/benchwork.h"

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Ink;
using drawing::Line;
using drawing::Text;

namespace {

struct Shown {
  Vec2 low, high;  ///< on the sheet
  std::string words;
};

/// Words along the longer side of a rectangle, or none where it is too small.
void write_in(drawing::Sheet& sheet, const Shown& one) {
  const double wide = one.high.x - one.low.x, high = one.high.y - one.low.y;
  const double size = 2.5;
  const Vec2 middle = (one.low + one.high) * 0.5;
  if (std::min(wide, high) < size + 0.3) return;
  if (wide >= high && drawing::text_width_mm(one.words, size) < wide - 0.6)
    sheet.shapes.push_back(
        Text{{middle.x, middle.y + 0.9}, one.words, size, false, Anchor::centre, 0, Ink::ink});
  else if (drawing::text_width_mm(one.words, size) < high - 0.6)
    sheet.shapes.push_back(
        Text{{middle.x + 0.9, middle.y}, one.words, size, false, Anchor::centre, 90, Ink::ink});
}

struct VanView {
  const job::PackingSheet& sheet;
  const shop::Van& van;
  const shop::Trip& trip;
  double scale = 25;
  double mm(Length length) const { return length.millimetres() / scale; }
  const std::string& label(const shop::PlacedPackage& one) const {
    return sheet.packages[one.package].piece;
  }
};

bool covers(Length a, Length a_size, Length b, Length b_size) {
  return a < b + b_size && b < a + a_size;
}

/// Whose middle lies over this one.
std::string with_what_is_above(const VanView& view, const shop::PlacedPackage& one) {
  std::string out = view.label(one);
  for (const auto& other : view.trip.placed) {
    const Length x = other.x + Length::from_nm(other.along.nanometres() / 2),
                 y = other.y + Length::from_nm(other.across.nanometres() / 2);
    if (other.z >= one.z + one.up && x >= one.x && x < one.x + one.along && y >= one.y &&
        y < one.y + one.across)
      out += " + " + view.label(other);
  }
  return out;
}

void arches_in_plan(drawing::Sheet& sheet, const VanView& view, Vec2 from) {
  const shop::Van& van = view.van;
  if (van.arches_length == Length()) return;
  const double wide = (view.mm(van.width) - view.mm(van.between_arches)) / 2;
  for (const double y : {0.0, view.mm(van.width) - wide}) {
    drawing::Path arch = drawing::rectangle(
        {from.x + view.mm(van.arches_from), from.y + y},
        {from.x + view.mm(van.arches_from + van.arches_length), from.y + y + wide},
        {Ink::graphite, 0.2, Dash::none});
    arch.hatched = true;
    sheet.shapes.push_back(arch);
  }
}

void axle_line(drawing::Sheet& sheet, const VanView& view, Vec2 from, double high) {
  if (view.van.rear_axle == Length()) return;
  const double x = from.x + view.mm(view.van.rear_axle);
  sheet.shapes.push_back(
      Line{{x, from.y - 2}, {x, from.y + high + 2}, {Ink::graphite, 0.2, Dash::dotted}});
}

/// From above: bulkhead to the left, doors to the right.
void van_plan_view(drawing::Sheet& sheet, const VanView& view, Vec2 from) {
  const double long_mm = view.mm(view.van.length), wide = view.mm(view.van.width);
  sheet.shapes.push_back(Text{
      {from.x, from.y - 3}, "From above, doors to the right", 3, true, Anchor::left, 0, Ink::ink});
  sheet.shapes.push_back(
      drawing::rectangle(from, {from.x + long_mm, from.y + wide}, {Ink::ink, 0.5, Dash::none}));
  arches_in_plan(sheet, view, from);
  axle_line(sheet, view, from, wide);
  for (const bool upper : {false, true})
    for (const auto& one : view.trip.placed) {
      if ((one.z > Length()) != upper) continue;
      const Vec2 low{from.x + view.mm(one.x), from.y + view.mm(one.y)};
      const Vec2 high{low.x + view.mm(one.along), low.y + view.mm(one.across)};
      if (upper) {
        sheet.shapes.push_back(drawing::rectangle(low, high, {Ink::chalk_blue, 0.3, Dash::dashed}));
        continue;
      }
      sheet.shapes.push_back(
          drawing::filled_rectangle(low, high, Ink::cloth, {Ink::ink, 0.25, Dash::none}));
      write_in(sheet, {low, high, with_what_is_above(view, one)});
    }
  const Vec2 centre{from.x + view.trip.centre_x_m * 1000 / view.scale,
                    from.y + view.trip.centre_y_m * 1000 / view.scale};
  sheet.shapes.push_back(drawing::Circle{centre, 1.6, {Ink::madder, 0.4, Dash::none}, false});
  sheet.shapes.push_back(
      Line{{centre.x - 2.6, centre.y}, {centre.x + 2.6, centre.y}, {Ink::madder, 0.3, Dash::none}});
  sheet.shapes.push_back(
      Line{{centre.x, centre.y - 2.6}, {centre.x, centre.y + 2.6}, {Ink::madder, 0.3, Dash::none}});
}

/// From the right-hand side as one looks in: what stands nearest hides what lies behind it.
void van_side_view(drawing::Sheet& sheet, const VanView& view, Vec2 from) {
  const double long_mm = view.mm(view.van.length), high_mm = view.mm(view.van.height);
  sheet.shapes.push_back(Text{{from.x, from.y - 3},
                              "From the side, the right-hand wall nearest",
                              3,
                              true,
                              Anchor::left,
                              0,
                              Ink::ink});
  sheet.shapes.push_back(
      drawing::rectangle(from, {from.x + long_mm, from.y + high_mm}, {Ink::ink, 0.5, Dash::none}));
  axle_line(sheet, view, from, high_mm);
  std::vector<const shop::PlacedPackage*> nearest;
  for (const auto& one : view.trip.placed) nearest.push_back(&one);
  std::stable_sort(nearest.begin(), nearest.end(), [](const auto* a, const auto* b) {
    return a->y + a->across < b->y + b->across;
  });
  for (std::size_t i = 0; i < nearest.size(); ++i) {
    const shop::PlacedPackage& one = *nearest[i];
    const Vec2 low{from.x + view.mm(one.x), from.y + high_mm - view.mm(one.z + one.up)};
    const Vec2 high{low.x + view.mm(one.along), low.y + view.mm(one.up)};
    sheet.shapes.push_back(
        drawing::filled_rectangle(low, high, Ink::cloth, {Ink::ink, 0.25, Dash::none}));
    bool hidden = false;
    for (std::size_t k = i + 1; k < nearest.size(); ++k)
      hidden = hidden || (covers(one.x, one.along, nearest[k]->x, nearest[k]->along) &&
                          covers(one.z, one.up, nearest[k]->z, nearest[k]->up));
    if (!hidden) write_in(sheet, {low, high, view.label(one)});
  }
}

void draw_trip(Flow& flow, const job::PackingSheet& packing, const shop::Van& van,
               const shop::Trip& trip) {
  const double room = (flow.width_mm() - 12) / 2;
  VanView view{packing, van, trip,
               drawing::fitting_scale(van.length.metres(), std::max(van.width, van.height).metres(),
                                      room, 78)};
  flow.set_scale("1:" + fixed(view.scale, 0));
  const double high = std::max(view.mm(van.width), view.mm(van.height));
  flow.picture(high + 11, [&](drawing::Sheet& sheet, Vec2 from, Vec2) {
    van_plan_view(sheet, view, {from.x, from.y + 7});
    van_side_view(sheet, view, {from.x + room + 12, from.y + 7});
  });
  flow.paragraph(
      "Hatched: wheel arches. Dotted: the rear axle. Dashed blue: what stands on top. Red cross: "
      "the "
      "centre of the load.",
      2.5, Ink::graphite);
}

std::string size_words(const shop::Package& package, const Units& units) {
  return print_dimension(package.width, units) + " × " + print_dimension(package.height, units) +
         " × " + print_dimension(package.depth, units);
}

void load_table(Flow& flow, const job::Job& job, const job::PackingSheet& packing,
                const shop::Trip& trip) {
  const Units& units = job.region.units;
  std::vector<Cells> rows;
  for (std::size_t i = 0; i < trip.placed.size(); ++i) {
    const shop::PlacedPackage& one = trip.placed[i];
    const job::PackageRow& row = packing.packages[one.package];
    rows.push_back({std::to_string(i + 1), row.piece, row.product, row.place,
                    size_words(row.package, units),
                    print_mass(row.package.mass_kg, units) + (row.two_people ? ", two people" : ""),
                    print_dimension(one.x, units), print_dimension(one.y, units),
                    one.z > Length() ? "on others" : "on the floor",
                    one.up == std::max({one.along, one.across, one.up})  ? "upright"
                    : one.up == row.package.depth && row.package.may_lie ? "on its back"
                                                                         : "on its long edge",
                    ""});
  }
  flow.table({{"load", 0.55, Align::right},
              {"piece", 0.6, Align::left},
              {"product", 1.7, Align::left},
              {"goes to", 1, Align::left},
              {"package", 2, Align::left},
              {"weight", 1.7, Align::left},
              {"from bulkhead", 0.9, Align::right},
              {"from left wall", 0.9, Align::right},
              {"stands", 1.1, Align::left},
              {"how", 1.3, Align::left},
              {"in", 0.4, Align::left}},
             rows, 2.7);
}

std::string trip_words(const job::Job& job, const shop::VanPlan& plan, const shop::Trip& trip) {
  const Units& units = job.region.units;
  std::string out =
      std::to_string(trip.placed.size()) +
      (trip.placed.size() == 1 ? " package, " : " packages, ") + print_mass(trip.mass_kg, units) +
      " of " + print_mass(job.shop.van->payload_kg, units) + ", " +
      print_volume(trip.volume_m3, units) + " of " + print_volume(plan.space_m3, units) +
      "; filled to " + print_length(trip.reach, units) + " from the bulkhead.";
  if (trip.rear_axle_kg > 0)
    out += " The rear axle takes about " + print_mass(trip.rear_axle_kg, units) + " of it" +
           (job.shop.van->rear_axle_kg > 0
                ? ", allowed " + print_mass(job.shop.van->rear_axle_kg, units)
                : "") +
           ".";
  return out;
}

void say_statements(Flow& flow, const job::PackingSheet& packing, std::size_t from) {
  for (std::size_t i = from; i < packing.statements.size(); ++i) {
    const job::Statement& one = packing.statements[i];
    flow.bullet(one.sentence + (one.next.empty() ? "" : " Next: " + one.next + "."));
  }
}

}  // namespace

Paper packing_paper(const job::Job& job, const job::Pack& pack) {
  const job::PackingSheet& packing = pack.packing;
  Flow flow(job, {"Packing and van", units_name(job), "", false, false}, true);
  flow.finding(packing.statements.front().sentence);
  say_statements(flow, packing, 1);
  for (const std::string& caution : packing.cautions) flow.caution(caution);
  if (packing.van) {
    for (std::size_t i = 0; i < packing.van->trips.size(); ++i) {
      const shop::Trip& trip = packing.van->trips[i];
      if (i > 0) flow.new_page();
      flow.keep_together(110);
      flow.heading(packing.van->trips.size() == 1 ? "The load" : "Trip " + std::to_string(i + 1));
      flow.paragraph(trip_words(job, *packing.van, trip) +
                     " Load in this order: what hangs last goes in first.");
      draw_trip(flow, packing, *job.shop.van, trip);
      load_table(flow, job, packing, trip);
    }
  } else {
    std::vector<Cells> rows;
    for (const job::PackageRow& row : packing.packages)
      rows.push_back({row.piece, row.product, row.place, size_words(row.package, job.region.units),
                      print_mass(row.package.mass_kg, job.region.units) +
                          (row.two_people ? ", two people" : "")});
    flow.heading("Packages in the order of hanging");
    flow.table({{"piece", 0.7, Align::left},
                {"product", 2, Align::left},
                {"goes to", 1.2, Align::left},
                {"package", 2, Align::left},
                {"weight", 1.8, Align::left}},
               rows, 2.8);
  }
  return {"15-packing", "Packing and van", flow.finish(), false, {}, {}};
}

// ---- orders -----------------------------------------------------------------------------------

Paper carton_paper(const job::Job& job, const job::Pack& pack) {
  const Units& units = job.region.units;
  const job::PackingSheet& packing = pack.packing;
  Flow flow(job, {"Cartons", units_name(job), "", false, false});
  flow.finding(packing.statements.front().sentence);
  // What the carrier is paid is the office's: this sheet lies on the bench.
  job::PackingSheet told = packing;
  std::erase_if(told.statements, [](const auto& one) { return one.topic == "carriage"; });
  say_statements(flow, told, 1);
  for (const std::string& caution : packing.cautions) flow.caution(caution);
  flow.heading("Cartons to make up");
  std::vector<Cells> rows;
  for (const shop::Carton& carton : packing.cartons.cartons) {
    const shop::CartonItem& item = packing.items[carton.item];
    rows.push_back(
        {std::to_string(carton.cartons), item.label,
         std::to_string(carton.pieces) + (carton.pieces == 1 ? " piece" : " pieces"),
         print_dimension(carton.width, units) + " × " + print_dimension(carton.height, units) +
             " × " + print_dimension(carton.depth, units),
         print_mass(carton.mass_kg, units) + (carton.two_people ? ", two people" : ""),
         carton.rate.empty()
             ? "–"
             : print_mass(carton.charged_kg, units) + (carton.by_volume ? ", by volume" : ""),
         carton.rate.empty() ? "–" : carton.rate, ""});
  }
  rows.push_back({std::to_string(packing.cartons.count), "all", "", "",
                  print_mass(packing.cartons.mass_kg, units), "", "", ""});
  flow.table({{"cartons", 0.8, Align::right},
              {"line", 0.5, Align::left},
              {"in each", 0.9, Align::left},
              {"outside", 1.9, Align::left},
              {"weight", 1.5, Align::left},
              {"charged", 1.5, Align::left},
              {"goes as", 1.6, Align::left},
              {"done", 0.5, Align::left}},
             rows, 2.7, true);
  flow.heading("How to pack");
  flow.bullet(
      "Pieces face to face with paper between, never cloth against board; corner guards on "
      "all four corners.");
  flow.bullet(
      "Hanging plates and screws in one bag, taped inside the carton's lid, with the "
      "instruction sheet on top.");
  flow.bullet("The piece's labels face the same end; write carton n of m on two sides.");
  return {"15-cartons", "Cartons", flow.finish(), false, {}, {}};
}

namespace {

void contents_table(Flow& flow, const job::Job& job, const job::Pack& pack) {
  const Units& units = job.region.units;
  std::vector<Cells> rows;
  for (const job::OrderItem& item : job.order->items)
    for (const design::Product& product : pack.treatment.products)
      if (product.spec.key == item.product)
        rows.push_back(
            {item.label + "1" +
                 (item.count > 1 ? " to " + item.label + std::to_string(item.count) : ""),
             product.spec.name,
             print_dimension(product.width, units) + " × " +
                 print_dimension(product.height, units) + ", " +
                 print_length(product.depth, units) + " deep",
             print_mass(product.mass_kg(), units) +
                 (product.two_people ? ", two people lift it" : ""),
             ""});
  flow.table({{"pieces", 1.1, Align::left},
              {"what", 1.5, Align::left},
              {"size", 2.2, Align::left},
              {"weight of each", 1.7, Align::left},
              {"there", 0.5, Align::left}},
             rows, 2.9);
}

}  // namespace

Paper instruction_paper(const job::Job& job, const job::Pack& pack) {
  const job::Instructions& sheet = *pack.instructions;
  const Units& units = job.region.units;
  Flow flow(job, {"How to hang them", units_name(job), "", false, true});
  flow.finding("Read this sheet before you open a carton.");
  for (const std::string& caution : sheet.cautions) flow.caution(caution);
  flow.heading("What is in the cartons");
  contents_table(flow, job, pack);
  flow.heading("What you need");
  for (const std::string& tool : sheet.tools) flow.bullet(tool);
  flow.heading("How to hang a piece");
  for (std::size_t i = 0; i < sheet.steps.size(); ++i)
    flow.paragraph(std::to_string(i + 1) + ".  " + sheet.steps[i]);
  flow.heading("What holds in which wall");
  std::vector<Cells> rows;
  for (const job::WallAdvice& one : sheet.walls) rows.push_back({one.wall, one.fixing});
  flow.table({{"your wall", 1.3, Align::left}, {"fixing", 3.2, Align::left}}, rows, 2.9);
  flow.paragraph(
      "The heaviest piece weighs " + print_mass(sheet.heaviest_kg, units) + " and hangs from " +
      std::to_string(sheet.points) + (sheet.points == 1 ? " point" : " points") +
      ". Each must carry " + fixed(std::ceil(sheet.load_n), 0) +
      " N, as if one had failed: with a safety factor of " + fixed(sheet.asked_factor, 0) +
      ", a fixing rated for at least " + fixed(std::ceil(sheet.load_n * sheet.asked_factor), 0) +
      " N in your wall. What the wall bears, someone on the spot must judge.");
  flow.heading("Care");
  for (const std::string& line : sheet.care) flow.bullet(line);
  flow.heading("Fire");
  for (const std::string& line : sheet.fire) flow.bullet(line);
  return {"16-how-to-hang", "How to hang them", flow.finish(), false, {}, {}};
}

}  // namespace roomwright::papers
