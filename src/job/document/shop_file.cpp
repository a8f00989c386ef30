// The shop file: what can be bought, the rules of building, times and terms.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "job/document/parts.h"
#include "shop/calendar/calendar.h"

namespace roomwright::job {

namespace {

const Length none = Length();

Decimal decimal(Reader& in, const char* key, Decimal fallback, double at_least, double at_most) {
  const Json* raw = in.raw(key);
  if (!raw) return fallback;
  if (!raw->is_number() && !raw->is_string()) {
    in.complain(key, "must be a number", shown(*raw));
    return fallback;
  }
  const auto read = raw->is_string() ? read_decimal(raw->get_ref<const std::string&>())
                                     : read_decimal(raw->get<double>());
  if (!read) {
    const Complaint& fault = read.mistakes().items()[0];
    in.complain(key, fault.what, shown(*raw), fault.remedy);
    return fallback;
  }
  const Range range{.at_least = at_least, .at_most = at_most};
  if (!range.holds(read->value())) {
    in.complain(key, range.sentence(), read->value());
    return fallback;
  }
  return *read;
}

}  // namespace

Money money_in(Reader& in, const char* key, const Currency& currency, bool required) {
  if (required ? !in.required(key, "give the price") : !in.raw(key)) return {};
  const auto money = money_of(decimal(in, key, {}, 0, 1e9), currency);
  if (money) return *money;
  const Complaint& fault = money.mistakes().items()[0];
  in.complain(key, fault.what, fault.got, fault.remedy);
  return {};
}

namespace {

/// Reads the shop's own words with its unit and currency.
struct ShopReader {
  LengthReader lengths;
  shop::Shop& shop;

  Money money(Reader& in, const char* key) { return money_in(in, key, shop.currency, true); }

  void timber(const std::string& key, Reader& in) {
    shop::Timber entry;
    entry.name = in.text("name", "what the yard calls it");
    entry.width = lengths.required(in, "width", 5_mm, 300_mm, "the section's face");
    entry.depth = lengths.required(in, "depth", 5_mm, 500_mm, "front to back");
    entry.density_kg_m3 = in.number_or("density_kg_m3", 450, {.at_least = 200, .at_most = 1200});
    entry.specific_gravity =
        in.number_or("specific_gravity", 0.40, {.at_least = 0.25, .at_most = 0.9});
    in.each(
        "sticks", 1, 50,
        [&](Reader& stick) {
          shop::StickStock stock;
          stock.length = lengths.required(stick, "length", 300_mm, 13000_mm, "the nominal length");
          stock.shortest = lengths.optional(stick, "shortest", stock.length, 300_mm, 13000_mm);
          if (stock.shortest > stock.length)
            stick.complain("shortest", "is longer than the nominal length", {},
                           "give the shortest that comes");
          stock.price = money(stick, "price");
          stock.in_hand = int(stick.whole_or("in_hand", 0, 0, 100000));
          if (stick.has("sold")) stock.sold = int(stick.whole_or("sold", 0, 0, 100000));
          stick.finish();
          entry.sticks.push_back(stock);
        },
        "list the lengths that are sold");
    entry.lead_days = int(in.whole_or("lead_days", 0, 0, 365));
    in.finish();
    shop.timber[key] = entry;
  }

  void cloth(const std::string& key, Reader& in) {
    shop::Cloth entry;
    entry.name = in.text("name", "what it is");
    entry.roll_width = lengths.required(in, "roll_width", 200_mm, 6000_mm, "between the selvedges");
    entry.sold_by = lengths.optional(in, "sold_by", 100_mm, 1_mm, 50000_mm);
    entry.price_per_m = money(in, "price_per_m");
    entry.in_hand = lengths.optional(in, "in_hand", none, none, Length::from_m(1000));
    entry.mass_kg_m2 = in.number_or("mass_kg_m2", 0.25, {.at_least = 0.01, .at_most = 5});
    entry.flow_resistance_pa_s_m =
        in.number_or("flow_resistance_pa_s_m", 50, {.at_least = 0, .at_most = 10000});
    entry.pile_one_way = in.truth_or("pile_one_way", true);
    entry.face = in.truth_or("face", true);
    entry.fire_note = in.text_or("fire_note", "");
    entry.lead_days = int(in.whole_or("lead_days", 0, 0, 365));
    in.finish();
    shop.cloths[key] = entry;
  }

