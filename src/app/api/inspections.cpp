// Inspections, rework and certificates in the store's journals.
#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "app/api/api.h"
#include "core/reading/reading.h"
#include "drawing/drawing.h"
#include "papers/papers.h"
#include "shop/parts/parts.h"

namespace roomwright::app {

namespace {

const std::vector<std::string>& station_words() {
  static const std::vector<std::string> words(shop::station_names.begin(),
                                              shop::station_names.end());
  return words;
}

Json optional_length(const std::optional<Length>& length) {
  return length ? Json(length->metres()) : Json();
}

}  // namespace

namespace {

/// The pieces of an order hang nowhere that is known: they are as their products are.
std::vector<shop::PieceAsDrawn> ordered_pieces(const BuiltJob& built) {
  std::vector<shop::PieceAsDrawn> out;
  for (const job::Piece& piece : built.job.pieces)
    for (const design::Product& product : built.treatment.products)
      if (product.spec.key == piece.product)
        out.push_back(
            {piece.label, product.spec.name, product.width, product.height, product.mass_kg()});
  return out;
}

/// When it was inspected: by the clock of whoever did, else when the entry came.
std::string inspected_at(const Json& entry) {
  const Json& body = entry["body"];
  const auto at = body.is_object() ? body.find("at") : body.end();
  return body.is_object() && at != body.end() && at->is_string() ? at->get<std::string>()
                                                                 : entry["when"].get<std::string>();
}

}  // namespace

std::vector<shop::InspectionLine> inspection_lines(const BuiltJob& built) {
  std::vector<shop::PieceAsDrawn> pieces;
  if (built.job.order)
    pieces = ordered_pieces(built);
  else
    for (const auto& piece : job::hang(built.job, built.treatment).pieces)
      pieces.push_back({piece.label, piece.product, piece.width, piece.height, piece.mass_kg});
  return shop::inspection_sheet(pieces, built.job.shop.rules);
}

Result<PackFile> inspection_file(const BuiltJob& built,
                                 const std::vector<shop::InspectionLine>& lines) {
  const papers::Paper paper = papers::inspection_paper(built.job, lines);
  auto bytes =
      drawing::pdf_bytes(paper.sheets, {built.job.title + ": " + paper.title, built.job.date});
  if (!bytes) return bytes.mistakes();
  return PackFile{paper.name + ".pdf", std::move(*bytes)};
}

Json inspection_json(const shop::InspectionLine& line, const shop::InspectionResult& result) {
  Json faults = Json::array();
  for (const auto& fault : result.faults)
    faults.push_back({{"what", fault.what},
                      {"back_to", shop::station_names[std::size_t(fault.back_to)]},
                      {"sentence", fault.sentence}});
  Json out = {{"label", line.piece.label},
              {"passed", result.passed},
              {"complete", result.complete},
              {"open", result.open},
              {"faults", faults}};
  if (result.back_to) out["back_to"] = shop::station_names[std::size_t(*result.back_to)];
  return out;
}

Result<JudgedPiece> judged(const BuiltJob& built, const InspectedPiece& piece) {
  const auto lines = inspection_lines(built);
  const auto line = std::find_if(lines.begin(), lines.end(),
                                 [&](const auto& one) { return one.piece.label == piece.label; });
  if (line == lines.end())
    return Complaint{"piece", "is not in this job", "\"" + piece.label + "\"",
                     "roomwright inspect sheet names them", 0};
  auto result = shop::inspect(*line, piece.found, built.job.region.units);
  if (!result) return result.mistakes();
  Json body = inspection_json(*line, *result);
  body["found"] = {{"diagonal_a_m", optional_length(piece.found.diagonal_a)},
                   {"diagonal_b_m", optional_length(piece.found.diagonal_b)},
                   {"corner_gap_m", optional_length(piece.found.corner_gap)},
                   {"mass_kg", piece.found.mass_kg ? Json(*piece.found.mass_kg) : Json()},
                   {"cloth", piece.found.cloth ? Json(*piece.found.cloth) : Json()},
                   {"staples", piece.found.staples ? Json(*piece.found.staples) : Json()},
                   {"label", piece.found.label ? Json(*piece.found.label) : Json()}};
  if (!piece.found.note.empty()) body["note"] = piece.found.note;
  return JudgedPiece{json_text(body, -1), std::move(*result)};
}

Result<shop::InspectionResult> keep_inspection(Store& store, const BuiltJob& built,
                                               const std::string& document,
                                               const InspectedPiece& piece, const Stamp& stamp) {
  auto made = judged(built, piece);
  if (!made) return made.mistakes();
  const auto kept =
      store.append("inspection", std::nullopt, {{piece.label, document, made->body}}, stamp);
  if (!kept) return kept.mistakes();
  return std::move(made->result);
}

Result<Json> inspections_json(Store& store, const BuiltJob& built, const std::string& document) {
  const auto entries = store.entries("inspection", {0, {}, document, 10'000'000});
  if (!entries) return entries.mistakes();
  std::map<std::string, Json> last;
  std::map<std::string, int> times;
  for (const Entry& entry : *entries) {
    Json one = entry_json(entry);
    ++times[entry.subject];
    const auto before = last.find(entry.subject);
    if (before == last.end() || inspected_at(one) >= inspected_at(before->second))
      last[entry.subject] = std::move(one);
  }
  Json pieces = Json::array();
  int waiting = 0;
  for (const auto& line : inspection_lines(built)) {
    Json one = {{"label", line.piece.label}, {"passed", false}, {"inspected", 0}};
    if (const auto found = last.find(line.piece.label); found != last.end()) {
      one = found->second["body"];
      one.erase("token");
      one["who"] = found->second["who"];
      one["when"] = found->second["when"];
      one["inspected"] = times[line.piece.label];
    }
    const auto papers = certificates_of(store, document, line.piece.label);
    if (!papers) return papers.mistakes();
    one["certificates"] = Json::array();
    for (const Certificate& paper : *papers) one["certificates"].push_back(certificate_json(paper));
    waiting += one["passed"] == true ? 0 : 1;
    pieces.push_back(std::move(one));
  }
  return Json{{"pieces", pieces}, {"waiting", waiting}};
}

// ---- rework -------------------------------------------------------------------------------------

Result<Appended> keep_rework(Store& store, const std::string& document, const Rework& rework,
                             const Stamp& stamp) {
  if (!(rework.minutes > 0 && rework.minutes <= 10'000))
    return Complaint{"minutes", "must be above 0 and at most 10000", rework.minutes, {}, 0};
  const Json body = {{"station", shop::station_names[std::size_t(rework.station)]},
                     {"minutes", rework.minutes},
                     {"piece", rework.piece},
                     {"rework", true},
                     {"cause", rework.cause}};
  return store.append(
      "time", std::nullopt,
      {{shop::station_names[std::size_t(rework.station)], document, json_text(body, -1)}}, stamp);
}

Result<std::vector<shop::ReworkRow>> rework_of(Store& store, const std::string& document) {
  EntryFilter filter;
  filter.most = 10'000'000;
  if (!document.empty()) filter.document = document;
  const auto entries = store.entries("time", filter);
  if (!entries) return entries.mistakes();
  std::vector<shop::ReworkTime> times;
  for (const Entry& entry : *entries) {
    const auto body = parse_json(entry.body);
    if (!body || !body->is_object() || body->value("rework", Json()) != true) continue;
    Diagnostics found;
    Reader in(*body, "time[" + std::to_string(entry.number) + "]", found);
    shop::ReworkTime time;
    time.station = shop::Station(in.one_of("station", station_words()).value_or(0));
    time.minutes = in.number("minutes", {.above = 0});
    time.cause = in.text_or("cause", "");
    if (!found.empty()) return found;
    times.push_back(time);
  }
  return shop::rework_rows(times);
}

// ---- certificates -------------------------------------------------------------------------------

Json certificate_json(const Certificate& certificate) {
  Json out = {{"piece", certificate.piece},
              {"material", certificate.material},
              {"kind", certificate.kind},
              {"says", certificate.says}};
  if (!certificate.supplier.empty()) out["supplier"] = certificate.supplier;
  if (certificate.file) out["file"] = certificate.file;
  return out;
}

Result<Done> check_certificate(Store& store, const Certificate& certificate) {
  Diagnostics found;
  const std::vector<std::string> kinds = {"dye_lot", "fire", "material"};
  if (std::find(kinds.begin(), kinds.end(), certificate.kind) == kinds.end())
    found.add("kind", "must be dye_lot, fire or material", "\"" + certificate.kind + "\"");
  if (certificate.material.empty())
    found.add("material", "is missing", {}, "a key of the price book, such as open_weave_grey");
  if (certificate.says.empty())
    found.add("says", "is missing", {}, "the lot, or the class and number on the certificate");
  if (certificate.file)
    if (const auto file = store.file(certificate.file); !file) found.add_all(file.mistakes());
  if (!found.empty()) return found;
  return Done{};
}

Result<Appended> keep_certificate(Store& store, const std::string& document,
                                  const Certificate& certificate, const Stamp& stamp) {
  if (const auto good = check_certificate(store, certificate); !good) return good.mistakes();
  return store.append("certificate", std::nullopt,
                      {{certificate.piece, document, json_text(certificate_json(certificate), -1)}},
                      stamp);
}

Result<std::vector<Certificate>> certificates_of(Store& store, const std::string& document,
                                                 const std::string& piece) {
  const auto entries = store.entries("certificate", {0, {}, document, 10'000'000});
  if (!entries) return entries.mistakes();
  std::vector<Certificate> out;
  for (const Entry& entry : *entries) {
    if (!piece.empty() && !entry.subject.empty() && entry.subject != piece) continue;
    const auto body = parse_json(entry.body);
    if (!body || !body->is_object()) continue;
    Diagnostics found;
    Reader in(*body, "certificate[" + std::to_string(entry.number) + "]", found);
    Certificate one;
    const Json* whose = in.raw("piece");  // empty: it counts for every piece
    if (whose && whose->is_string()) one.piece = whose->get<std::string>();
    one.material = in.text("material");
    one.kind = in.text("kind");
    one.says = in.text("says");
    one.supplier = in.text_or("supplier", "");
    one.file = in.whole_or("file", 0, 0, 1'000'000'000);
    if (!found.empty()) return found;
    out.push_back(std::move(one));
  }
  return out;
}

}  // namespace roomwright::app
