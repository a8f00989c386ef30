// Maps of pressure as JSON and as files.
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/api/json_words.h"
#include "papers/papers.h"

namespace roomwright::app {

namespace {

Json map_json(const job::PressureMap& map) {
  Json level = Json::array(), outline = Json::array(), bodies = Json::array();
  for (std::size_t i = 0; i < map.what.size(); ++i) {
    const bool told =
        map.what[i] == job::PressurePlace::air || map.what[i] == job::PressurePlace::edge;
    level.push_back(told ? Json(rounded(map.level_db[i], 1)) : Json());
    if (map.what[i] == job::PressurePlace::body) bodies.push_back(i);
  }
  for (const Vec2& corner : map.outline_m)
    outline.push_back({rounded(corner.x, 4), rounded(corner.y, 4)});
  return {{"name", map.name},
          {"surface", map.surface},
          {"outline_m", outline},
          {"from_m", {rounded(map.from_m.x, 4), rounded(map.from_m.y, 4)}},
          {"to_m", {rounded(map.to_m.x, 4), rounded(map.to_m.y, 4)}},
          {"across", map.across},
          {"up", map.up},
          {"level_db", level},
          {"in_a_piece", bodies},
          {"mean_db", rounded(map.mean_db, 1)},
          {"share", rounded(map.share, 2)},
          {"most",
           {{"at_m", {rounded(map.most.at_m.x, 3), rounded(map.most.at_m.y, 3)}},
            {"level_db", rounded(map.most.level_db, 1)},
            {"kind", map.most.kind},
            {"words", map.most.words}}}};
}

Json room_json(const job::PressureRoom& room) {
  Json maps = Json::array(), order = Json::array();
  for (const auto& map : room.maps) maps.push_back(map_json(map));
  for (const std::size_t m : room.order) order.push_back(room.maps[m].name);
  return {{"room", room.treated ? "treated" : "today"},
          {"greatest_db", rounded(room.greatest_db, 1)},
          {"mean_db", rounded(room.mean_db, 1)},
          {"order", order},
          {"maps", maps}};
}

}  // namespace

Json pressure_json(const job::PressureReport& report) {
  Json all = Json::array();
  for (const auto& at : report.at) {
    Json rooms = Json::array();
    for (const auto& room : at.rooms) rooms.push_back(room_json(room));
    all.push_back({{"hz", at.hz},
                   {"resonance", at.resonance},
                   {"quarter_wave_m", rounded(at.quarter_wave_m, 3)},
                   {"wool", at.wool},
                   {"reference_db", rounded(at.reference_db, 1)},
                   {"rooms", rooms}});
  }
  return {{"loudspeaker", report.loudspeaker},
          {"plane_m", rounded(report.plane_m, 4)},
          {"at", all},
          {"statements", statements_json(report.statements)},
          {"notes", report.notes}};
}

Result<std::vector<PackFile>> pressure_files(const job::Job& job, const job::Treatment& treatment,
                                             const job::PressureReport& report) {
  std::vector<PackFile> out;
  const papers::Paper paper = papers::pressure_paper(job, treatment, report);
  auto pdf = drawing::pdf_bytes(paper.sheets, {job.title + ": " + paper.title, job.date});
  if (!pdf) return pdf.mistakes();
  out.push_back({paper.name + ".pdf", std::move(*pdf)});
  for (const auto& at : report.at)
    out.push_back({"pressure-" + shortest(at.hz) + "Hz.svg",
                   drawing::svg_text(papers::pressure_picture(job, treatment, report, at))});
  papers::Table table = papers::pressure_table(report);
  out.push_back({table.name + ".csv", std::move(table.csv)});
  return out;
}

}  // namespace roomwright::app