  void board(const std::string& key, Reader& in) {
    shop::Board entry;
    entry.name = in.text("name", "what it is");
    entry.width = lengths.required(in, "width", 100_mm, 3000_mm, "of one board");
    entry.height = lengths.required(in, "height", 100_mm, 5000_mm, "of one board");
    entry.thickness = lengths.required(in, "thickness", 5_mm, 400_mm, "of one board");
    entry.density_kg_m3 =
        in.number("density_kg_m3", {.at_least = 5, .at_most = 400}, "on its label");
    entry.flow_resistivity_pa_s_m2 =
        in.optional_number("flow_resistivity_pa_s_m2", {.at_least = 100, .at_most = 1e6});
    entry.fibre_um = in.optional_number("fibre_um", {.at_least = 1, .at_most = 200});
    entry.binder_percent = in.number_or("binder_percent", 0, {.at_least = 0, .at_most = 30});
    entry.material = in.text("material", "a porous board of the library, such as stone_wool_60");
    if (!entry.material.empty() && !acoustics::find_porous_board(entry.material)) {
      std::vector<std::string> known;
      for (const auto& one : acoustics::porous_boards()) known.push_back(one.key);
      const auto near = nearest(entry.material, known);
      in.complain("material", "is not in the library of porous boards",
                  "\"" + entry.material + "\"",
                  near ? "did you mean " + *near + "?" : "such as stone_wool_60 or glass_wool_48");
    }
    entry.per_pack = int(in.whole_or("per_pack", 1, 1, 1000));
    entry.price_per_pack = money(in, "price_per_pack");
    entry.in_hand = int(in.whole_or("in_hand", 0, 0, 100000));
    entry.fire_note = in.text_or("fire_note", "");
    entry.lead_days = int(in.whole_or("lead_days", 0, 0, 365));
    in.finish();
    shop.boards[key] = entry;
  }

  void sheet(const std::string& key, Reader& in) {
    shop::Sheet entry;
    entry.name = in.text("name", "what it is");
    entry.width = lengths.required(in, "width", 100_mm, 5000_mm, "of one sheet");
    entry.height = lengths.required(in, "height", 100_mm, 5000_mm, "of one sheet");
    entry.thickness = lengths.required(in, "thickness", 1_mm, 100_mm, "of one sheet");
    entry.density_kg_m3 = in.number_or("density_kg_m3", 680, {.at_least = 100, .at_most = 2000});
    entry.price = money(in, "price");
    entry.in_hand = int(in.whole_or("in_hand", 0, 0, 100000));
    entry.lead_days = int(in.whole_or("lead_days", 0, 0, 365));
    in.finish();
    shop.sheets[key] = entry;
  }

  void hardware(const std::string& key, Reader& in) {
    shop::Hardware entry;
    entry.name = in.text("name", "what it is");
    static const std::vector<std::string> units = {"each", "m", "ml"};
    entry.unit = units[in.one_of_or("unit", 0, units).value_or(0)];
    entry.per_pack = in.number_or("per_pack", 1, {.above = 0, .at_most = 1e6});
    entry.price_per_pack = money(in, "price_per_pack");
    entry.in_hand = in.number_or("in_hand", 0, {.at_least = 0, .at_most = 1e7});
    entry.diameter = lengths.maybe(in, "diameter", Length::from_mm(0.5), 30_mm);
    entry.length = lengths.maybe(in, "length", 2_mm, 500_mm);
    entry.mass_kg = in.number_or("mass_kg", 0, {.at_least = 0, .at_most = 50});
    entry.lead_days = int(in.whole_or("lead_days", 0, 0, 365));
    in.finish();
    shop.hardware[key] = entry;
  }

