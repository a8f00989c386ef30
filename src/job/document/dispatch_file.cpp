// What leaves the shop: how pieces are packed, what they ride in, what a carrier asks, their labels
// (shop file), and the lines of an order (job file).
#include <nlohmann/json.hpp>
#include <set>

#include "job/document/parts.h"

namespace roomwright::job {

std::string kind_key(design::Kind kind) {
  return kind_names()[static_cast<std::size_t>(kind)];
}

namespace {

constexpr Length tenth_mm = Length::from_nm(100'000);

void read_packing(Reader& in, const LengthReader& lengths, shop::Packing& packing) {
  packing.wrap = lengths.optional(in, "wrap", packing.wrap, zero, 200_mm);
  packing.wrap_kg_m2 =
      in.number_or("wrap_kg_m2", packing.wrap_kg_m2, {.at_least = 0, .at_most = 20});
  packing.bears_kg = in.number_or("bears_kg", packing.bears_kg, {.at_least = 0, .at_most = 2000});
  packing.layers = int(in.whole_or("layers", packing.layers, 1, 20));
  in.child("layers_of", [&](Reader& kinds) {
    for (const std::string& kind : kind_names())
      if (kinds.raw(kind)) packing.layers_of[kind] = int(kinds.whole(kind, 1, 20));
    kinds.finish();
  });
  packing.carton = lengths.optional(in, "carton", packing.carton, zero, 300_mm);
  packing.between = lengths.optional(in, "between", packing.between, zero, 100_mm);
  packing.carton_kg_m2 =
      in.number_or("carton_kg_m2", packing.carton_kg_m2, {.at_least = 0, .at_most = 20});
  packing.carton_pieces = int(in.whole_or("carton_pieces", packing.carton_pieces, 1, 100));
  packing.carton_kg = in.number_or("carton_kg", packing.carton_kg, {.above = 0, .at_most = 200});
  in.finish();
}

/// Wheel arches: all of their four sizes, or none.
void read_arches(Reader& in, const LengthReader& lengths, shop::Van& van) {
  const bool any = in.has("between_arches") || in.has("arches_from") || in.has("arches_length") ||
                   in.has("arches_height");
  if (!any) return;
  const char* const all = "give all four of the arches' sizes, or none";
  van.between_arches = lengths.required(in, "between_arches", 100_mm, far, all);
  van.arches_from = lengths.required(in, "arches_from", zero, far, all);
  van.arches_length = lengths.required(in, "arches_length", 50_mm, far, all);
  van.arches_height = lengths.required(in, "arches_height", 50_mm, far, all);
  if (van.between_arches > van.width)
    in.complain("between_arches", "is wider than the van", print_mm(van.between_arches),
                "measure between the wheel arches");
}

void read_van(Reader& in, const LengthReader& lengths, shop::Shop& shop) {
  shop::Van van;
  van.name = in.text_or("name", "the van", 80);
  van.length = lengths.required(in, "length", 300_mm, 20000_mm, "bulkhead to doors");
  van.width = lengths.required(in, "width", 300_mm, 5000_mm, "between the walls");
  van.height = lengths.required(in, "height", 300_mm, 5000_mm, "floor to roof");
  van.payload_kg = in.number("payload_kg", {.above = 0, .at_most = 40000},
                             "what the van may carry, its crew and tools taken off");
  read_arches(in, lengths, van);
  van.rear_axle = lengths.optional(in, "rear_axle", zero, zero, 20000_mm);
  van.wheelbase = lengths.optional(in, "wheelbase", zero, zero, 20000_mm);
  van.rear_axle_kg = in.number_or("rear_axle_kg", 0, {.at_least = 0, .at_most = 40000});
  if (van.rear_axle_kg > 0 && (van.rear_axle == zero || van.wheelbase == zero))
    in.complain("rear_axle_kg", "needs rear_axle and wheelbase", {},
                "give both: where the rear axle lies, and from axle to axle");
  in.finish();
  shop.van = van;
}

void read_carriage(Reader& in, const LengthReader& lengths, shop::Shop& shop) {
  shop::Carriage& carriage = shop.carriage;
  carriage.volumetric_kg_m3 =
      in.number_or("volumetric_kg_m3", carriage.volumetric_kg_m3, {.at_least = 0, .at_most = 2000});
  carriage.step_kg = in.number_or("step_kg", carriage.step_kg, {.above = 0, .at_most = 100});
  in.each(
      "rates", 1, 200,
      [&](Reader& entry) {
        shop::Rate rate;
        rate.name = entry.text("name", "as the carrier calls it", 80);
        rate.zone = entry.text_or("zone", "", 40);
        rate.most_kg = entry.number("most_kg", {.above = 0, .at_most = 5000}, "charged weight");
        rate.most_length = lengths.required(entry, "most_length", 100_mm, far, "longest side");
        rate.most_girth = lengths.required(entry, "most_girth", 100_mm, far,
                                           "longest side and the way round the other two");
        rate.price = money_in(entry, "price", shop.currency, true);
        rate.per_kg = money_in(entry, "per_kg", shop.currency, false);
        entry.finish();
        carriage.rates.push_back(rate);
      },
      "what carriers ask: [[carriage.rates]]");
  in.finish();
}

void read_labels(Reader& in, const LengthReader& lengths, shop::LabelSheet& labels) {
  labels.across = int(in.whole_or("across", labels.across, 1, 20));
  labels.down = int(in.whole_or("down", labels.down, 1, 40));
  labels.width = lengths.optional(in, "width", labels.width, 40_mm, 300_mm);
  labels.height = lengths.optional(in, "height", labels.height, 30_mm, 300_mm);
  labels.left = lengths.optional(in, "left", labels.left, zero, 100_mm);
  labels.top = lengths.optional(in, "top", labels.top, zero, 100_mm);
  labels.step_across = lengths.optional(in, "step_across", labels.width, tenth_mm, 300_mm);
  labels.step_down = lengths.optional(in, "step_down", labels.height, tenth_mm, 300_mm);
  if (labels.step_across < labels.width)
    in.complain("step_across", "makes labels overlap", print_mm(labels.step_across),
                "at least the width");
  if (labels.step_down < labels.height)
    in.complain("step_down", "makes labels overlap", print_mm(labels.step_down),
                "at least the height");
  in.finish();
}

}  // namespace

void read_dispatch(Reader& in, const LengthReader& lengths, shop::Shop& shop) {
  in.child("packing", [&](Reader& table) { read_packing(table, lengths, shop.packing); });
  in.child("van", [&](Reader& table) { read_van(table, lengths, shop); });
  in.child("carriage", [&](Reader& table) { read_carriage(table, lengths, shop); });
  in.child("labels", [&](Reader& table) { read_labels(table, lengths, shop.labels); });
}

// ---- orders ---------------------------------------------------------------------------------

namespace {

constexpr int most_ordered = 500;

/// The product as this line of the order wants it; the product itself where it changes nothing.
design::ProductSpec wanted_product(Reader& in, const Job& job, const design::ProductSpec& base,
                                   const std::string& label) {
  const LengthReader lengths = lengths_of(job);
  design::ProductSpec spec = base;
  if (const auto width = lengths.maybe(in, "width", 100_mm, 3000_mm)) spec.width = width;
  if (const auto height = lengths.maybe(in, "height", 100_mm, 3000_mm)) spec.height = height;
  spec.cloth = in.text_or("cloth", spec.cloth);
  if (spec.width != base.width || spec.height != base.height || spec.cloth != base.cloth) {
    spec.key = base.key + " " + label;
    spec.name = base.name + " " + label;
  }
  return spec;
}

/// A line that cannot be made is told at its own keys.
void check_line(Reader& in, const Job& job, const design::ProductSpec& spec) {
  const auto made = design::make_product(spec, job.shop, "");
  if (made) return;
  for (const Complaint& fault : made.mistakes().items())
    in.complain(fault.where.rfind('.', 0) == 0 ? fault.where.substr(1) : fault.where, fault.what,
                fault.got, fault.remedy);
}

void add_line(Job& job, const design::ProductSpec& spec, const OrderItem& item) {
  if (!job.product(spec.key)) job.products.push_back(spec);
  job.order->items.push_back(item);
  for (int i = 1; i <= item.count; ++i) {
    Piece piece;
    piece.label = item.label + std::to_string(i);
    piece.product = spec.key;
    job.pieces.push_back(piece);
  }
}

void read_line(Reader& in, Job& job, const std::vector<bool>& readable, bool with_shop,
               std::set<std::string>& labels) {
  OrderItem item;
  item.label = in.text("label", "a letter, such as A", 20);
  if (!item.label.empty() && item.label.back() >= '0' && item.label.back() <= '9')
    in.complain("label", "ends in a digit", "\"" + item.label + "\"",
                "a letter: pieces get the numbers");
  else if (!item.label.empty() && !labels.insert(item.label).second)
    in.complain("label", "stands twice", "\"" + item.label + "\"", "give each its own label");
  const std::string key = in.text("product", "the key of a product", 40);
  item.count = int(in.whole("count", 1, most_ordered, "how many"));
  const design::ProductSpec* base = job.product(key);
  if (!base) {
    for (const char* own : {"width", "height", "cloth"}) in.raw(own);
    std::vector<std::string> known;
    for (const auto& one : job.products) known.push_back(one.key);
    const auto near = nearest(key, known);
    if (!key.empty())
      in.complain("product", "is not one of the products", "\"" + key + "\"",
                  near ? "did you mean " + *near + "?" : "add it under [[products]]");
    in.finish();
    return;
  }
  const std::size_t before = in.found().size();
  const bool own = base - job.products.data() >= std::ptrdiff_t(readable.size()) ||
                   readable[std::size_t(base - job.products.data())];
  const design::ProductSpec spec = wanted_product(in, job, *base, item.label);
  in.finish();
  if (!own || in.found().size() != before) return;
  if (with_shop && spec.key != base->key) check_line(in, job, spec);
  item.product = spec.key;
  if (job.pieces.size() + std::size_t(item.count) > most_list)
    in.complain("count", "makes more than 500 pieces", double(item.count), "send two orders");
  else
    add_line(job, spec, item);
}

void check_zone(Reader& in, const Job& job) {
  if (job.order->zone.empty() || job.order->collected) return;
  std::vector<std::string> known;
  for (const shop::Rate& rate : job.shop.carriage.rates)
    if (rate.zone == job.order->zone) return;
  for (const shop::Rate& rate : job.shop.carriage.rates)
    if (!rate.zone.empty()) known.push_back(rate.zone);
  const auto near = nearest(job.order->zone, known);
  in.complain("zone", "is in none of the shop's rates", "\"" + job.order->zone + "\"",
              near ? "did you mean " + *near + "?" : "add a rate with this zone, or leave it out");
}

}  // namespace

void read_order(Reader& in, Job& job, const std::vector<bool>& readable, bool with_shop) {
  in.required_child(
      "order",
      [&](Reader& order) {
        job.order.emplace();
        job.order->collected = order.truth_or("collected", false);
        job.order->zone = order.text_or("zone", "", 40);
        if (with_shop) check_zone(order, job);
        std::set<std::string> labels;
        order.each(
            "items", 1, int(most_list),
            [&](Reader& line) { read_line(line, job, readable, with_shop, labels); },
            "what is wanted: [[order.items]] with label, product, count");
        order.finish();
      },
      "its items");
}

}  // namespace roomwright::job
