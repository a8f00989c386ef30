// Arguments and dispatch; see cli.h.
#include "app/cli/cli.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <iostream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "app/api/api.h"
#include "app/cli/completion.h"
#include "app/cli/desk.h"
#include "app/cli/serve.h"
#include "app/cli/summary.h"
#include "app/cli/terminal.h"

namespace roomwright::app {

namespace {

struct Call {
  std::string job_path, out_folder, kind, request_path = "-", shell;
  bool json = false, rays = false;
  std::string take_path, listen_folder = "listening";
  std::string deepest, instead_of, width, height, front;
  double hz = 0, half_width_hz = 20;
  bool treated = false;
  std::vector<double> pressure_hz;
  std::string plane, loudspeaker, pressure_folder;
  std::vector<std::string> job_paths;
  std::string together_folder, shop_path, log_path, note_line;
  bool write = false;
  ProofFiles proof;
};

}  // namespace

void print(const std::string& text) {
  std::fwrite(text.data(), 1, text.size(), stdout);
}

int refuse(const Diagnostics& found, bool as_json) {
  const std::string text = as_json ? json_text(json_of(found)) + "\n" : found.text();
  std::fwrite(text.data(), 1, text.size(), stderr);
  if (!as_json && found.size() > 1) std::fprintf(stderr, "%zu mistakes.\n", found.size());
  return not_built(found) ? exit_not_built : exit_wrong_input;
}

namespace {

/// Reads the job of a call; what reading changed in an older file is told on standard error.
Result<job::Job> open_job(const Call& call) {
  auto job = load_job(call.job_path);
  if (job)
    for (const std::string& note : job->notes)
      std::fprintf(stderr, "%s: an older form, read as: %s\n", call.job_path.c_str(), note.c_str());
  return job;
}

/// Where long solutions are kept: ROOMWRIGHT_KEPT, or a folder among the user's caches.
std::string kept_folder() {
  const auto variable = [](const char* name) -> std::string {
    const char* value = std::getenv(name);
    return value ? value : "";
  };
  if (const char* named = std::getenv("ROOMWRIGHT_KEPT")) return named;
  if (const std::string caches = variable("XDG_CACHE_HOME"); !caches.empty())
    return caches + "/roomwright";
  const std::string home = variable("HOME");
  return home.empty() ? std::string() : home + "/.cache/roomwright";
}

/// Progress on the terminal, and what earlier runs kept.
job::Run run_here() {
  return {progress_watch(), job::keep_in(kept_folder())};
}

Result<job::Pack> run_stages(const job::Job& job, bool sound_field = true) {
  job::Run run = run_here();
  run.sound_field = sound_field;
  auto pack = job::run_all(job, run);
  progress_done();
  return pack;
}

int check_job(const Call& call) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  const auto pack = run_stages(*job, false);
  if (!pack) return refuse(pack.mistakes(), call.json);
  Diagnostics faults;
  for (const auto& piece : pack->treatment.pieces)
    for (const auto& fault : piece.placement.faults)
      faults.add("pieces." + piece.label, fault.what, {}, fault.remedy);
  if (call.json)
    print(json_text(json_of(faults)) + "\n");
  else if (faults.empty())
    print("No mistakes: " + std::to_string(job->pieces.size()) + " pieces in " + job->title +
          ".\n");
  if (faults.empty()) return exit_done;
  if (!call.json) std::fputs(faults.text().c_str(), stderr);
  return exit_failed;
}

Diagnostics told(const Complaint& fault) {
  Diagnostics found;
  found.add(fault);
  return found;
}

/// What needs a room cannot be asked of an order.
std::optional<Complaint> needs_a_room(const job::Job& job, const std::string& what) {
  if (!job.order) return std::nullopt;
  return Complaint{what,
                   "needs a room, and this document is an order",
                   {},
                   "order, build, price and pack work without one",
                   0};
}

/// Findings trace the room as it is, treatment the room with its pieces.
int run_stage_with_rays(const Call& call, const job::Job& job, const job::Pack& pack,
                        const std::string& stage) {
  job::RayOptions options;
  options.watch = progress_watch();
  const auto rays = job::rays_at_seats(job, pack.survey, pack.findings,
                                       stage == "treatment" ? &pack.treatment : nullptr, options);
  progress_done();
  if (!rays) return refuse(rays.mistakes(), call.json);
  if (call.json) {
    Json out = stage_json(job, pack, stage);
    out["rays"] = seat_rays_json(*rays);
    print(json_text(out) + "\n");
  } else {
    const Style style = style_of_terminal();
    print(stage_summary(job, pack, stage, style) + seat_rays_summary(*rays, style));
  }
  return exit_done;
}

/// The proof's paper alone into a folder; an exit code where that failed.
std::optional<int> write_proof(const Call& call, const job::Job& job, const job::Pack& pack) {
  const auto paper = proof_file(job, pack);
  if (!paper) return refuse(paper.mistakes(), call.json);
  const auto written = write_pack({*paper}, call.out_folder);
  if (!written) std::fputs(written.mistakes().text().c_str(), stderr);
  return written ? std::nullopt : std::optional<int>(exit_failed);
}

int run_stage(const Call& call, const std::string& stage) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  if (const auto fault = needs_a_room(*job, stage); fault && stage != "build" && stage != "price")
    return refuse(told(*fault), call.json);
  // Recordings first: who names a wrong file is told at once.
  auto sides = proof_sides(call.proof);
  if (!sides) return refuse(sides.mistakes(), call.json);
  // What is cut, paid and hung does not wait for the sound field.
  const bool heard = stage == "findings" || stage == "treatment" || stage == "proof";
  auto pack = run_stages(*job, heard);
  if (!pack) return refuse(pack.mistakes(), call.json);
  if (call.rays) return run_stage_with_rays(call, *job, *pack, stage);
  prove(*pack, std::move(*sides));
  if (stage == "proof" && !call.out_folder.empty())
    if (const auto code = write_proof(call, *job, *pack)) return *code;
  print(call.json ? json_text(stage_json(*job, *pack, stage)) + "\n"
                  : stage_summary(*job, *pack, stage, style_of_terminal()));
  return exit_done;
}