  /// The rules' lengths, by the names that the file uses.
  void rule_lengths(Reader& in) {
    shop::Rules& r = shop.rules;
    struct Rule {
      const char* key;
      Length* value;
      Length least, most;  ///< what divides something may not be 0
    };
    const Length tenth = Length::from_mm(0.1);
    const Rule all[] = {{"kerf", &r.kerf, none, 20_mm},
                        {"end_trim", &r.end_trim, none, 500_mm},
                        {"least_offcut", &r.least_offcut, none, 10000_mm},
                        {"clearance_across", &r.clearance_across, none, 100_mm},
                        {"clearance_along", &r.clearance_along, none, 100_mm},
                        {"stretcher_span", &r.stretcher_span, 100_mm, 10000_mm},
                        {"grid", &r.grid, tenth, 100_mm},
                        {"screw_from_face", &r.screw_from_face, none, 300_mm},
                        {"screw_from_back", &r.screw_from_back, none, 300_mm},
                        {"screw_clearance", &r.screw_clearance, none, 100_mm},
                        {"chamfer_per_pass", &r.chamfer_per_pass, tenth, 200_mm},
                        {"router_bit", &r.router_bit, none, 200_mm},
                        {"round_per_pass", &r.round_per_pass, tenth, 200_mm},
                        {"round_bit", &r.round_bit, none, 200_mm},
                        {"wrap", &r.wrap, none, 500_mm},
                        {"fold", &r.fold, none, 500_mm},
                        {"roll_end", &r.roll_end, none, 5000_mm},
                        {"staple_pitch", &r.staple_pitch, 1_mm, 1000_mm},
                        {"staple_margin", &r.staple_margin, none, 50_mm},
                        {"cleat_play", &r.cleat_play, none, 100_mm},
                        {"clip_lift", &r.clip_lift, none, 200_mm},
                        {"plug_clearance", &r.plug_clearance, 1_mm, 50_mm},
                        {"back_cloth_inset", &r.back_cloth_inset, none, 300_mm},
                        {"two_person_length", &r.two_person_length, none, 20000_mm},
                        {"keep_clear", &r.keep_clear, none, 5000_mm},
                        {"square_within", &r.square_within, tenth, 50_mm},
                        {"flat_within", &r.flat_within, tenth, 50_mm}};
    for (const Rule& rule : all)
      *rule.value = lengths.optional(in, rule.key, *rule.value, rule.least, rule.most);
  }

  void hardware_rule(Reader& in, const char* key, std::string& value) {
    value = in.text_or(key, value);
    if (value.empty() || shop.hardware.count(value)) return;
    std::vector<std::string> known;
    for (const auto& [name, entry] : shop.hardware) known.push_back(name);
    const auto near = nearest(value, known);
    in.complain(key, "is not in the hardware of this file", "\"" + value + "\"",
                near ? "did you mean " + *near + "?" : "add it under [hardware]");
  }

  void rules(Reader& in) {
    shop::Rules& r = shop.rules;
    rule_lengths(in);
    static const std::vector<std::string> through = {"short", "long"};
    r.through = static_cast<shop::Through>(
        in.one_of_or("through", static_cast<std::size_t>(r.through), through).value_or(0));
    r.mark_both_faces = in.truth_or("mark_both_faces", r.mark_both_faces);
    r.screws_per_corner = int(in.whole_or("screws_per_corner", r.screws_per_corner, 1, 6));
    r.glue_ml_per_corner =
        in.number_or("glue_ml_per_corner", r.glue_ml_per_corner, {.at_least = 0, .at_most = 100});
    r.hangers_per_panel = int(in.whole_or("hangers_per_panel", r.hangers_per_panel, 1, 20));
    r.hangers_per_cloud = int(in.whole_or("hangers_per_cloud", r.hangers_per_cloud, 3, 20));
    r.clips_per_panel = int(in.whole_or("clips_per_panel", r.clips_per_panel, 2, 20));
    r.grips_per_plug = int(in.whole_or("grips_per_plug", r.grips_per_plug, 1, 6));
    r.end_distance_diameters = in.number_or("end_distance_diameters", r.end_distance_diameters,
                                            {.at_least = 0, .at_most = 20});
    r.edge_distance_diameters = in.number_or("edge_distance_diameters", r.edge_distance_diameters,
                                             {.at_least = 0, .at_most = 20});
    r.cleat_angle_deg =
        in.number_or("cleat_angle_deg", r.cleat_angle_deg, {.at_least = 15, .at_most = 60});
    r.tip_force_n = in.number_or("tip_force_n", r.tip_force_n, {.at_least = 0, .at_most = 1000});
    r.hanging_factor =
        in.number_or("hanging_factor", r.hanging_factor, {.at_least = 1, .at_most = 20});
    r.two_person_kg = in.number_or("two_person_kg", r.two_person_kg, {.above = 0, .at_most = 200});
    r.weight_within_percent = in.number_or("weight_within_percent", r.weight_within_percent,
                                           {.at_least = 1, .at_most = 50});
    hardware_rule(in, "corner_screw", r.corner_screw);
    hardware_rule(in, "glue", r.glue);
    hardware_rule(in, "staple", r.staple);
    hardware_rule(in, "panel_hanger", r.panel_hanger);
    hardware_rule(in, "cloud_hanger", r.cloud_hanger);
    hardware_rule(in, "safety_wire", r.safety_wire);
    hardware_rule(in, "wall_screw", r.wall_screw);
    hardware_rule(in, "lap_screw", r.lap_screw);
    hardware_rule(in, "panel_clip", r.panel_clip);
    hardware_rule(in, "plug_seal", r.plug_seal);
    hardware_rule(in, "plug_grip", r.plug_grip);
    r.cleat_timber = in.text_or("cleat_timber", r.cleat_timber);
    if (!r.cleat_timber.empty() && !shop.timber.count(r.cleat_timber))
      in.complain("cleat_timber", "is not in the timber of this file", "\"" + r.cleat_timber + "\"",
                  "add it under [timber]");
    if (r.corner_screw.empty())
      in.complain("corner_screw", "is missing", {}, "name a screw of [hardware]");
    if (r.staple.empty()) in.complain("staple", "is missing", {}, "name a staple of [hardware]");
    in.finish();
  }

