// Each stage's result as JSON: the same names as the structs, units at the end of each key. Lengths
// are metres. What the shop does is in shop_json.cpp.
#include <nlohmann/json.hpp>

#include "app/api/api.h"
#include "app/api/json_words.h"
#include "app/api/products_json.h"
#include "app/api/shop_json.h"

namespace roomwright::app {

namespace {

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

Json mean_json(const job::MeasuredMean& mean) {
  Json out = {{"value", mean.value ? Json(*mean.value) : Json()},
              {"valid", mean.value.has_value()},
              {"positions", mean.positions}};
  if (mean.value)
    out["deviation"] = mean.deviation;
  else
    out["reason"] = mean.reason;
  return out;
}

Json measured_side_json(const std::optional<job::MeasuredSide>& side) {
  if (!side) return nullptr;
  Json bands = Json::array(), levels = Json::array();
  for (const job::MeasuredOctave& one : side->octaves)
    bands.push_back({{"hz", one.hz},
                     {"edt_s", mean_json(one.edt_s)},
                     {"t20_s", mean_json(one.t20_s)},
                     {"t30_s", mean_json(one.t30_s)}});
  for (const job::MeasuredThird& one : side->thirds)
    levels.push_back({{"hz", one.hz}, {"level_db", one.level_db}, {"noise_db", one.noise_db}});
  return {{"positions", side->positions}, {"bands", bands}, {"levels", levels}};
}

Json measured_proof_json(const job::MeasuredProof& measured) {
  Json verdicts = Json::array();
  for (const job::Verdict& one : measured.verdicts)
    verdicts.push_back(
        {{"of", one.of}, {"verdict", job::proven_word(one.proven)}, {"sentence", one.sentence}});
  return {{"before", measured_side_json(measured.before)},
          {"after", measured_side_json(measured.after)},
          {"verdicts", verdicts},
          {"statements", statements_json(measured.statements)}};
}

Json proof_json(const job::ProofSheet& proof) {
  Json points = Json::array();
  for (const auto& point : proof.points)
    points.push_back({{"what", point.what}, {"where", point.where}, {"target", point.target}});
  Json out = {{"points", points},
              {"predicted", decay_json(proof.predicted)},
              {"how", proof.how},
              {"statements", statements_json(proof.statements)}};
  if (proof.measured) out["measured"] = measured_proof_json(*proof.measured);
  return out;
}

}  // namespace

const std::vector<std::string>& stage_names() {
  static const std::vector<std::string> names = {"survey", "findings", "treatment", "build",
                                                 "price",  "hang",     "proof"};
  return names;
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
