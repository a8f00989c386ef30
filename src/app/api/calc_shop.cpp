// calc cutting and layout: exact decimals in any one unit become whole numbers, and come back.
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/api/calc.h"
#include "app/api/calc_parts.h"
#include "core/quantity/quantity.h"
#include "shop/cutting/cutting.h"
#include "shop/layout/layout.h"

namespace roomwright::app {

namespace {

/// Numbers of one kind (lengths, or costs), read as decimals and scaled by one power of ten.
class Scale {
 public:
  /// A number's place in the list, to be asked for once all are read.
  std::size_t add(Reader& in, const char* key, double value) {
    const auto decimal = read_decimal(value);
    if (!decimal) {
      if (std::isfinite(value))
        in.complain(key, decimal.mistakes().items()[0].what, value, "use fewer digits");
      decimals_.push_back({});
    } else {
      decimals_.push_back(*decimal);
      places_ = std::max(places_, decimal->scale);
    }
    return decimals_.size() - 1;
  }
  bool fits() const {
    for (const Decimal& decimal : decimals_)
      if (std::abs(decimal.value()) * std::pow(10.0, places_) > 9e11) return false;
    return true;
  }
  std::int64_t whole(std::size_t i) const { return whole(i, places_); }
  /// In steps of that many places, at least those of the numbers themselves.
  std::int64_t whole(std::size_t i, int places) const {
    std::int64_t value = decimals_[i].mantissa;
    for (int p = decimals_[i].scale; p < places; ++p) value *= 10;
    return value;
  }
  int places() const { return places_; }
  void refine(int places) { places_ = std::max(places_, places); }
  double back(std::int64_t value) const { return Decimal{value, places_}.value(); }