  static void minutes(Reader& in, const char* key, std::map<std::string, double>& times) {
    in.child(key, [&](Reader& table) {
      for (auto& [name, value] : times)
        value = table.number_or(name, value, {.at_least = 0, .at_most = 600});
      table.finish();
    });
  }

  void line(Reader& in) {
    shop.line.people = int(in.whole_or("people", 1, 1, 8));
    in.child("machines", [&](Reader& table) {
      for (auto& [name, count] : shop.line.machines) count = int(table.whole_or(name, count, 1, 8));
      table.finish();
    });
    minutes(in, "wait", shop.line.wait_min);
    in.finish();
  }

  /// A time of day as minutes after midnight.
  static int clock(Reader& in, const char* key, int fallback) {
    const std::string text = in.text_or(key, roomwright::shop::print_clock(fallback), 5);
    const auto digit = [&](std::size_t i) { return text[i] >= '0' && text[i] <= '9'; };
    if (text.size() == 5 && text[2] == ':' && digit(0) && digit(1) && digit(3) && digit(4)) {
      const int hour = (text[0] - '0') * 10 + (text[1] - '0');
      const int minute = (text[3] - '0') * 10 + (text[4] - '0');
      if (hour < 24 && minute < 60) return hour * 60 + minute;
    }
    in.complain(key, "is not a time of day", "\"" + text + "\"",
                "hours and minutes, such as 08:00");
    return fallback;
  }

  /// The texts of a list; complains where it is no list of texts.
  static std::optional<std::vector<std::string>> texts(Reader& in, const char* key,
                                                       const char* remedy) {
    const Json* raw = in.raw(key);
    if (!raw) return std::nullopt;
    std::vector<std::string> out;
    bool fine = raw->is_array() && raw->size() <= most_list;
    if (fine)
      for (const Json& one : *raw) {
        fine = fine && one.is_string();
        if (one.is_string()) out.push_back(one.get<std::string>());
      }
    if (fine) return out;
    in.complain(key, "must be a list of texts", shown(*raw), remedy);
    return std::nullopt;
  }

  void days(Reader& in) {
    static const std::vector<std::string> names = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
    const auto listed = texts(in, "days", "such as [\"mon\", \"tue\"]");
    if (!listed) return;
    shop.hours.works.fill(false);
    for (const std::string& text : *listed) {
      const auto at = std::find(names.begin(), names.end(), text);
      if (at == names.end())
        in.complain("days", "has no such day", "\"" + text + "\"",
                    "mon, tue, wed, thu, fri, sat or sun");
      else
        shop.hours.works[std::size_t(at - names.begin())] = true;
    }
  }

