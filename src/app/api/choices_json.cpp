// What `fill`, `places` and `tune` found, as JSON.
#include <nlohmann/json.hpp>

#include "app/api/json_words.h"

namespace roomwright::app {

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

}  // namespace roomwright::app