/// `material:thickness`, or `material:thickness:gap`, as a person types it.
Result<design::WantedBoard> wanted_board(const job::Job& job, const std::string& text) {
  std::vector<std::string> parts(1);
  for (const char letter : text)
    if (letter == ':')
      parts.emplace_back();
    else
      parts.back() += letter;
  const char* form = "such as stone_wool_80:50mm or stone_wool_80:50mm:100mm (with a gap)";
  if (parts.size() < 2 || parts.size() > 3)
    return Complaint{"--instead-of", "must be a board and its thickness", "\"" + text + "\"", form,
                     0};
  const LengthUnit unit = job.region.units.metric ? LengthUnit::mm : LengthUnit::in;
  design::WantedBoard out;
  out.material = parts[0];
  const auto thickness = read_length(parts[1], unit);
  if (!thickness || *thickness <= Length())
    return Complaint{"--instead-of", "has no thickness", "\"" + parts[1] + "\"", form, 0};
  out.thickness = *thickness;
  if (parts.size() == 3) {
    const auto gap = read_length(parts[2], unit);
    if (!gap || *gap < Length())
      return Complaint{"--instead-of", "has no gap", "\"" + parts[2] + "\"", form, 0};
    out.gap = *gap;
  }
  for (const auto& [key, cloth] : job.shop.cloths)
    if (cloth.face &&
        (out.cloth.empty() ||
         cloth.flow_resistance_pa_s_m < job.shop.cloths.at(out.cloth).flow_resistance_pa_s_m))
      out.cloth = key;
  return out;
}

/// A length option in the job's own units; the fallback where it was not given.
Result<Length> length_option(const job::Job& job, const char* name, const std::string& text,
                             Length fallback) {
  if (text.empty()) return fallback;
  const auto read = read_length(text, job.region.units.metric ? LengthUnit::mm : LengthUnit::in);
  if (read) return *read;
  Complaint fault = read.mistakes().items()[0];
  fault.where = name;
  return fault;
}