  void hours(Reader& in) {
    const std::size_t before = in.found().size();
    roomwright::shop::Hours& h = shop.hours;
    h.per_day_min = int(std::lround(
        60 * in.number_or("per_day", h.per_day_min / 60.0, {.at_least = 0.5, .at_most = 20})));
    h.begins = clock(in, "begins", h.begins);
    const int middle = h.begins + (h.per_day_min / 2 + 14) / 15 * 15;
    h.pause_at = clock(in, "pause_at", std::min(middle, 23 * 60));
    h.pause_min = int(in.whole_or("pause_min", h.pause_min, 0, 240));
    days(in);
    if (const auto listed = texts(in, "holidays", "such as [\"2026-12-25\"]")) {
      for (const std::string& text : *listed)
        if (!roomwright::shop::read_day(text))
          in.complain("holidays", "has what is not a date", "\"" + text + "\"",
                      "year-month-day, such as 2026-12-25");
      h.holidays = *listed;
    }
    in.finish();
    if (in.found().size() > before) return;
    if (const auto fits = roomwright::shop::check_week(roomwright::shop::week_of(h)); !fits)
      for (const Complaint& fault : fits.mistakes().items())
        in.complain(fault.where, fault.what, fault.got, fault.remedy);
  }

  void terms(Reader& in) {
    shop::Terms& t = shop.terms;
    t.labour_per_hour = decimal(in, "labour_per_hour", {}, 0, 10000);
    t.site_per_hour = decimal(in, "site_per_hour", t.labour_per_hour, 0, 10000);
    t.overhead_percent = decimal(in, "overhead_percent", {}, 0, 400);
    t.margin_percent = decimal(in, "margin_percent", {}, 0, 90);
    t.tax_percent = decimal(in, "tax_percent", {}, 0, 60);
    t.tax_name = in.text_or("tax_name", "tax", 40);
    t.deposit_percent = decimal(in, "deposit_percent", {}, 0, 100);
    t.valid_days = int(in.whole_or("valid_days", 30, 1, 365));
    t.due_days = int(in.whole_or("due_days", 14, 0, 365));
    t.travel_per_km = decimal(in, "travel_per_km", {}, 0, 1000);
    t.consumables_per_piece = decimal(in, "consumables_per_piece", {}, 0, 10000);
    t.waste_removal = decimal(in, "waste_removal", {}, 0, 100000);
    t.site_minutes_per_piece =
        in.number_or("site_minutes_per_piece", 20, {.at_least = 0, .at_most = 600});
    t.site_minutes_set_up =
        in.number_or("site_minutes_set_up", 60, {.at_least = 0, .at_most = 2000});
    in.finish();
  }
};

}  // namespace

void read_shop(Reader& in, shop::Shop& shop) {
  in.raw("schema");  // its version was looked at before
  shop.name = in.text("name", "as it stands on the quote");
  const auto unit = in.one_of("units", length_unit_names());
  const auto currency = in.one_of("currency", currency_codes());
  if (currency) shop.currency = *find_currency(currency_codes()[*currency]);
  const auto named = static_cast<LengthUnit>(unit.value_or(2));
  const bool metric = named != LengthUnit::ft && named != LengthUnit::in;
  shop.units.metric = metric;
  shop.rules = shop::default_rules(metric);
  shop.times = shop::default_times();
  shop.packing = shop::default_packing(metric);
  shop.labels = shop::default_labels(metric);
  ShopReader reader{{named}, shop};
  in.each_named("timber",
                [&](const std::string& key, Reader& entry) { reader.timber(key, entry); });
  in.each_named("cloth", [&](const std::string& key, Reader& entry) { reader.cloth(key, entry); });
  in.each_named("boards", [&](const std::string& key, Reader& entry) { reader.board(key, entry); });
  in.each_named("sheets", [&](const std::string& key, Reader& entry) { reader.sheet(key, entry); });
  in.each_named("hardware",
                [&](const std::string& key, Reader& entry) { reader.hardware(key, entry); });
  in.required_child(
      "rules", [&](Reader& rules) { reader.rules(rules); }, "at least corner_screw and staple");
  in.child("times", [&](Reader& times) {
    ShopReader::minutes(times, "set_up", shop.times.set_up_min);
    ShopReader::minutes(times, "each", shop.times.each_min);
    times.finish();
  });
  shop.line = roomwright::shop::default_line();
  in.child("line", [&](Reader& line) { reader.line(line); });
  in.child("hours", [&](Reader& hours) { reader.hours(hours); });
  in.required_child(
      "terms", [&](Reader& terms) { reader.terms(terms); }, "labour, margin, tax");
  read_dispatch(in, reader.lengths, shop);
  in.finish();
}

}  // namespace roomwright::job
