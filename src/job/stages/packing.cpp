// Packing: each piece's label and package, the van trip by trip in the order of hanging, or the
// cartons of an order.
#include <algorithm>
#include <cmath>

#include "job/stages/pieces.h"
#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

/// The fields of a code are parted by this sign; in a field it becomes a stroke.
constexpr char parting = '|';
constexpr const char* label_form = "RW1";

std::string field(std::string text) {
  std::replace(text.begin(), text.end(), parting, '/');
  return text;
}

/// In tenths of a millimetre, exact: a code is read by programs.
std::string tenths_mm(Length length) {
  return fixed(length.round_to(Length::from_nm(100'000)).millimetres(), 1);
}

std::string payload_of(const Job& job, const LabelRow& row) {
  std::string out = label_form;
  for (const std::string& one :
       {job.reference.empty() ? job.title : job.reference, job.revision, row.piece, row.product,
        row.place, tenths_mm(row.left), tenths_mm(row.bottom), fixed(row.mass_kg, 1),
        std::string(row.two_people ? "2" : "1")})
    out += parting + field(one);
  return out;
}

LabelRow label_of_piece(const Job& job, const Treatment& treatment, std::size_t index) {
  const Piece& piece = job.pieces[index];
  const design::Product& product = product_of(job, treatment, piece);
  LabelRow row;
  row.piece = piece.label;
  row.product = product.spec.name;
  row.mass_kg = product.mass_kg();
  row.two_people = product.two_people;
  row.width = product.width;
  row.height = product.height;
  row.depth = product.depth;
  if (!job.order) {
    const OnSurface on = on_surface(piece, product);
    row.place = place_name(job, piece);
    row.left = on.left;
    row.bottom = on.bottom;
  }
  row.payload = payload_of(job, row);
  return row;
}

/// Outside sizes as it travels: blocks that hold a panel off its wall are on it already.
std::array<Length, 3> travel_size(const design::Product& product) {
  Length depth = product.depth;
  for (const shop::StickPart& stick : product.parts.sticks)
    if (stick.name == "stand-off block") depth = product.depth + product.stand_off;
  return {product.width, product.height, depth};
}

bool may_lie(design::Kind kind) {
  return kind == design::Kind::solid_trap || kind == design::Kind::tuned_trap ||
         kind == design::Kind::diffuser;
}

void pack_pieces(const Job& job, const Treatment& treatment, const HangSheet& hang,
                 PackingSheet& sheet) {
  for (const std::size_t i : hang.order) {
    const Piece& piece = job.pieces[i];
    const design::Product& product = product_of(job, treatment, piece);
    PackageRow row{piece.label, product.spec.name, place_name(job, piece),
                   shop::package_of(piece.label, travel_size(product), product.mass_kg(),
                                    job.shop.packing, kind_key(product.spec.kind)),
                   product.two_people};
    row.package.may_lie = may_lie(product.spec.kind);
    row.two_people = row.two_people || row.package.mass_kg >= job.shop.rules.two_person_kg;
    sheet.packages.push_back(row);
  }
}

std::string so_many(std::size_t count, const std::string& one, const std::string& more) {
  return std::to_string(count) + " " + (count == 1 ? one : more);
}

void say_balance(const shop::VanPlan& plan, const Units& units, std::vector<Statement>& out) {
  for (std::size_t i = 0; i < plan.trips.size(); ++i) {
    const shop::Trip& trip = plan.trips[i];
    const std::string name = "Trip " + std::to_string(i + 1);
    if (trip.leans)
      out.push_back({50, "van",
                     name + " leans to one side: its centre lies " +
                         print_length(Length::from_m(trip.centre_y_m), units) +
                         " from the left-hand wall.",
                     "heavy pieces stand on one side", "set tools and blankets on the other side"});
    if (trip.tail_heavy)
      out.push_back({60, "van",
                     name + " lies behind the rear axle: its centre is " +
                         print_length(Length::from_m(trip.centre_x_m), units) +
                         " from the bulkhead.",
                     "heavy pieces stand at the doors", "split it into two trips"});
  }
}

void plan_the_van(const Job& job, PackingSheet& sheet) {
  double mass = 0;
  std::vector<shop::Package> packages;
  for (const PackageRow& row : sheet.packages) {
    packages.push_back(row.package);
    mass += row.package.mass_kg;
  }
  const std::string all = so_many(packages.size(), "package", "packages") + ", " +
                          print_mass(mass, job.region.units) + " with their wrapping";
  if (!job.shop.van) {
    sheet.statements.push_back({0, "van", all + "; the shop file names no van to plan for.", "",
                                "add [van] to the shop file"});
    return;
  }
  auto plan = shop::plan_van(packages, *job.shop.van, job.shop.packing);
  if (!plan) {
    for (const Complaint& fault : plan.mistakes().items())
      sheet.statements.push_back({80, "van", job.shop.van->name + " " + fault.what + ".",
                                  "it is too large or too heavy", fault.remedy});
    return;
  }
  const std::size_t trips = plan->trips.size();
  std::string sentence =
      all + ", go in " + so_many(trips, "trip", "trips") + " with the " + job.shop.van->name;
  sentence += int(trips) == plan->bound
                  ? (trips > 1 ? "; by " + plan->bound_by + " no plan needs fewer." : ".")
                  : "; at least " + std::to_string(plan->bound) + " by " + plan->bound_by + ".";
  sheet.statements.push_back({0, "van", sentence, "", ""});
  say_balance(*plan, job.region.units, sheet.statements);
  sheet.van = std::move(*plan);
}

void say_two_people(PackingSheet& sheet) {
  std::string labels;
  std::size_t count = 0;
  for (const PackageRow& row : sheet.packages)
    if (row.two_people) labels += (count++ ? ", " : "") + row.piece;
  if (count == 0) return;
  const bool one = count == 1;
  sheet.statements.push_back({20, "lifting", "Two people carry " + labels + ".",
                              one ? "it is heavy or long" : "they are heavy or long", ""});
}

/// The pieces of an order, one entry a line.
std::vector<shop::CartonItem> carton_items(const Job& job, const Treatment& treatment) {
  std::vector<shop::CartonItem> out;
  std::size_t next = 0;
  for (const OrderItem& item : job.order->items) {
    const design::Product& product = product_of(job, treatment, job.pieces[next]);
    const auto size = travel_size(product);
    out.push_back({item.label, size[0], size[1], size[2], product.mass_kg(), item.count});
    next += std::size_t(item.count);
  }
  return out;
}

void say_cartons(const Job& job, PackingSheet& sheet) {
  const shop::CartonPlan& plan = sheet.cartons;
  std::size_t two = 0;
  for (const shop::Carton& carton : plan.cartons)
    if (carton.two_people) two += std::size_t(carton.cartons);
  std::string sentence = so_many(job.pieces.size(), "piece", "pieces") + " in " +
                         so_many(std::size_t(plan.count), "carton", "cartons") + ", " +
                         print_mass(plan.mass_kg, job.region.units);
  const bool rated = !job.order->collected && !job.shop.carriage.rates.empty();
  if (job.order->collected)
    sentence += ", collected by the customer";
  else if (!rated)
    sentence += "; the shop file names no rates: ask the carrier";
  sheet.statements.push_back({0, "cartons", sentence + ".", "", ""});
  if (rated)
    sheet.statements.push_back({0, "carriage",
                                "The carrier asks " +
                                    print_money(plan.carriage, job.shop.currency) +
                                    ", the least of every split into cartons of one line.",
                                "", ""});
  if (two > 0)
    sheet.statements.push_back({20, "lifting",
                                so_many(two, "carton is", "cartons are") + " above " +
                                    print_mass(job.shop.packing.carton_kg, job.region.units) +
                                    ": two people lift " + (two == 1 ? "it." : "each of them."),
                                "one piece alone is that heavy", ""});
}

}  // namespace

Result<LabelText> read_label(const std::string& payload) {
  std::vector<std::string> fields(1);
  for (const char sign : payload)
    if (sign == parting)
      fields.emplace_back();
    else
      fields.back() += sign;
  if (fields.size() != 10 || fields[0] != label_form)
    return Complaint{"label", "is not of the form that this program writes", payload.substr(0, 40),
                     "ten fields, the first RW1", 0};
  LabelText out{fields[1], fields[2], fields[3], fields[4], fields[5], {}, {}, 0, fields[9] == "2"};
  const auto left = read_length(fields[6], LengthUnit::mm);
  const auto bottom = read_length(fields[7], LengthUnit::mm);
  const auto mass = read_decimal(fields[8]);
  if (!left || !bottom || !mass)
    return Complaint{"label", "has a number that cannot be read", payload.substr(0, 80),
                     "left, bottom and weight are decimals", 0};
  out.left = *left;
  out.bottom = *bottom;
  out.mass_kg = mass->value();
  return out;
}

Result<shop::CartonPlan> order_cartons(const Job& job, const Treatment& treatment) {
  return shop::plan_cartons(carton_items(job, treatment), job.shop.packing, job.shop.carriage,
                            job.order->zone, job.order->collected);
}

Result<PackingSheet> packing(const Job& job, const Treatment& treatment, const HangSheet& hang) {
  PackingSheet sheet;
  for (std::size_t i = 0; i < job.pieces.size(); ++i)
    sheet.labels.push_back(label_of_piece(job, treatment, i));
  sheet.cautions = {
      "Two people lift what is so marked; bend the knees, keep the load close, clear the way and "
      "prop the doors first."};
  if (job.order) {
    auto cartons = order_cartons(job, treatment);
    if (!cartons) return cartons.mistakes();
    sheet.items = carton_items(job, treatment);
    sheet.cartons = std::move(*cartons);
    say_cartons(job, sheet);
    return sheet;
  }
  pack_pieces(job, treatment, hang, sheet);
  plan_the_van(job, sheet);
  say_two_people(sheet);
  sheet.cautions.push_back(
      "Secure every stack to the van's lashing points so that it cannot slide, tip or fall when "
      "braking or turning. Load restraint, axle weights and the plated weight are the driver's to "
      "keep by local law; weigh the van where in doubt.");
  sheet.cautions.push_back(
      "Nothing lies on a cloth face; blankets between pieces and walls; nobody rides in the load "
      "space.");
  return sheet;
}

}  // namespace roomwright::job