int run_fill(const Call& call) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  if (const auto fault = needs_a_room(*job, "fill")) return refuse(told(*fault), call.json);
  job::FillOptions options;
  const auto deepest = length_option(*job, "--deepest", call.deepest, options.deepest);
  if (!deepest) return refuse(deepest.mistakes(), call.json);
  options.deepest = *deepest;
  if (!call.instead_of.empty()) {
    const auto wanted = wanted_board(*job, call.instead_of);
    if (!wanted) return refuse(wanted.mistakes(), call.json);
    options.instead_of = *wanted;
  }
  const job::Run run = run_here();
  const auto survey = job::survey(*job);
  const auto report = job::fill(*job, survey, job::findings(*job, survey, run), options, run.watch);
  progress_done();
  if (!report) return refuse(report.mistakes(), call.json);
  print(call.json ? json_text(fill_json(*job, *report)) + "\n"
                  : fill_summary(*job, *report, style_of_terminal()));
  return exit_done;
}

int run_tune(const Call& call) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  if (const auto fault = needs_a_room(*job, "tune")) return refuse(told(*fault), call.json);
  design::TrapTarget target;
  target.hz = call.hz;
  target.half_width_hz = call.half_width_hz;
  for (const auto& [name, text, to] : {std::tuple{"--deepest", &call.deepest, &target.deepest},
                                       {"--width", &call.width, &target.width},
                                       {"--height", &call.height, &target.height}}) {
    const auto read = length_option(*job, name, *text, *to);
    if (!read) return refuse(read.mistakes(), call.json);
    *to = *read;
  }
  const std::vector<std::string> fronts = {"perforated", "slotted", "membrane"};
  if (!call.front.empty())
    target.fronts = {static_cast<design::Front>(
        std::find(fronts.begin(), fronts.end(), call.front) - fronts.begin())};
  const Watch watch = progress_watch();
  const auto report = job::tune(*job, job::survey(*job), target, watch);
  progress_done();
  if (!report) return refuse(report.mistakes(), call.json);
  print(call.json ? json_text(tune_json(*job, *report)) + "\n"
                  : tune_summary(*job, *report, style_of_terminal()));
  return exit_done;
}

int run_places(const Call& call) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  if (const auto fault = needs_a_room(*job, "places")) return refuse(told(*fault), call.json);
  const auto survey = job::survey(*job);
  const auto treatment = job::placed(*job);
  if (!treatment) return refuse(treatment.mistakes(), call.json);
  job::PlacesOptions options;
  options.treated = call.treated;
  const auto report = job::places(*job, survey, *treatment, options, run_here());
  progress_done();
  if (!report) return refuse(report.mistakes(), call.json);
  print(call.json ? json_text(places_json(*report)) + "\n"
                  : places_summary(*job, *report, style_of_terminal()));
  return exit_done;
}

/// Names a mistake's option as it was typed.
Diagnostics as_options(Diagnostics found) {
  for (Complaint& one : found.items())
    for (const char* name : {"hz", "plane", "loudspeaker"})
      if (one.where == name) one.where = std::string("--") + name;
  return found;
}

int run_pressure(const Call& call) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  if (const auto fault = needs_a_room(*job, "pressure")) return refuse(told(*fault), call.json);
  job::PressureOptions options;
  options.hz = call.pressure_hz;
  options.loudspeaker = call.loudspeaker;
  options.treated = call.treated;
  const auto plane = length_option(*job, "--plane", call.plane, Length());
  if (!plane) return refuse(plane.mistakes(), call.json);
  if (!call.plane.empty()) options.plane_m = plane->metres();
  const job::Run run = run_here();
  const auto survey = job::survey(*job);
  const auto findings = options.hz.empty() ? job::findings(*job, survey, run) : job::Findings();
  const auto treatment = job::placed(*job);
  if (!treatment) return refuse(treatment.mistakes(), call.json);
  const auto report = job::pressure(*job, survey, findings, *treatment, options, run);
  progress_done();
  if (!report) return refuse(as_options(report.mistakes()), call.json);
  if (!call.pressure_folder.empty()) {
    const auto files = pressure_files(*job, *treatment, *report);
    if (!files) return refuse(files.mistakes(), call.json);
    if (const auto written = write_pack(*files, call.pressure_folder); !written) {
      std::fputs(written.mistakes().text().c_str(), stderr);
      return exit_failed;
    }
  }
  print(call.json ? json_text(pressure_json(*report)) + "\n"
                  : pressure_summary(*job, *report, style_of_terminal()));
  if (!call.json && !call.pressure_folder.empty())
    print("\nThe maps are in " + call.pressure_folder + ".\n");
  return exit_done;
}