 private:
  std::vector<Decimal> decimals_;
  int places_ = 0;
};

std::size_t read_scaled(Reader& in, const char* key, Scale& scale, const Range& range,
                        double fallback, bool required, const char* remedy = "") {
  const double value =
      required ? in.number(key, range, remedy) : in.number_or(key, fallback, range, remedy);
  return scale.add(in, key, std::isfinite(value) ? value : 0);
}

struct StockEntry {
  shop::CuttingStock stock;
  std::size_t length = 0, cost = 0;
  std::vector<std::array<std::size_t, 2>> defects;
};

const Range positive{.above = 0, .at_most = 1e9};
const Range at_least_zero{.at_least = 0, .at_most = 1e9};

StockEntry stock_entry(Reader& in, Scale& lengths, Scale& costs) {
  StockEntry out;
  out.stock.name = in.text_or("name", "");
  out.length = read_scaled(in, "length", lengths, positive, 0, true, "the stick's length");
  out.cost = read_scaled(in, "cost", costs, at_least_zero, 1, false);
  if (in.has("count")) out.stock.count = in.whole("count", 0, shop::most_cutting_parts);
  const Json* raw = in.raw("defects");
  if (raw && (!raw->is_array() || raw->size() > 100))
    in.complain("defects", "must be a list of at most 100 [from, to]", shown(*raw));
  if (raw && raw->is_array())
    for (std::size_t i = 0; i < raw->size() && i < 100; ++i) {
      const Json& pair = (*raw)[i];
      if (!pair.is_array() || pair.size() != 2 || !pair[0].is_number() || !pair[1].is_number()) {
        in.complain("defects[" + std::to_string(i) + "]", "must be [from, to]", shown(pair));
        continue;
      }
      out.defects.push_back({lengths.add(in, "defects", pair[0].get<double>()),
                             lengths.add(in, "defects", pair[1].get<double>())});
    }
  in.finish();
  return out;
}

Json cutting_json(const shop::CuttingOrder& order, const shop::CuttingPlan& plan,
                  const Scale& lengths, const Scale& costs) {
  Json sticks = Json::array();
  for (const auto& stick : plan.sticks) {
    Json cuts = Json::array();
    for (const auto& cut : stick.cuts)
      cuts.push_back({{"part", order.parts[static_cast<std::size_t>(cut.part)].name},
                      {"from", lengths.back(cut.from)},
                      {"to", lengths.back(cut.to)}});
    sticks.push_back({{"stock", order.stock[static_cast<std::size_t>(stick.stock)].name},
                      {"cuts", cuts},
                      {"offcut", lengths.back(stick.offcut)},
                      {"repeat", stick.repeat},
                      {"pattern", stick.pattern}});
    if (order.keep.worth > 0) sticks.back()["offcut_worth"] = costs.back(stick.offcut_worth);
  }
  return {{"cost", costs.back(plan.cost)}, {"bound", costs.back(plan.bound)},
          {"proven", plan.proven},         {"sticks", sticks},
          {"settings", plan.settings},     {"settings_bound", plan.settings_bound},
          {"patterns", plan.patterns},     {"patterns_bound", plan.patterns_bound},
          {"loads", plan.loads},           {"method", plan.method}};
}

void name_by_number(std::string& name, const char* kind, std::size_t i) {
  if (name.empty()) name = std::string(kind) + std::to_string(i);
}

}  // namespace

Result<Json> calc_cutting(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  Scale lengths, costs;
  std::vector<StockEntry> stock;
  std::vector<std::pair<shop::CuttingPart, std::size_t>> parts;
  in.each(
      "stock", 1, shop::most_stock_entries,
      [&](Reader& entry) { stock.push_back(stock_entry(entry, lengths, costs)); },
      "what there is to cut from");
  in.each(
      "parts", 1, 10000,
      [&](Reader& entry) {
        shop::CuttingPart part;
        part.name = entry.text_or("name", "");
        const std::size_t length =
            read_scaled(entry, "length", lengths, positive, 0, true, "the part's length");
        part.count = entry.whole_or("count", 1, 0, shop::most_cutting_parts);
        entry.finish();
        parts.emplace_back(part, length);
      },
      "what to cut");
  const std::size_t kerf = read_scaled(in, "kerf", lengths, at_least_zero, 0, false);
  const std::size_t trim = read_scaled(in, "trim", lengths, at_least_zero, 0, false);
  Scale worths;
  std::optional<std::size_t> least;
  in.child("keep", [&](Reader& entry) {
    least = read_scaled(entry, "least", lengths, at_least_zero, 0, true, "the shortest to keep");
    read_scaled(entry, "value_per_length", worths, at_least_zero, 0, true, "cost for each length");
    entry.finish();
  });
  shop::CuttingOptions options;
  const std::int64_t bundle = in.whole_or("bundle", 1, 1, 1000);
  options.setup_rounds = in.whole_or("setup_rounds", options.setup_rounds, 0, 10'000'000);
  options.max_nodes = in.whole_or("max_nodes", options.max_nodes, 1, 100'000'000);
  options.seconds = in.number_or("seconds", 0, {.at_least = 0, .at_most = 3600});
  in.finish();
  // What an offcut is worth for each step of length is a whole number of the steps of cost.
  if (least) costs.refine(worths.places() + lengths.places());
  if (found.empty() && (!lengths.fits() || !costs.fits()))
    in.complain("", "has numbers of too many digits beside each other", {},
                "use one unit with fewer decimals");
  if (!found.empty()) return found;
  shop::CuttingOrder order;
  order.kerf = lengths.whole(kerf);
  order.trim = lengths.whole(trim);
  order.bundle = bundle;
  if (least)
    order.keep = {lengths.whole(*least), worths.whole(0, costs.places() - lengths.places())};
  for (std::size_t i = 0; i < stock.size(); ++i) {
    StockEntry& entry = stock[i];
    name_by_number(entry.stock.name, "stock", i);
    entry.stock.length = lengths.whole(entry.length);
    entry.stock.cost = costs.whole(entry.cost);
    for (const auto& [from, to] : entry.defects)
      entry.stock.defects.emplace_back(lengths.whole(from), lengths.whole(to));
    order.stock.push_back(entry.stock);
  }
  for (std::size_t i = 0; i < parts.size(); ++i) {
    name_by_number(parts[i].first.name, "part", i);
    parts[i].first.length = lengths.whole(parts[i].second);
    order.parts.push_back(parts[i].first);
  }
  const auto plan = shop::solve_cutting(order, options);
  if (!plan) return plan.mistakes();
  return cutting_json(order, *plan, lengths, costs);
}

namespace {

struct LayoutEntry {
  std::string name;
  std::size_t width = 0, height = 0, cost = 0;
  std::int64_t count = 1, per_pack = 1;
  bool limited = false, rotate = false, triangle = false;
  std::optional<std::string> match;
};

LayoutEntry layout_entry(Reader& in, Scale& lengths, Scale& costs, bool part) {
  LayoutEntry out;
  out.name = in.text_or("name", "");
  out.width = read_scaled(in, "width", lengths, positive, 0, true);
  out.height = read_scaled(in, "height", lengths, positive, 0, true);
  out.cost = read_scaled(in, part ? "value" : "cost", costs, at_least_zero, part ? 0 : 1, false);
  out.limited = in.has("count");
  out.count = in.whole_or("count", 1, 0, shop::most_layout_parts);
  if (part) {
    out.rotate = in.truth_or("rotate", false);
    out.triangle = in.truth_or("triangle", false);
    // false: begins anywhere; a text: with all that bear it; not there: at a multiple.
    const Json* match = in.raw("match");
    if (match && match->is_boolean() && !match->get<bool>())
      out.match = "";
    else if (match)
      out.match = in.text("match", "a text, or false where the pattern does not matter");
  } else {
    out.per_pack = in.whole_or("per_pack", 1, 1, shop::most_layout_parts);
  }
  in.finish();
  return out;
}

/// Two triangles come out of one rectangle, which is larger by what the cut between them takes.
shop::LayoutPart layout_part(const LayoutEntry& entry, const Scale& lengths, const Scale& costs,
                             std::int64_t kerf) {
  shop::LayoutPart part{entry.name,
                        lengths.whole(entry.width),
                        lengths.whole(entry.height),
                        entry.count,
                        entry.rotate,
                        costs.whole(entry.cost),
                        entry.match};
  if (!entry.triangle) return part;
  const shop::TrianglePair pair = shop::triangle_pair(part.width, part.height, kerf);
  part.width = pair.width;
  part.height = pair.height;
  part.count = (entry.count + 1) / 2;
  part.value *= 2;
  return part;
}

Json layout_json(const shop::LayoutOrder& order, const shop::LayoutPlan& plan, const Scale& lengths,
                 const Scale& costs) {
  Json placed = Json::array(), cuts = Json::array(), sheets = Json::array();
  for (const auto& one : plan.placed)
    placed.push_back({{"part", order.parts[static_cast<std::size_t>(one.part)].name},
                      {"sheet", one.sheet},
                      {"x", lengths.back(one.x)},
                      {"y", lengths.back(one.y)},
                      {"width", lengths.back(one.width)},
                      {"height", lengths.back(one.height)}});
  for (const auto& cut : plan.cuts)
    cuts.push_back({{"sheet", cut.sheet},
                    {"axis", std::string(1, cut.axis)},
                    {"at", lengths.back(cut.at)},
                    {"from", lengths.back(cut.from)},
                    {"to", lengths.back(cut.to)}});
  for (const int sheet : plan.sheets_used)
    sheets.push_back(order.sheets[static_cast<std::size_t>(sheet)].name);
  const Scale& unit = order.roll ? lengths : costs;
  const double used = unit.back(plan.used), bound = unit.back(plan.bound);
  Json out{{"placed", placed},      {"cuts", cuts},
           {"sheets_used", sheets}, {"used", used},
           {"bound", bound},        {"gap", bound > 0 ? std::abs(used - bound) / bound : 0.0},
           {"proven", plan.proven}, {"hurried", plan.hurried},
           {"method", plan.method}};
  if (order.roll) return out;
  Json packs = Json::array();
  for (std::size_t s = 0; s < order.sheets.size(); ++s)
    packs.push_back({{"sheet", order.sheets[s].name},
                     {"packs", plan.packs[s]},
                     {"left_over", plan.left_over[s]}});
  out["packs"] = packs;
  return out;
}

}  // namespace

Result<Json> calc_layout(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  Scale lengths, costs;
  std::vector<LayoutEntry> sheets, parts;
  std::optional<std::size_t> roll, selvedge;
  in.each("sheets", 0, 100,
          [&](Reader& entry) { sheets.push_back(layout_entry(entry, lengths, costs, false)); });
  in.child("roll", [&](Reader& entry) {
    roll = read_scaled(entry, "width", lengths, positive, 0, true, "across the roll");
    selvedge = read_scaled(entry, "selvedge", lengths, at_least_zero, 0, false);
    entry.finish();
  });
  in.each(
      "parts", 1, shop::most_layout_sizes,
      [&](Reader& entry) { parts.push_back(layout_entry(entry, lengths, costs, true)); },
      "what to cut");
  const std::size_t kerf = read_scaled(in, "kerf", lengths, at_least_zero, 0, false);
  const std::size_t repeat = read_scaled(in, "repeat", lengths, at_least_zero, 0, false);
  shop::LayoutOrder order;
  order.aim = in.one_of_or("aim", 0, {"least", "value"}).value_or(0) == 1 ? shop::LayoutAim::value
                                                                          : shop::LayoutAim::least;
  if (!in.truth_or("guillotine", true))
    in.complain("guillotine", "is not built yet: cuts that do not go edge to edge", {},
                "leave it true");
  order.pile_one_way = in.has("pile") ? in.one_of("pile", {"one-way"}).has_value() : false;
  in.raw("pile");
  shop::LayoutOptions options;
  options.max_nodes = in.whole_or("max_nodes", 0, 0, 100'000'000'000);
  options.seconds = in.number_or("seconds", 0, {.at_least = 0, .at_most = 3600});
  in.finish();
  if (found.empty() && (!lengths.fits() || !costs.fits()))
    in.complain("", "has numbers of too many digits beside each other", {},
                "use one unit with fewer decimals");
  if (!found.empty()) return found;
  order.kerf = lengths.whole(kerf);
  order.repeat = lengths.whole(repeat);
  if (roll) order.roll = shop::LayoutRoll{lengths.whole(*roll), lengths.whole(*selvedge)};
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    name_by_number(sheets[i].name, "sheet", i);
    const auto& s = sheets[i];
    order.sheets.push_back(
        {s.name, lengths.whole(s.width), lengths.whole(s.height), costs.whole(s.cost),
         s.limited ? std::optional<std::int64_t>(s.count) : std::nullopt, s.per_pack});
  }
  for (std::size_t i = 0; i < parts.size(); ++i) {
    name_by_number(parts[i].name, "part", i);
    order.parts.push_back(layout_part(parts[i], lengths, costs, order.kerf));
  }
  const auto plan = shop::solve_layout(order, options);
  if (!plan) return plan.mistakes();
  return layout_json(order, *plan, lengths, costs);
}

}  // namespace roomwright::app
