// Before a piece leaves: the sheet by which each piece of a job is looked at, the last word on
// each, the papers of its materials, and what rework took. What is found comes in by the journals
// `inspection`, `certificate` and `time` (journals.cpp).
#include "app/service/parts.h"
#include "design/products/products.h"
#include "job/document/document.h"
#include "shop/parts/parts.h"

namespace roomwright::app {

namespace {

Json limits_json(const shop::InspectionLine& line) {
  return {{"product", line.piece.product},
          {"width_m", line.piece.width.metres()},
          {"height_m", line.piece.height.metres()},
          {"mass_kg", line.piece.mass_kg},
          {"diagonal_m", line.diagonal.metres()},
          {"square_within_m", line.square_within.metres()},
          {"flat_within_m", line.flat_within.metres()},
          {"least_kg", line.least_kg},
          {"most_kg", line.most_kg}};
}

/// Materials of a job whose supplier may have said something: each once, with the shop's name.
Json material_rows(const job::Job& job) {
  std::map<std::string, std::string> names;
  const auto add = [&](const auto& table, const std::string& key) {
    if (const auto found = table.find(key); found != table.end()) names[key] = found->second.name;
  };
  for (const design::ProductSpec& spec : job.products) {
    add(job.shop.cloths, spec.cloth);
    add(job.shop.cloths, spec.back_cloth);
    add(job.shop.boards, spec.board);
    add(job.shop.timber, spec.timber);
    add(job.shop.sheets, spec.sheet);
  }
  Json out = Json::array();
  for (const auto& [key, name] : names) out.push_back({{"key", key}, {"name", name}});
  return out;
}

Json rework_json(const std::vector<shop::ReworkRow>& rows) {
  Json out = Json::array();
  for (const shop::ReworkRow& row : rows)
    out.push_back({{"cause", row.cause},
                   {"station", shop::station_names[std::size_t(row.station)]},
                   {"times", row.times},
                   {"minutes", row.minutes}});
  return out;
}

/// What a piece's line says before anybody has looked at it.
Json waiting_piece(const shop::InspectionLine& line) {
  return {{"label", line.piece.label},
          {"passed", false},
          {"complete", false},
          {"open", Json::array({"square", "flat", "weight", "cloth", "staples", "label"})},
          {"faults", Json::array()},
          {"back_to", ""},
          {"note", ""},
          {"who", ""},
          {"when", ""}};
}

Json piece_json(const shop::InspectionLine& line, const Json& last) {
  Json out = waiting_piece(line);
  for (const auto& [key, value] : out.items())
    if (const auto found = last.find(key); found != last.end()) value = *found;
  if (const std::string at = text_at(last, "at"); !at.empty()) out["when"] = at;
  out["inspected"] = last["inspected"];
  out["certificates"] = last["certificates"];
  out["limits"] = limits_json(line);
  return out;
}

}  // namespace

PageAnswer answer_inspections(Desk& desk, const Asked& asked) {
  const std::string& id = asked.word(0);
  if (auto refusal = desk.missing(id)) return *refusal;
  const auto texts = job_texts(desk.store, id, 0);
  if (!texts) return refused(404, texts.mistakes());
  auto job = read_texts(*texts);
  if (!job) return refused(422, job.mistakes());
  auto placed = job::placed(*job);
  if (!placed) return refused(422, placed.mistakes());
  const BuiltJob built{std::move(*job), std::move(*placed), {}};
  const auto last = inspections_json(desk.store, built, id);
  const auto rework =
      last ? rework_of(desk.store, id) : Result<std::vector<shop::ReworkRow>>(last.mistakes());
  if (!rework) return refused(500, rework.mistakes());
  const auto lines = inspection_lines(built);
  Json pieces = Json::array();
  for (std::size_t i = 0; i < lines.size(); ++i)
    pieces.push_back(piece_json(lines[i], (*last)["pieces"][i]));
  return json_answer({{"version", texts->version},
                      {"pieces", pieces},
                      {"waiting", (*last)["waiting"]},
                      {"materials", material_rows(built.job)},
                      {"rework", rework_json(*rework)}});
}

}  // namespace roomwright::app
