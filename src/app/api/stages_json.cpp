// Each stage's result as JSON: the same names as the structs, units at the end of each key. Lengths
// are metres, money is a decimal text in the job's currency.
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/api/api.h"
#include "app/api/products_json.h"

namespace roomwright::app {

namespace {

Json length_json(Length length) {
  return length.metres();
}

Json optional_json(const std::optional<double>& value) {
  return value ? Json(*value) : Json();
}

/// Rounded to what means something, so that the last digits of a sum do not reach a paper.
double rounded(double value, int decimals) {
  const double scale = std::pow(10.0, decimals);
  const double out = std::round(value * scale) / scale;
  return out == 0 ? 0 : out;
}

Json octaves_json(const acoustics::OctaveSpectrum& spectrum, int decimals) {
  Json out = Json::object();
  for (std::size_t i = 0; i < spectrum.size(); ++i)
    out[fixed(acoustics::octave_bands()[i].nominal_hz, 0)] = rounded(spectrum[i], decimals);
  return out;
}

Json point_json(const Vec3& point) {
  return {rounded(point.x, 4), rounded(point.y, 4), rounded(point.z, 4)};
}

Json statements_json(const std::vector<job::Statement>& statements) {
  Json out = Json::array();
  for (const auto& one : statements)
    out.push_back({{"weight", one.weight},
                   {"topic", one.topic},
                   {"sentence", one.sentence},
                   {"cause", one.cause},
                   {"next", one.next}});
  return out;
}

Json marks_json(const std::vector<job::BassMark>& marks) {
  Json out = Json::array();
  for (const auto& mark : marks)
    out.push_back({{"loudspeaker", mark.loudspeaker},
                   {"seat", mark.seat},
                   {"kind", mark.peak ? "peak" : "dip"},
                   {"hz", mark.hz},
                   {"level_db", mark.level_db},
                   {"stands_db", rounded(mark.stands_db, 1)},
                   {"cause", mark.cause}});
  return out;
}

Json bites_json(const std::optional<job::BiteMap>& map) {
  if (!map) return nullptr;
  Json surfaces = Json::array();
  for (const auto& one : map->surfaces)
    surfaces.push_back({{"surface", one.surface},
                        {"across", one.across},
                        {"up", one.up},
                        {"mean_db", rounded(one.mean_db, 1)},
                        {"level_db", one.level_db}});
  return {{"hz", map->hz},
          {"loudspeaker", map->loudspeaker},
          {"corner_db", map->corner_db},
          {"surfaces", surfaces}};
}

Json doubt_json(const job::Doubt& doubt, int decimals) {
  Json shares = Json::array(), low = Json::array(), high = Json::array();
  for (const auto& one : doubt.shares)
    shares.push_back(
        {{"input", one.input}, {"share", rounded(one.share, 3)}, {"measurement", one.measurement}});
  for (const double value : doubt.low) low.push_back(rounded(value, decimals));
  for (const double value : doubt.high) high.push_back(rounded(value, decimals));
  return {{"samples", doubt.samples}, {"low", low}, {"high", high}, {"shares", shares}};
}

Json ringing_json(const job::Ringing& ringing) {
  Json modes = Json::array(), octaves = Json::array();
  for (const auto& mode : ringing.modes)
    modes.push_back({{"hz", rounded(mode.hz, 2)},
                     {"rigid_hz", rounded(mode.rigid_hz, 2)},
                     {"decay_s", mode.decay_s ? Json(rounded(*mode.decay_s, 3)) : Json()}});
  for (const auto& octave : ringing.octaves)
    octaves.push_back(
        {{"hz", octave.hz}, {"modes", octave.modes}, {"t20_s", rounded(octave.t20_s, 3)}});
  return {{"to_hz", ringing.to_hz}, {"modes", modes}, {"octaves", octaves}, {"note", ringing.note}};
}

Json bass_json(const job::BassField& bass) {
  Json levels = Json::array();
  for (const auto& one : bass.levels)
    levels.push_back({{"loudspeaker", one.loudspeaker},
                      {"seat", one.seat},
                      {"level_db", one.level_db},
                      {"around_low_db", one.around_low_db},
                      {"around_high_db", one.around_high_db}});
  return {{"hz", bass.hz},
          {"levels", levels},
          {"marks", marks_json(bass.marks)},
          {"bites", bites_json(bass.bites)},
          {"patches", bass.patches},
          {"bodies", bass.bodies},
          {"doubt", bass.doubt ? doubt_json(*bass.doubt, 2) : Json()},
          {"doubt_hz", bass.doubt_hz},
          {"note", bass.note}};
}

Json decay_json(const std::vector<job::DecayRow>& rows) {
  Json out = Json::array();
  const auto seconds = [](const std::optional<double>& value) {
    return value ? Json(rounded(*value, 4)) : Json();
  };
  for (const auto& row : rows)
    out.push_back({{"hz", row.hz},
                   {"sabine_s", seconds(row.sabine_s)},
                   {"eyring_s", seconds(row.eyring_s)},
                   {"arau_s", seconds(row.arau_s)},
                   {"millington_s", seconds(row.millington_s)},
                   {"fitzroy_s", seconds(row.fitzroy_s)},
                   {"low_s", rounded(row.low_s, 4)},
                   {"likely_s", rounded(row.likely_s, 4)},
                   {"high_s", rounded(row.high_s, 4)},
                   {"target_low_s", seconds(row.target_low_s)},
                   {"target_high_s", seconds(row.target_high_s)},
                   {"verdict", row.verdict}});
  return out;
}

Json survey_json(const job::Survey& survey) {
  Json surfaces = Json::array(), tape = Json::array();
  for (const auto& row : survey.surfaces) {
    Json given = Json::object();
    for (std::size_t i = 0; i < row.trust.size(); ++i)
      given[fixed(acoustics::octave_bands()[i].nominal_hz, 0)] =
          row.trust[i] == acoustics::Trust::published ? "published" : "extrapolated";
    surfaces.push_back({{"surface", row.surface},
                        {"material", row.material},
                        {"source", row.source},
                        {"area_m2", rounded(row.area_m2, 4)},
                        {"absorption", octaves_json(row.absorption, 4)},
                        {"trust", given}});
  }
  for (const auto& check : survey.tape)
    tape.push_back({{"what", check.what},
                    {"measured_m", length_json(check.measured)},
                    {"expected_m", length_json(check.expected)},
                    {"difference_m", length_json(check.difference)},
                    {"within", check.within}});
  return {{"volume_m3", rounded(survey.volume_m3, 4)},
          {"floor_area_m2", rounded(survey.floor_area_m2, 4)},
          {"surface_area_m2", rounded(survey.surface_area_m2, 4)},
          {"box", survey.box},
          {"sound_speed_m_s", rounded(survey.air.sound_speed_m_s, 3)},
          {"density_kg_m3", rounded(survey.air.density_kg_m3, 4)},
          {"surfaces", surfaces},
          {"tape", tape},
          {"statements", statements_json(survey.statements)}};
}

Json paths_json(const std::vector<job::PathRow>& paths) {
  Json out = Json::array();
  for (const auto& path : paths)
    out.push_back({{"loudspeaker", path.loudspeaker},
                   {"seat", path.seat},
                   {"surface", path.surface},
                   {"delay_ms", rounded(path.delay_ms, 3)},
                   {"level_db", rounded(path.level_db, 2)},
                   {"point_m", point_json(path.point_m)},
                   {"counts", path.counts},
                   {"intercepted", path.intercepted},
                   {"treated_level_db",
                    path.treated_level_db ? Json(rounded(*path.treated_level_db, 2)) : Json()}});
  return out;
}

Json modes_json(const std::vector<acoustics::Mode>& modes) {
  Json out = Json::array();
  for (const auto& mode : modes)
    out.push_back({{"hz", rounded(mode.hz, 4)}, {"kind", acoustics::mode_kind_name(mode)}});
  return out;
}

Json findings_json(const job::Findings& findings) {
  Json flutter = Json::array(), gaps = Json::array();
  for (const auto& row : findings.flutter)
    flutter.push_back({{"first", row.first},
                       {"second", row.second},
                       {"distance_m", rounded(row.distance_m, 4)},
                       {"rate_hz", rounded(row.rate_hz, 2)},
                       {"absorption", rounded(row.absorption, 3)},
                       {"overlap_m2", rounded(row.overlap_m2, 3)},
                       {"likely", row.likely}});
  for (const auto& gap : findings.gaps)
    gaps.push_back({{"from_hz", rounded(gap.from_hz, 2)}, {"to_hz", rounded(gap.to_hz, 2)}});
  return {{"modes", modes_json(findings.modes)},
          {"modes_to_hz", findings.modes_to_hz},
          {"modes_note", findings.modes_note},
          {"gaps", gaps},
          {"schroeder_hz", rounded(findings.schroeder_hz, 1)},
          {"decay", decay_json(findings.decay)},
          {"decay_rule", findings.decay_rule},
          {"decay_doubt", doubt_json(findings.decay_doubt, 4)},
          {"target_source", findings.corridor.source},
          {"paths", paths_json(findings.paths)},
          {"flutter", flutter},
          {"bass", bass_json(findings.bass)},
          {"ringing", ringing_json(findings.ringing)},
          {"statements", statements_json(findings.statements)},
          {"not_done", findings.not_done}};
}

Json seats_json(const job::SeatSound& sound) {
  const auto figure = [](const acoustics::TracedValue& value, int digits) {
    return value.value ? Json({{"value", rounded(*value.value, digits)},
                               {"standard_error", rounded(value.standard_error, digits)}})
                       : Json();
  };
  Json out = Json::array();
  for (const auto& at : sound.seats) {
    Json rows = Json::array();
    for (std::size_t i = 0; i < at.today.size(); ++i) {
      Json row = {{"hz", acoustics::octave_bands()[i].nominal_hz}};
      for (const auto& [name, of] :
           {std::pair{"today", &at.today[i]}, std::pair{"treated", &at.treated[i]}})
        row[name] = {{"edt_s", figure(of->edt_s, 3)},
                     {"t20_s", figure(of->t20_s, 3)},
                     {"c50_db", figure(of->c50_db, 2)},
                     {"c80_db", figure(of->c80_db, 2)},
                     {"d50", figure(of->d50, 3)}};
      rows.push_back(std::move(row));
    }
    out.push_back({{"seat", at.seat}, {"rows", rows}});
  }
  return out;
}

Json treatment_json(const job::Treatment& treatment) {
  Json pieces = Json::array();
  for (const auto& row : treatment.pieces) {
    Json faults = Json::array();
    for (const auto& fault : row.placement.faults)
      faults.push_back(
          {{"what", fault.what}, {"by_m", rounded(fault.by_m, 4)}, {"remedy", fault.remedy}});
    pieces.push_back({{"label", row.label},
                      {"product", row.product},
                      {"kind", row.kind},
                      {"place", row.place},
                      {"faults", faults},
                      {"low_m2", octaves_json(row.low_m2, 4)},
                      {"likely_m2", octaves_json(row.likely_m2, 4)},
                      {"high_m2", octaves_json(row.high_m2, 4)},
                      {"approximation", row.approximation},
                      {"intercepts", row.intercepts}});
  }
  return {{"pieces", pieces},
          {"products", products_json(treatment)},
          {"before", decay_json(treatment.before)},
          {"after", decay_json(treatment.after)},
          {"schroeder_after_hz", rounded(treatment.schroeder_after_hz, 1)},
          {"paths", paths_json(treatment.paths)},
          {"bass", bass_json(treatment.bass)},
          {"ringing", ringing_json(treatment.ringing)},
          {"buildable", treatment.buildable},
          {"statements", statements_json(treatment.statements)}};
}

Json sticks_json(const job::Job& job, const shop::Schedule& schedule) {
  Json out = Json::array();
  for (const auto& plan : schedule.sticks) {
    Json patterns = Json::array(), stops = Json::array(), buy = Json::array();
    for (const auto& pattern : plan.patterns) {
      Json marks = Json::array();
      for (const auto& mark : pattern.marks)
        marks.push_back({{"length_m", length_json(mark.length)},
                         {"from_m", length_json(mark.from)},
                         {"to_m", length_json(mark.to)}});
      patterns.push_back({{"stock_length_m", length_json(pattern.stock_length)},
                          {"in_hand", pattern.in_hand},
                          {"sticks", pattern.sticks},
                          {"marks", marks},
                          {"pieces", pattern.pieces},
                          {"offcut_m", length_json(pattern.offcut)},
                          {"keep_offcut", pattern.keep_offcut}});
    }
    for (const auto& stop : plan.stops)
      stops.push_back(
          {{"stop_m", length_json(stop.stop)}, {"count", stop.count}, {"parts", stop.parts}});
    for (const auto& [length, count] : plan.buy)
      buy.push_back({{"length_m", length_json(length)}, {"count", count}});
    out.push_back({{"section", plan.section},
                   {"name", plan.name},
                   {"patterns", patterns},
                   {"stops", stops},
                   {"buy", buy},
                   {"cost", plain_money(plan.cost, job.shop.currency)},
                   {"bound", plain_money(plan.bound, job.shop.currency)},
                   {"proven", plan.proven}});
  }
  return out;
}

Json cloths_json(const job::Job& job, const shop::Schedule& schedule) {
  Json out = Json::array();
  for (const auto& plan : schedule.cloths) {
    Json pieces = Json::array();
    for (const auto& piece : plan.pieces)
      pieces.push_back({{"piece", piece.piece},
                        {"name", piece.name},
                        {"x_m", length_json(piece.x)},
                        {"y_m", length_json(piece.y)},
                        {"across_m", length_json(piece.across)},
                        {"along_m", length_json(piece.along)}});
    out.push_back({{"cloth", plan.cloth},
                   {"pieces", pieces},
                   {"roll_width_m", length_json(plan.roll_width)},
                   {"length_m", length_json(plan.length)},
                   {"bound_m", length_json(plan.bound)},
                   {"proven", plan.proven},
                   {"to_buy_m", length_json(plan.to_buy)},
                   {"from_rack_m", length_json(plan.from_rack)},
                   {"cost", plain_money(plan.cost, job.shop.currency)}});
  }
  return out;
}

Json sheets_json(const job::Job& job, const shop::Schedule& schedule) {
  Json out = Json::array();
  for (const auto& plan : schedule.sheets) {
    Json sheets = Json::array();
    for (const auto& sheet : plan.sheets) {
      Json pieces = Json::array();
      for (const auto& piece : sheet.pieces)
        pieces.push_back({{"piece", piece.piece},
                          {"name", piece.name},
                          {"x_m", length_json(piece.x)},
                          {"y_m", length_json(piece.y)},
                          {"width_m", length_json(piece.width)},
                          {"height_m", length_json(piece.height)},
                          {"triangle", piece.triangle}});
      sheets.push_back({{"repeat", sheet.repeat}, {"pieces", pieces}});
    }
    out.push_back({{"key", plan.key},
                   {"wool", plan.wool},
                   {"sheets", sheets},
                   {"used", plan.used},
                   {"bound", plan.bound},
                   {"proven", plan.proven},
                   {"from_rack", plan.from_rack},
                   {"packs", plan.packs},
                   {"left_over", plan.left_over},
                   {"cost", plain_money(plan.cost, job.shop.currency)}});
  }
  return out;
}

Json run_json(const job::RunSheet& run) {
  Json tasks = Json::array(), crew = Json::array(), busy = Json::array();
  for (const auto& task : run.plan.tasks) {
    Json people = Json::array();
    for (const int who : task.people) people.push_back(who + 1);
    tasks.push_back({{"station", shop::station_names[static_cast<std::size_t>(task.station)]},
                     {"ahead", task.ahead},
                     {"what", task.what},
                     {"pieces", task.pieces},
                     {"people", people},
                     {"begin_min", rounded(task.begin_min, 2)},
                     {"start_min", rounded(task.start_min, 2)},
                     {"end_min", rounded(task.end_min, 2)}});
  }
  for (const auto& row : run.crew)
    crew.push_back({{"people", row.people},
                    {"finish_min", rounded(row.finish_min, 2)},
                    {"bound_min", rounded(row.bound_min, 2)},
                    {"proven", row.proven},
                    {"finished", row.finished},
                    {"hung", row.hung},
                    {"days_late", row.days_late}});
  for (const double minutes : run.plan.busy_min) busy.push_back(rounded(minutes, 2));
  return {{"people", run.plan.people},
          {"finish_min", rounded(run.plan.finish_min, 2)},
          {"bound_min", rounded(run.plan.bound_min, 2)},
          {"least_min", rounded(run.plan.least_min, 2)},
          {"proven", run.plan.proven},
          {"lots", run.plan.lots},
          {"most_in_lot", run.plan.most_in_lot},
          {"router_set_ups", run.plan.router_set_ups},
          {"busy_min", busy},
          {"nodes", run.plan.nodes},
          {"method", run.plan.method},
          {"tasks", tasks},
          {"crew", crew}};
}

Json calendar_json(const job::CalendarSheet& calendar) {
  Json materials = Json::array(), tasks = Json::array();
  for (const auto& one : calendar.materials)
    materials.push_back({{"group", one.group},
                         {"name", one.name},
                         {"lead_days", one.lead_days},
                         {"needed", one.needed},
                         {"order_by", one.order_by},
                         {"late", one.late}});
  for (const auto& task : calendar.tasks)
    tasks.push_back({{"day", task.day},
                     {"from", task.from},
                     {"to", task.to},
                     {"people", task.people},
                     {"what", task.what},
                     {"pieces", task.pieces}});
  return {{"start", calendar.start},
          {"finish", calendar.finish},
          {"hang", calendar.hang},
          {"hung", calendar.hung},
          {"due", calendar.due},
          {"days_late", calendar.days_late},
          {"held_up_by", calendar.held_up_by},
          {"materials", materials},
          {"tasks", tasks}};
}

Json build_json(const job::Job& job, const job::BuildSheet& build) {
  Json hardware = Json::array(), stations = Json::array();
  for (const auto& row : build.schedule.hardware)
    hardware.push_back({{"key", row.key},
                        {"used", row.used},
                        {"unit", row.unit},
                        {"from_rack", row.from_rack},
                        {"packs", row.packs},
                        {"cost", plain_money(row.cost, job.shop.currency)}});
  for (const auto& row : build.schedule.stations) {
    Json lines = Json::array();
    for (const auto& line : row.lines)
      lines.push_back({{"feature", line.feature},
                       {"count", rounded(line.count, 3)},
                       {"each_min", line.each_min}});
    stations.push_back({{"station", shop::station_names[static_cast<std::size_t>(row.station)]},
                        {"set_up_min", row.set_up_min},
                        {"work_min", rounded(row.work_min, 2)},
                        {"lines", lines}});
  }
  return {{"sticks", sticks_json(job, build.schedule)},
          {"cloths", cloths_json(job, build.schedule)},
          {"sheets", sheets_json(job, build.schedule)},
          {"hardware", hardware},
          {"stations", stations},
          {"shop_min", rounded(build.schedule.shop_min(), 2)},
          {"run", run_json(build.run)},
          {"calendar", calendar_json(build.calendar)},
          {"statements", statements_json(build.statements)}};
}

Json price_json(const job::Job& job, const job::PriceSheet& price) {
  const auto money = [&](Money amount) { return plain_money(amount, job.shop.currency); };
  Json buy = Json::array(), cost = Json::array(), options = Json::array();
  for (const auto& row : price.purchase.rows)
    buy.push_back({{"group", row.group},
                   {"key", row.key},
                   {"needed", row.needed},
                   {"in_hand", row.in_hand},
                   {"buy", row.buy},
                   {"cost", money(row.cost)}});
  for (const auto& row : price.costing.rows)
    cost.push_back({{"group", row.group},
                    {"name", row.name},
                    {"quantity", row.quantity},
                    {"cost", money(row.cost)}});
  for (const auto& option : price.quote.options) {
    Json rows = Json::array();
    for (const auto& row : option.rows)
      rows.push_back(
          {{"label", row.label}, {"description", row.description}, {"price", money(row.price)}});
    options.push_back({{"name", option.name},
                       {"rows", rows},
                       {"net", money(option.net)},
                       {"tax", money(option.tax)},
                       {"total", money(option.total)},
                       {"deposit", money(option.deposit)},
                       {"balance", money(option.balance)}});
  }
  const shop::Costing& costing = price.costing;
  return {{"currency", job.shop.currency.code},
          {"purchase", {{"rows", buy}, {"total", money(price.purchase.total)}}},
          {"costing",
           {{"rows", cost},
            {"material", money(costing.material)},
            {"labour", money(costing.labour)},
            {"overhead", money(costing.overhead)},
            {"cost", money(costing.cost)},
            {"margin", money(costing.margin)},
            {"price", money(costing.price)}}},
          {"quote", options},
          {"statements", statements_json(price.statements)}};
}

Json hang_json(const job::HangSheet& hang) {
  Json pieces = Json::array(), ways = Json::array();
  for (const auto& piece : hang.pieces) {
    Json points = Json::array();
    for (const auto& point : piece.fixing_points)
      points.push_back({length_json(point[0]), length_json(point[1])});
    pieces.push_back({{"label", piece.label},
                      {"product", piece.product},
                      {"kind", piece.kind},
                      {"place", piece.place},
                      {"left_m", length_json(piece.left)},
                      {"bottom_m", length_json(piece.bottom)},
                      {"width_m", length_json(piece.width)},
                      {"height_m", length_json(piece.height)},
                      {"stand_off_m", length_json(piece.stand_off)},
                      {"lift_on_m", length_json(piece.lift_on)},
                      {"mass_kg", rounded(piece.mass_kg, 3)},
                      {"two_people", piece.two_people},
                      {"fixing_points_m", points},
                      {"load_n", rounded(piece.fixing.load_n, 1)},
                      {"safety_factor", optional_json(piece.fixing.safety_factor)},
                      {"asked_factor", piece.fixing.asked_factor},
                      {"ok", piece.fixing.ok},
                      {"verdict", piece.fixing.verdict}});
  }
  for (const auto& check : hang.way_in)
    ways.push_back({{"piece", check.piece},
                    {"way", check.way},
                    {"passes", check.passes},
                    {"sentence", check.sentence}});
  return {{"pieces", pieces},
          {"way_in", ways},
          {"total_kg", rounded(hang.total_kg, 3)},
          {"cautions", hang.cautions},
          {"statements", statements_json(hang.statements)}};
}

Json proof_json(const job::ProofSheet& proof) {
  Json points = Json::array();
  for (const auto& point : proof.points)
    points.push_back({{"what", point.what}, {"where", point.where}, {"target", point.target}});
  return {{"points", points},
          {"predicted", decay_json(proof.predicted)},
          {"how", proof.how},
          {"statements", statements_json(proof.statements)}};
}

}  // namespace

const std::vector<std::string>& stage_names() {
  static const std::vector<std::string> names = {"survey", "findings", "treatment", "build",
                                                 "price",  "hang",     "proof"};
  return names;
}

namespace {

Json choice_json(const job::Job& job, const design::Choice& choice) {
  const int digits = job.shop.currency.digits + 1;
  return {{"board", choice.board},
          {"layers", choice.layers},
          {"gap_m", length_json(choice.gap)},
          {"depth_m", length_json(choice.depth)},
          {"cloth", choice.cloth},
          {"absorption", octaves_json(choice.absorption, 3)},
          {"cost_per_m2", rounded(choice.cost_per_m2, digits)},
          {"sabin",
           {rounded(choice.sabin_low, 3), rounded(choice.sabin, 3), rounded(choice.sabin_high, 3)}},
          {"cost_per_sabin",
           {rounded(choice.cost_low, digits), rounded(choice.cost, digits),
            rounded(choice.cost_high, digits)}},
          {"best", choice.best}};
}

}  // namespace

Json fill_json(const job::Job& job, const job::FillReport& report) {
  Json choices = Json::array(), substitutes = Json::array();
  std::size_t listed = 0;
  for (const auto& choice : report.choices)
    if (choice.best || listed++ < 20) choices.push_back(choice_json(job, choice));
  for (const auto& one : report.substitutes)
    substitutes.push_back({{"choice", choice_json(job, one.choice)},
                           {"wanted", octaves_json(one.wanted, 3)},
                           {"difference", octaves_json(one.difference, 3)},
                           {"root_mean_square", rounded(one.root_mean_square, 4)}});
  return {{"currency", job.shop.currency.code},
          {"missing_m2", octaves_json(report.missing_m2, 2)},
          {"tried", report.choices.size()},
          {"choices", choices},
          {"substitutes", substitutes},
          {"statements", statements_json(report.statements)},
          {"notes", report.notes}};
}

namespace {

Json place_json(const job::PlaceChoice& one) {
  Json at = Json::object();
  for (std::size_t i = 0; i < one.labels.size(); ++i) at[one.labels[i]] = point_json(one.at_m[i]);
  return {{"at_m", at},
          {"unevenness_db", rounded(one.unevenness_db, 2)},
          {"highest_db", rounded(one.highest_db, 1)},
          {"highest_hz", one.highest_hz},
          {"lowest_db", rounded(one.lowest_db, 1)},
          {"lowest_hz", one.lowest_hz}};
}

Json place_list(const std::vector<job::PlaceChoice>& all) {
  Json out = Json::array();
  for (const auto& one : all) out.push_back(place_json(one));
  return out;
}

}  // namespace

Json places_json(const job::PlacesReport& report) {
  Json subs = Json::array();
  for (const auto& sub : report.subs)
    subs.push_back(
        {{"label", sub.label}, {"today", place_json(sub.today)}, {"best", place_list(sub.best)}});
  return {{"tried", report.tried},
          {"from_hz", report.from_hz},
          {"to_hz", report.to_hz},
          {"today", place_json(report.today)},
          {"best", place_list(report.best)},
          {"subwoofers", subs},
          {"statements", statements_json(report.statements)},
          {"notes", report.notes}};
}

Json together_json(const job::TogetherSheet& sheet) {
  const auto money = [&](Money amount) { return plain_money(amount, sheet.job.shop.currency); };
  Json jobs = Json::array(), parts = Json::array();
  for (const auto& one : sheet.jobs)
    jobs.push_back({{"mark", one.mark},
                    {"title", one.title},
                    {"reference", one.reference},
                    {"pieces", one.pieces},
                    {"alone", money(one.alone)},
                    {"share", money(one.share)},
                    {"from_rack", money(one.from_rack)},
                    {"pays", money(one.pays)},
                    {"alone_min", rounded(one.alone_min, 2)}});
  for (const auto& part : sheet.parts)
    parts.push_back(
        {{"name", part.name}, {"apart", money(part.apart)}, {"together", money(part.together)}});
  return {{"currency", sheet.job.shop.currency.code},
          {"jobs", jobs},
          {"parts", parts},
          {"apart", money(sheet.apart)},
          {"together", money(sheet.together)},
          {"apart_min", rounded(sheet.apart_min, 2)},
          {"exact", sheet.exact},
          {"mended", sheet.mended},
          {"standard_error_minor", rounded(sheet.standard_error, 1)},
          {"method", sheet.method},
          {"build", build_json(sheet.job, sheet.build)},
          {"statements", statements_json(sheet.statements)}};
}

Json tune_json(const job::Job& job, const design::TrapReport& report) {
  Json answers = Json::array();
  const auto range = [](const design::TrapRange& one, int decimals) {
    return Json::array({rounded(one.low, decimals), rounded(one.high, decimals)});
  };
  for (const auto& one : report.answers) {
    Json bands = Json::object();
    for (const auto& band : one.third_octaves)
      bands[fixed(band.nominal_hz, 0)] = rounded(band.absorption, 3);
    answers.push_back({{"key", one.spec.key},
                       {"name", one.spec.name},
                       {"score", rounded(one.score, 1)},
                       {"peak_hz", rounded(one.peak.hz, 2)},
                       {"half_width_hz", rounded(one.peak.half_width_hz, 2)},
                       {"peak_absorption", rounded(one.peak.absorption, 3)},
                       {"drift_hz", range(one.drift_hz, 2)},
                       {"half_width_range_hz", range(one.half_width_hz, 2)},
                       {"peak_absorption_range", range(one.peak_absorption, 3)},
                       {"third_octaves", bands},
                       {"open_area", rounded(one.open_area, 5)},
                       {"openings", one.openings},
                       {"depth_m", length_json(one.depth)},
                       {"mass_kg", rounded(one.mass_kg, 2)},
                       {"material", plain_money(one.material, job.shop.currency)},
                       {"sentence", one.sentence},
                       {"warnings", one.warnings},
                       {"cautions", one.cautions},
                       {"toml", design::product_toml(one.spec, job.region.units)}});
  }
  return {{"currency", job.shop.currency.code},
          {"method", report.method},
          {"measured", report.measured},
          {"answers", answers}};
}

Json stage_json(const job::Job& job, const job::Pack& pack, std::string_view stage) {
  if (stage == "survey") return survey_json(pack.survey);
  if (stage == "findings") return findings_json(pack.findings);
  if (stage == "treatment") {
    Json out = treatment_json(pack.treatment);
    out["seats"] = seats_json(pack.seat_sound);
    return out;
  }
  if (stage == "build") return build_json(job, pack.build);
  if (stage == "price") return price_json(job, pack.price);
  if (stage == "hang") return hang_json(pack.hang);
  return proof_json(pack.proof);
}

namespace {

Json labels_json(const job::PackingSheet& packing) {
  Json out = Json::array();
  for (const auto& row : packing.labels)
    out.push_back({{"piece", row.piece},
                   {"product", row.product},
                   {"place", row.place},
                   {"left_m", length_json(row.left)},
                   {"bottom_m", length_json(row.bottom)},
                   {"mass_kg", rounded(row.mass_kg, 3)},
                   {"two_people", row.two_people},
                   {"code", row.payload}});
  return out;
}

Json trips_json(const job::PackingSheet& packing) {
  Json out = Json::array();
  if (!packing.van) return out;
  for (const auto& trip : packing.van->trips) {
    Json load = Json::array();
    for (const auto& one : trip.placed)
      load.push_back(
          {{"piece", packing.packages[one.package].piece},
           {"at_m", {length_json(one.x), length_json(one.y), length_json(one.z)}},
           {"size_m", {length_json(one.along), length_json(one.across), length_json(one.up)}}});
    out.push_back({{"load", load},
                   {"mass_kg", rounded(trip.mass_kg, 3)},
                   {"centre_m", {rounded(trip.centre_x_m, 4), rounded(trip.centre_y_m, 4)}},
                   {"rear_axle_kg", rounded(trip.rear_axle_kg, 2)},
                   {"leans", trip.leans},
                   {"tail_heavy", trip.tail_heavy}});
  }
  return out;
}

Json cartons_json(const job::Job& job, const job::PackingSheet& packing) {
  Json out = Json::array();
  for (const auto& carton : packing.cartons.cartons)
    out.push_back(
        {{"line", packing.items[carton.item].label},
         {"cartons", carton.cartons},
         {"pieces", carton.pieces},
         {"size_m",
          {length_json(carton.width), length_json(carton.height), length_json(carton.depth)}},
         {"mass_kg", rounded(carton.mass_kg, 3)},
         {"charged_kg", rounded(carton.charged_kg, 3)},
         {"two_people", carton.two_people},
         {"rate", carton.rate},
         {"price", plain_money(carton.price, job.shop.currency)}});
  return out;
}

Json packing_json(const job::Job& job, const job::PackingSheet& packing) {
  Json packages = Json::array();
  for (const auto& row : packing.packages)
    packages.push_back({{"piece", row.piece},
                        {"size_m",
                         {length_json(row.package.width), length_json(row.package.height),
                          length_json(row.package.depth)}},
                        {"mass_kg", rounded(row.package.mass_kg, 3)},
                        {"two_people", row.two_people}});
  Json out = {{"labels", labels_json(packing)},
              {"packages", packages},
              {"trips", trips_json(packing)},
              {"cautions", packing.cautions},
              {"statements", statements_json(packing.statements)}};
  if (packing.van) out["trips_bound"] = packing.van->bound;
  if (job.order) out["cartons"] = cartons_json(job, packing);
  return out;
}

}  // namespace

Json order_json(const job::Job& job, const job::Pack& pack) {
  const shop::QuoteOption& offer = pack.price.quote.options.front();
  const auto money = [&](Money amount) { return plain_money(amount, job.shop.currency); };
  Json lines = Json::array();
  for (const auto& row : offer.rows)
    lines.push_back(
        {{"label", row.label}, {"description", row.description}, {"price", money(row.price)}});
  return {{"currency", job.shop.currency.code},
          {"lines", lines},
          {"net", money(offer.net)},
          {"tax", money(offer.tax)},
          {"total", money(offer.total)},
          {"deposit", money(offer.deposit)},
          {"carriage", money(pack.packing.cartons.carriage)},
          {"mass_kg", rounded(pack.packing.cartons.mass_kg, 3)},
          {"cartons", cartons_json(job, pack.packing)},
          {"statements", statements_json(pack.packing.statements)}};
}

Json pack_json(const job::Job& job, const job::Pack& pack) {
  Json out = {{"title", job.title},
              {"reference", job.reference},
              {"date", job.date},
              {"revision", job.revision},
              {"schema", job::schema_version}};
  for (const std::string& stage : stage_names())
    if (!job.order || stage == "build" || stage == "price")
      out[stage] = stage_json(job, pack, stage);
  out["packing"] = packing_json(job, pack.packing);
  if (job.order) out["order"] = order_json(job, pack);
  return out;
}

}  // namespace roomwright::app
