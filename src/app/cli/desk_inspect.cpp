// `roomwright inspect …`: before a piece leaves.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/cli/desk.h"
#include "app/cli/terminal.h"
#include "core/quantity/quantity.h"
#include "core/reading/reading.h"
#include "shop/inspection/inspection.h"

namespace roomwright::app {

namespace {

using InspectRows = std::vector<std::vector<std::string>>;

std::optional<bool> yes_or_no(const std::string& word) {
  if (word.empty()) return std::nullopt;
  return word == "yes";
}

Result<shop::Inspected> found_by(const DeskCall& call, const Units& units) {
  Diagnostics wrong;
  shop::Inspected out;
  const auto length = [&](const char* name, const std::string& text, std::optional<Length>& to) {
    if (text.empty()) return;
    const auto read = read_length(text, units.metric ? LengthUnit::mm : LengthUnit::in);
    if (read) {
      to = *read;
      return;
    }
    Complaint fault = read.mistakes().items()[0];
    fault.where = name;
    wrong.add(std::move(fault));
  };
  length("--diagonal", call.diagonal_a, out.diagonal_a);
  length("--other-diagonal", call.diagonal_b, out.diagonal_b);
  length("--corner-off", call.gap, out.corner_gap);
  if (call.weight != 0) out.mass_kg = call.weight;
  out.cloth = yes_or_no(call.cloth);
  out.staples = yes_or_no(call.staples);
  out.label = yes_or_no(call.label);
  out.note = call.note;
  if (!wrong.empty()) return wrong;
  return out;
}

Result<shop::Station> station_of(const std::string& name) {
  for (int i = 0; i < shop::station_count; ++i)
    if (shop::station_names[std::size_t(i)] == name) return shop::Station(i);
  std::string all;
  for (const char* one : shop::station_names) all += (all.empty() ? "" : ", ") + std::string(one);
  return Complaint{"--station", "is no station", "\"" + name + "\"", "one of " + all, 0};
}

}  // namespace

int run_inspect_sheet(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto built = build_stored(**store, call.job, nullptr, progress_watch());
  progress_done();
  if (!built) return refuse(built.mistakes(), call.json);
  const auto lines = inspection_lines(*built);
  if (!call.out.empty()) {
    const auto file = inspection_file(*built, lines);
    if (!file) return fail(file.mistakes(), call.json);
    if (const auto written = write_file(call.out, file->bytes); !written)
      return fail(written.mistakes(), call.json);
  }
  const Units& units = built->job.region.units;
  Json out = Json::array();
  InspectRows rows{{"piece", "what", "diagonals", "differ by at most", "corner off", "weighs"}};
  for (const auto& line : lines) {
    out.push_back({{"label", line.piece.label},
                   {"product", line.piece.product},
                   {"diagonal_m", line.diagonal.metres()},
                   {"square_within_m", line.square_within.metres()},
                   {"flat_within_m", line.flat_within.metres()},
                   {"mass_kg", line.piece.mass_kg},
                   {"least_kg", line.least_kg},
                   {"most_kg", line.most_kg}});
    rows.push_back({line.piece.label, line.piece.product, print_length(line.diagonal, units),
                    print_fine(line.square_within, units), print_fine(line.flat_within, units),
                    print_mass(line.least_kg, units) + " to " + print_mass(line.most_kg, units)});
  }
  if (call.json)
    print(json_text({{"pieces", out}}) + "\n");
  else if (call.out.empty())
    print(table(rows, style_of_terminal()));
  else
    print("The inspection sheet is in " + call.out + ".\n");
  return exit_done;
}

int run_inspect_record(const DeskCall& call) {
  auto store = open_desk(call, Opening::write);
  if (!store) return fail(store.mistakes(), call.json);
  const auto built = build_stored(**store, call.job, nullptr, progress_watch());
  progress_done();
  if (!built) return refuse(built.mistakes(), call.json);
  const auto found = found_by(call, built->job.region.units);
  if (!found) return refuse(found.mistakes(), call.json);
  const auto result =
      keep_inspection(**store, *built, call.job, {call.piece, *found}, stamp_now(call));
  if (!result) return refuse(result.mistakes(), call.json);
  if (call.json) {
    shop::InspectionLine line;
    line.piece.label = call.piece;
    print(json_text(inspection_json(line, *result)) + "\n");
    return result->passed ? exit_done : exit_failed;
  }
  if (result->passed) print(call.piece + " passes.\n");
  for (const auto& fault : result->faults) print(wrapped(fault.sentence + ".", "", "  "));
  if (result->back_to)
    print(call.piece + " goes back to: " + shop::station_title(*result->back_to) + ".\n");
  if (!result->open.empty()) {
    std::string open;
    for (const std::string& one : result->open) open += (open.empty() ? "" : ", ") + one;
    print(call.piece + ": still to look at: " + open + ".\n");
  }
  return result->passed ? exit_done : exit_failed;
}

int run_inspect_list(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto built = build_stored(**store, call.job, nullptr, progress_watch());
  progress_done();
  if (!built) return refuse(built.mistakes(), call.json);
  const auto list = inspections_json(**store, *built, call.job);
  if (!list) return fail(list.mistakes(), call.json);
  if (call.json) {
    print(json_text(*list) + "\n");
    return exit_done;
  }
  InspectRows rows{{"piece", "state", "by", "at", "papers"}};
  for (const Json& piece : (*list)["pieces"]) {
    std::string papers;
    for (const Json& one : piece["certificates"])
      papers +=
          (papers.empty() ? "" : "; ") + one.value("material", "") + " " + one.value("says", "");
    const bool passed = piece["passed"] == true;
    rows.push_back({piece["label"].get<std::string>(),
                    passed                      ? "passed"
                    : piece.contains("back_to") ? "back to " + piece.value("back_to", "")
                                                : "waits",
                    piece.value("who", ""), piece.value("when", ""), papers});
  }
  print(table(rows, style_of_terminal()));
  const int waiting = (*list)["waiting"].get<int>();
  print(waiting == 0 ? "Every piece has passed.\n"
                     : std::to_string(waiting) + (waiting == 1 ? " piece has" : " pieces have") +
                           " not passed yet.\n");
  return exit_done;
}

int run_inspect_rework(const DeskCall& call) {
  const bool logs = call.minutes != 0;
  auto store = open_desk(call, logs ? Opening::write : Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  if (logs) {
    const auto station = station_of(call.station);
    if (!station) return refuse(station.mistakes(), call.json);
    const auto kept = keep_rework(
        **store, call.job, {call.piece, *station, call.cause, call.minutes}, stamp_now(call));
    if (!kept) return refuse(kept.mistakes(), call.json);
  }
  const auto rows = rework_of(**store, call.job);
  if (!rows) return fail(rows.mistakes(), call.json);
  Json out = Json::array();
  InspectRows lines{{"cause", "station", "times", "minutes"}};
  for (const auto& row : *rows) {
    const std::string station = shop::station_names[std::size_t(row.station)];
    out.push_back({{"cause", row.cause},
                   {"station", station},
                   {"times", row.times},
                   {"minutes", row.minutes}});
    lines.push_back({row.cause, station, std::to_string(row.times), fixed(row.minutes, 0)});
  }
  if (call.json)
    print(json_text({{"rework", out}}) + "\n");
  else
    print(rows->empty() ? "No rework was logged for this job.\n"
                        : table(lines, style_of_terminal()));
  return exit_done;
}

int run_inspect_certificate(const DeskCall& call) {
  auto store = open_desk(call, Opening::write);
  if (!store) return fail(store.mistakes(), call.json);
  const Certificate certificate{call.piece, call.material, call.kind,
                                call.says,  call.supplier, call.number};
  const auto kept = keep_certificate(**store, call.job, certificate, stamp_now(call));
  if (!kept) return refuse(kept.mistakes(), call.json);
  if (call.json)
    print(json_text(certificate_json(certificate)) + "\n");
  else
    print("Kept with " + (call.piece.empty() ? "every piece of " + call.job : call.piece) + ": " +
          call.material + ", " + call.says + ".\n");
  return exit_done;
}

}  // namespace roomwright::app