/// The quick price of an order: what is asked, its cartons, their carriage.
int run_order(const Call& call) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  if (!job->order) {
    Diagnostics found;
    found.add("order", "is missing: this document is a job with a room", {},
              "price prices a job; an order has [order] in place of [room]");
    return refuse(found, call.json);
  }
  const auto pack = run_stages(*job);
  if (!pack) return refuse(pack.mistakes(), call.json);
  print(call.json ? json_text(order_json(*job, *pack)) + "\n"
                  : order_summary(*job, *pack, style_of_terminal()));
  return exit_done;
}

int run_pack(const Call& call) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  auto sides = proof_sides(call.proof);
  if (!sides) return refuse(sides.mistakes(), call.json);
  const job::Run run = run_here();
  auto pack = job::run_all(*job, run);
  if (!pack) {
    progress_done();
    return refuse(pack.mistakes(), call.json);
  }
  prove(*pack, std::move(*sides));
  const auto files = pack_files(*job, *pack, run.watch);
  progress_done();
  if (!files) return refuse(files.mistakes(), call.json);
  if (const auto written = write_pack(*files, call.out_folder); !written) {
    std::fputs(written.mistakes().text().c_str(), stderr);
    return exit_failed;
  }
  if (call.json) {
    print(json_text(pack_json(*job, *pack)) + "\n");
    return exit_done;
  }
  print(pack_summary(*job, *pack, style_of_terminal()));
  print("\nThe pack is in " + call.out_folder + ":\n");
  for (const auto& file : *files)
    if (file.path.size() > 4 && file.path.substr(file.path.size() - 4) == ".pdf")
      print("  " + call.out_folder + "/" + file.path + "\n");
  return exit_done;
}

int run_listen(const Call& call) {
  const auto job = open_job(call);
  if (!job) return refuse(job.mistakes(), call.json);
  if (const auto fault = needs_a_room(*job, "listen")) return refuse(told(*fault), call.json);
  const auto report = listen(*job, call.take_path, run_here());
  progress_done();
  if (!report) return refuse(report.mistakes(), call.json);
  if (const auto written = write_pack(report->files, call.listen_folder); !written) {
    std::fputs(written.mistakes().text().c_str(), stderr);
    return exit_failed;
  }
  print(call.json ? json_text(listen_json(*report)) + "\n"
                  : listen_summary(*report, call.listen_folder, style_of_terminal()));
  return exit_done;
}

int run_together(const Call& call) {
  const auto jobs = load_jobs(call.job_paths);
  if (!jobs) return refuse(jobs.mistakes(), call.json);
  std::vector<const job::Job*> pointers;
  for (const job::Job& job : *jobs) pointers.push_back(&job);
  const auto sheet = job::together(pointers, progress_watch());
  progress_done();
  if (!sheet) return refuse(sheet.mistakes(), call.json);
  if (!call.together_folder.empty()) {
    const auto files = together_files(*sheet);
    if (!files) return refuse(files.mistakes(), call.json);
    if (const auto written = write_pack(*files, call.together_folder); !written) {
      std::fputs(written.mistakes().text().c_str(), stderr);
      return exit_failed;
    }
  }
  print(call.json ? json_text(together_json(*sheet)) + "\n"
                  : together_summary(*sheet, style_of_terminal()));
  if (!call.json && !call.together_folder.empty())
    print("\nThe papers are in " + call.together_folder + ".\n");
  return exit_done;
}

int run_times(const Call& call) {
  if (!call.note_line.empty())
    if (const auto noted = note_time(call.shop_path, call.log_path, call.note_line); !noted)
      return refuse(noted.mistakes(), call.json);
  auto report = learn_from_log(call.shop_path, call.log_path);
  if (!report) return refuse(report.mistakes(), call.json);
  if (call.write)
    if (const auto written = write_times(*report); !written)
      return refuse(written.mistakes(), call.json);
  print(call.json ? json_text(times_json(*report)) + "\n"
                  : times_summary(*report, style_of_terminal()));
  return exit_done;
}

