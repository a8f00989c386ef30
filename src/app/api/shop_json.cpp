// Build, price and hang as JSON, and several jobs together. Money is a decimal text in the job's
// currency.
#include "app/api/shop_json.h"

#include <nlohmann/json.hpp>

#include "app/api/json_words.h"

namespace roomwright::app {

namespace {

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

}  // namespace

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
    if (piece.outline.empty()) continue;  // its box
    Json& outline = pieces.back()["outline_m"] = Json::array();
    for (const auto& corner : piece.outline)
      outline.push_back({length_json(corner[0]), length_json(corner[1])});
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

}  // namespace roomwright::app