int run_calc(const Call& call) {
  constexpr std::size_t most_bytes = 32u << 20;
  std::string text;
  if (call.request_path == "-") {
    char block[1 << 16];
    while (std::cin.read(block, sizeof block) || std::cin.gcount() > 0) {
      text.append(block, static_cast<std::size_t>(std::cin.gcount()));
      if (text.size() > most_bytes) break;
    }
  } else {
    auto read = read_file(call.request_path, most_bytes);
    if (!read) return refuse(read.mistakes(), true);
    text = std::move(*read);
  }
  const auto request = parse_json(text, most_bytes);
  if (!request) return refuse(request.mistakes(), true);
  const auto answer = calc(call.kind, *request);
  if (!answer) return refuse(answer.mistakes(), true);
  print(json_text(*answer) + "\n");
  return exit_done;
}

const std::vector<std::pair<std::string, std::string>>& stage_help() {
  static const std::vector<std::pair<std::string, std::string>> help = {
      {"survey", "the room as measured: sizes, surfaces, and how well the tape closes"},
      {"findings", "what is wrong with the room, worst first"},
      {"treatment", "what hangs where, and what it will do"},
      {"build", "cut plans, cloth, boards, hardware, stations and times"},
      {"price", "what to buy, what it costs the shop, what the client is asked"},
      {"hang", "where each piece hangs, its fixings and loads, and the way in"},
      {"proof", "what to measure after hanging, against which target, and what recordings prove"}};
  return help;
}

int parse_and_run(int argc, char** argv) {
  CLI::App app{"Roomwright: from a measured room to panels that are built, priced and hung.",
               "roomwright"};
  app.set_version_flag("--version", "roomwright " ROOMWRIGHT_VERSION);
  app.require_subcommand(1);
  app.footer(
      "Exit codes: 0 done; 1 the machine failed, or a piece cannot hang as drawn; 2 wrong input or "
      "call; 3 not built yet.\nEnvironment: NO_COLOR turns colour off; ROOMWRIGHT_KEPT names the "
      "folder "
      "where long solutions are kept (empty: none), else one among your caches; ROOMWRIGHT_STORE "
      "the "
      "store's file, ROOMWRIGHT_WHO who changes it.");
  Call call;
  const auto job_command = [&](const std::string& name, const std::string& help) {
    CLI::App* command = app.add_subcommand(name, help);
    command->add_option("JOB", call.job_path, "the job file (TOML or JSON)")->required();
    command->add_flag("--json", call.json, "print JSON for programs");
    return command;
  };
  const auto proof_options = [&](CLI::App* command) {
    command
        ->add_option("--before", call.proof.before, "recordings before hanging, a file a position")
        ->delimiter(',');
    command->add_option("--after", call.proof.after, "recordings after hanging")->delimiter(',');
    command->add_option("--sweep", call.proof.sweep,
                        "what was played, where they are recorded sweeps and no responses");
  };
  CLI::App* check = job_command("check", "read the job and tell every mistake");
  std::vector<CLI::App*> stages;
  for (const auto& [name, help] : stage_help()) {
    stages.push_back(job_command(name, help));
    if (name == "findings" || name == "treatment")
      stages.back()->add_flag("--rays", call.rays,
                              "trace rays too: decay and clarity at each seat, with their doubt");
    if (name == "proof") {
      proof_options(stages.back());
      stages.back()->add_option("--out", call.out_folder, "a folder for the proof's paper");
    }
  }
  CLI::App* pack =
      job_command("pack", "write the whole job as a folder of papers, drawings, tables");
  pack->add_option("--out", call.out_folder, "the folder to write")->required();
  proof_options(pack);
  CLI::App* order = job_command("order", "price an order of pieces for a customer who hangs them");
  CLI::App* fill =
      job_command("fill", "what to fill the frames with, of all that the shop can buy");
  fill->add_option("--deepest", call.deepest, "most depth of boards and gap, such as 200mm or 8in");
  fill->add_option("--instead-of", call.instead_of,
                   "a board that is not sold here, such as stone_wool_80:50mm");
  CLI::App* tune = job_command("tune", "tuned traps designed backwards from the band they are for");
  tune->add_option("--hz", call.hz, "where the trap shall absorb most, 20 to 500")->required();
  tune->add_option("--half-width", call.half_width_hz,
                   "how far from there its absorption has fallen to half, Hz (20)");
  tune->add_option("--deepest", call.deepest, "most outside depth, such as 180mm (180 mm)");
  tune->add_option("--width", call.width, "outside (600 mm)");
  tune->add_option("--height", call.height, "outside (1200 mm)");
  tune->add_option("--front", call.front, "perforated, slotted or membrane; else all three")
      ->check(CLI::IsMember({"perforated", "slotted", "membrane"}));
  CLI::App* places =
      job_command("places", "where loudspeakers and seat get the evenest bass in this room");
  places->add_flag("--treated", call.treated, "with the job's pieces; else the room of today");
  CLI::App* pressing = job_command(
      "pressure", "where sound presses on walls, floor, ceiling and a plane: where a trap bites");
  pressing
      ->add_option("--hz", call.pressure_hz,
                   "frequencies from 20 to 300, such as 42 or 42,63 (the findings' peaks)")
      ->delimiter(',');
  pressing->add_flag("--treated", call.treated, "beside today's, the room with the job's pieces");
  pressing->add_option("--plane", call.plane, "height of the plane, such as 1.2m (the first seat)");
  pressing->add_option("--loudspeaker", call.loudspeaker, "one alone (all, playing the same)");
  pressing->add_option("--out,--output", call.pressure_folder, "a folder for maps and table");
  CLI::App* listening =
      job_command("listen", "a dry take as it would sound at each seat, today and treated");
  listening->add_option("--dry", call.take_path, "the take: WAV or FLAC, one or two channels")
      ->required();
  listening->add_option("--out", call.listen_folder, "the folder to write (listening)");
  CLI::App* together =
      app.add_subcommand("together", "several jobs in one run: one cut plan, and who pays what");
  together->add_option("JOB", call.job_paths, "two or more job files that name one shop file")
      ->required()
      ->expected(1, 24);
  together->add_option("--out", call.together_folder, "a folder for the papers");
  together->add_flag("--json", call.json, "print JSON for programs");
  CLI::App* times = app.add_subcommand(
      "times", "the shop's times against what was noted at the bench, with a proposal");
  times->add_option("SHOP", call.shop_path, "the shop file")->required();
  times->add_option("--log", call.log_path, "the log (else SHOP with .times.csv for its ending)");
  times->add_option("--note", call.note_line,
                    "first add a session to the log: 2026-11-20,a,saw,set_up 1,14");
  times->add_flag("--write", call.write, "write what moves into the shop file");
  times->add_flag("--json", call.json, "print JSON for programs");
  CLI::App* calculate = app.add_subcommand("calc", "one calculation: JSON in, JSON out");
  calculate
      ->add_option("KIND", call.kind,
                   "absorber, cutting, decay, diffuser, fixing, impulse, layout, modes, rating, "
                   "reflections, response")
      ->required();
  calculate->add_option("FILE", call.request_path, "the request; - or nothing: standard input");
  DeskCall desk;
  std::function<int()> at_desk;
  add_desk_commands(app, desk, at_desk);
  ServeCall serve;
  add_serve_command(app, serve, at_desk, kept_folder);
  CLI::App* completion = app.add_subcommand("completion", "print a completion script for a shell");
  completion->add_option("SHELL", call.shell, "bash, zsh or fish")
      ->required()
      ->check(CLI::IsMember({"bash", "zsh", "fish"}));
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& fault) {
    const int code = app.exit(fault);
    return code == 0 ? exit_done : exit_wrong_input;
  }
  if (at_desk) return at_desk();
  if (check->parsed()) return check_job(call);
  for (std::size_t i = 0; i < stages.size(); ++i)
    if (stages[i]->parsed()) return run_stage(call, stage_help()[i].first);
  if (order->parsed()) return run_order(call);
  if (fill->parsed()) return run_fill(call);
  if (tune->parsed()) return run_tune(call);
  if (places->parsed()) return run_places(call);
  if (pressing->parsed()) return run_pressure(call);
  if (pack->parsed()) return run_pack(call);
  if (listening->parsed()) return run_listen(call);
  if (together->parsed()) return run_together(call);
  if (times->parsed()) return run_times(call);
  if (calculate->parsed()) return run_calc(call);
  print(completion_script(call.shell));
  return exit_done;
}

}  // namespace

int run_cli(int argc, char** argv) {
  try {
    return parse_and_run(argc, argv);
  } catch (const std::exception& fault) {
    std::fprintf(stderr, "roomwright: our own mistake: %s\n", fault.what());
    return exit_failed;
  }
}

}  // namespace roomwright::app
