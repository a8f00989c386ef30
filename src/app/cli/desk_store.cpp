// `roomwright store …`: documents, files, backups, a client's data.
#include <algorithm>
#include <filesystem>
#include <iostream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "app/cli/cli.h"
#include "app/cli/desk.h"
#include "app/cli/terminal.h"
#include "core/reading/reading.h"
#include "job/document/document.h"
#include "job/edits/edits.h"

namespace roomwright::app {

namespace {

namespace fs = std::filesystem;
using Rows = std::vector<std::vector<std::string>>;

void print_json(const Json& json) {
  print(json_text(json) + "\n");
}

std::string told_value(const std::string& json) {
  if (json.empty()) return "nothing";
  return json.size() <= 60 ? json : json.substr(0, 57) + " …";
}

std::string edit_text_of(const job::Edit& edit) {
  if (edit.from.empty()) return edit.at + ": " + told_value(edit.to) + " put in";
  if (edit.to.empty()) return edit.at + ": " + told_value(edit.from) + " taken out";
  return edit.at + ": " + told_value(edit.from) + " → " + told_value(edit.to);
}

/// The answer to a write; refused ones tell both values.
int tell_saved(const DeskCall& call, const Saved& saved, const std::string& id,
               const std::string& done) {
  if (call.json) print_json(saved_json(saved));
  if (saved.conflicts.empty()) {
    if (call.json) return exit_done;
    print(saved.sequence == 0
              ? id + ": nothing to change, version " + std::to_string(saved.version) + " stands.\n"
              : id + ": " + done + ", now version " + std::to_string(saved.version) + ".\n");
    if (saved.merged)
      print("Merged with what others wrote in between: no place was touched twice.\n");
    if (!saved.layout_kept)
      print("The file was written anew: its comments are in version " +
            std::to_string(saved.version - 1) + ".\n");
    return exit_done;
  }
  std::string out = id + ": not written, because it has changed since (now version " +
                    std::to_string(saved.version) + "):\n";
  for (const auto& one : saved.conflicts)
    out += "  " + (one.at.empty() ? std::string("the whole") : one.at) + ": was " +
           told_value(one.was) + ", is " + told_value(one.now) + ", wanted " +
           told_value(one.mine) + "\n";
  for (const Step& step : saved.since)
    out +=
        "  version " + std::to_string(step.version) + " by " + step.who + " at " + step.when + "\n";
  std::fputs((out + "Read it again and decide.\n").c_str(), stderr);
  return exit_failed;
}

Result<int> newest_version(Store& store, const std::string& id) {
  const auto document = store.document(id);
  if (!document) return document.mistakes();
  return document->head.version;
}

/// Reads a file and brings it in; a shop file keeps its whole name, because jobs name it so.
Result<std::pair<std::string, Saved>> import_one(Store& store, const std::string& path,
                                                 const std::string& as, const DeskCall& call) {
  auto text = read_file(path, 4u << 20);
  if (!text) return text.mistakes();
  const auto tree = job::text_tree(*text);
  if (!tree) {
    Diagnostics found;
    for (Complaint fault : tree.mistakes().items()) {
      fault.where = fault.where.empty() ? path : path + ": " + fault.where;
      found.add(std::move(fault));
    }
    return found;
  }
  const fs::path name(path);
  const std::string id = !as.empty()              ? as
                         : tree->contains("room") ? name.stem().string()
                                                  : name.filename().string();
  const auto saved =
      import_text(store, id, *text, stamp_now(call),
                  call.note.empty() ? "from " + name.filename().string() : call.note);
  if (!saved) return saved.mistakes();
  return std::pair{id, *saved};
}

/// The shop file beside a job, where the store has none of that name.
std::string shop_beside(Store& store, const std::string& path) {
  const auto text = read_file(path, 4u << 20);
  const auto shop = text ? job::shop_file_of(*text) : Result<std::string>(text.mistakes());
  if (!shop || store.document(*shop)) return "";
  const fs::path beside = fs::path(path).parent_path() / *shop;
  std::error_code fault;
  return fs::exists(beside, fault) ? beside.string() : "";
}

}  // namespace

int run_store_list(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto heads = (*store)->documents();
  if (!heads) return fail(heads.mistakes(), call.json);
  if (call.json) {
    Json out = Json::array();
    for (const DocumentHead& head : *heads) out.push_back(head_json(head));
    print_json({{"documents", out}});
    return exit_done;
  }
  Rows rows{{"document", "kind", "version", "last by", "at", ""}};
  for (const DocumentHead& head : *heads)
    rows.push_back({head.id, head.kind, std::to_string(head.version), head.who, head.when,
                    head.erased    ? "erased"
                    : head.removed ? "removed"
                                   : ""});
  print(heads->empty() ? "The store is empty.\n" : table(rows, style_of_terminal()));
  return exit_done;
}

int run_store_import(const DeskCall& call) {
  if (!call.as.empty() && call.paths.size() > 1) {
    Diagnostics found;
    found.add("--as", "names one document, but several files were given");
    return refuse(found, call.json);
  }
  auto store = open_desk(call, Opening::make);
  if (!store) return fail(store.mistakes(), call.json);
  std::vector<std::string> paths = call.paths;
  for (const std::string& path : call.paths)
    if (const std::string shop = shop_beside(**store, path); !shop.empty())
      if (std::find(paths.begin(), paths.end(), shop) == paths.end()) paths.push_back(shop);
  Json out = Json::array();
  for (const std::string& path : paths) {
    const auto one = import_one(**store, path, path == call.paths[0] ? call.as : "", call);
    if (!one) return refuse(one.mistakes(), call.json);
    Json said = saved_json(one->second);
    said["id"] = one->first;
    out.push_back(said);
    if (call.json) continue;
    if (const int code = tell_saved(call, one->second, one->first, "brought in"); code != exit_done)
      return code;
  }
  if (call.json) print_json({{"imported", out}});
  return exit_done;
}

int run_store_export(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto document = (*store)->document(call.id, call.version);
  if (!document) return refuse(document.mistakes(), call.json);
  if (!call.out.empty())
    if (const auto written = write_file(call.out, document->text); !written)
      return fail(written.mistakes(), call.json);
  if (call.json)
    print_json({{"head", head_json(document->head)},
                {"version", document->version},
                {"text", document->text}});
  else if (call.out.empty())
    print(document->text);
  else
    print(call.id + ", version " + std::to_string(document->version) + ", is in " + call.out +
          ".\n");
  return exit_done;
}

int run_store_history(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto steps = (*store)->history(call.id);
  if (!steps) return refuse(steps.mistakes(), call.json);
  if (call.json) {
    Json out = Json::array();
    for (const Step& step : *steps) out.push_back(step_json(step));
    print_json({{"id", call.id}, {"steps", out}});
    return exit_done;
  }
  const Style style = style_of_terminal();
  for (const Step& step : *steps) {
    print(style.strong("version " + std::to_string(step.version)) + "  " + step.when + "  " +
          step.who + "  " + step_kind_names()[std::size_t(step.kind)] +
          (step.of ? " version " + std::to_string(step.of) : "") +
          (step.note.empty() ? "" : ": " + step.note) + "\n");
    constexpr std::size_t most = 12;
    for (std::size_t i = 0; i < std::min(most, step.edits.size()); ++i)
      print("    " + edit_text_of(step.edits[i]) + "\n");
    if (step.edits.size() > most)
      print("    and " + std::to_string(step.edits.size() - most) + " more\n");
  }
  return exit_done;
}

int run_store_undo(const DeskCall& call, bool redo) {
  auto store = open_desk(call, Opening::write);
  if (!store) return fail(store.mistakes(), call.json);
  const auto version = newest_version(**store, call.id);
  if (!version) return refuse(version.mistakes(), call.json);
  const auto saved = redo ? (*store)->redo(call.id, *version, stamp_now(call))
                          : (*store)->undo(call.id, *version, stamp_now(call));
  if (!saved) return refuse(saved.mistakes(), call.json);
  return tell_saved(call, *saved, call.id, redo ? "made again" : "taken back");
}

int run_store_edit(const DeskCall& call) {
  std::string text;
  if (call.edits == "-") {
    text.assign(std::istreambuf_iterator<char>(std::cin), {});
  } else {
    auto read = read_file(call.edits, 8u << 20);
    if (!read) return refuse(read.mistakes(), call.json);
    text = std::move(*read);
  }
  const auto list = parse_json(text, 8u << 20);
  if (!list) return refuse(list.mistakes(), call.json);
  const auto edits = job::read_edits(*list);
  if (!edits) return refuse(edits.mistakes(), call.json);
  auto store = open_desk(call, Opening::write);
  if (!store) return fail(store.mistakes(), call.json);
  const auto version = newest_version(**store, call.id);
  if (!version) return refuse(version.mistakes(), call.json);
  const auto saved = (*store)->edit(call.id, call.base > 0 ? call.base : *version, *edits,
                                    stamp_now(call), call.note);
  if (!saved) return refuse(saved.mistakes(), call.json);
  return tell_saved(call, *saved, call.id, "edited");
}

int run_store_remove(const DeskCall& call) {
  auto store = open_desk(call, Opening::write);
  if (!store) return fail(store.mistakes(), call.json);
  const auto version = newest_version(**store, call.id);
  if (!version) return refuse(version.mistakes(), call.json);
  const auto saved = (*store)->remove(call.id, *version, stamp_now(call));
  if (!saved) return refuse(saved.mistakes(), call.json);
  return tell_saved(call, *saved, call.id, "put out of the way (undo brings it back)");
}

// ---- the whole
// ------------------------------------------------------------------------------------

int run_store_check(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto report = (*store)->check(progress_watch());
  progress_done();
  if (!report) return fail(report.mistakes(), call.json);
  if (call.json) print_json(check_json(*report));
  if (!report->faults.empty()) {
    if (!call.json) std::fputs(report->faults.text().c_str(), stderr);
    return exit_failed;
  }
  if (!call.json)
    print("Sound: " + std::to_string(report->documents) + " documents with " +
          std::to_string(report->steps) + " steps, " + std::to_string(report->files) +
          " files of " + fixed(double(report->bytes) / 1e6, 1) + " MB, " +
          std::to_string(report->entries) + " journal entries; schema " +
          std::to_string(report->schema) + ".\n");
  return exit_done;
}

int run_store_backup(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  std::string path = call.path;
  if (path.empty()) {
    const auto made = (*store)->daily_backup(now_utc().substr(0, 10), progress_watch());
    progress_done();
    if (!made) return fail(made.mistakes(), call.json);
    path = *made;
  } else if (const auto made = (*store)->backup(path, progress_watch()); !made) {
    progress_done();
    return fail(made.mistakes(), call.json);
  }
  progress_done();
  if (call.json)
    print_json({{"backup", path}, {"backups", store_backups(store_file(call))}});
  else
    print(path.empty() ? "Today has its backup already; name a file for another.\n"
                       : "The backup is in " + path + ", and it is sound.\n");
  return exit_done;
}

int run_store_restore(const DeskCall& call) {
  const auto aside = restore_store(call.path, store_file(call), now_utc());
  if (!aside) return fail(aside.mistakes(), call.json);
  if (call.json)
    print_json({{"restored", call.path}, {"replaced", *aside}});
  else
    print("The backup is in the store's place." +
          (aside->empty() ? std::string() : " What was there is in " + *aside + ".") + "\n");
  return exit_done;
}

// ---- files
// ----------------------------------------------------------------------------------------

int run_store_files(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto files = call.id.empty() ? (*store)->files(std::nullopt) : (*store)->files(call.id);
  if (!files) return fail(files.mistakes(), call.json);
  Json out = Json::array();
  Rows rows{{"number", "name", "kind", "job", "piece", "bytes", "by", "at"}};
  for (const StoredFile& file : *files) {
    out.push_back(file_json(file));
    rows.push_back({std::to_string(file.id), file.note.name, file.note.kind, file.note.document,
                    file.note.piece, std::to_string(file.bytes), file.who, file.when});
  }
  if (call.json)
    print_json({{"files", out}});
  else
    print(files->empty() ? "No files.\n" : table(rows, style_of_terminal()));
  return exit_done;
}

int run_store_attach(const DeskCall& call) {
  const auto bytes = read_file(call.path, most_file_bytes);
  if (!bytes) return refuse(bytes.mistakes(), call.json);
  auto store = open_desk(call, Opening::write);
  if (!store) return fail(store.mistakes(), call.json);
  const auto kept = (*store)->put_file(
      {fs::path(call.path).filename().string(), call.kind, call.id, call.piece, call.place}, *bytes,
      stamp_now(call));
  if (!kept) return refuse(kept.mistakes(), call.json);
  if (call.json)
    print_json(file_json(*kept));
  else
    print(kept->note.name + " is kept as file " + std::to_string(kept->id) + ".\n");
  return exit_done;
}

int run_store_fetch(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto bytes = (*store)->file_bytes(call.number);
  if (!bytes) return refuse(bytes.mistakes(), call.json);
  if (const auto written = write_file(call.out, *bytes); !written)
    return fail(written.mistakes(), call.json);
  if (call.json)
    print_json({{"file", call.number}, {"out", call.out}, {"bytes", bytes->size()}});
  else
    print("File " + std::to_string(call.number) + " is in " + call.out + ".\n");
  return exit_done;
}

// ---- a client's data
// --------------------------------------------------------------------------------

int run_store_client(const DeskCall& call) {
  auto store = open_desk(call, Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  const auto jobs = jobs_of_client(**store, call.client);
  if (!jobs) return refuse(jobs.mistakes(), call.json);
  const auto files = client_files(**store, *jobs, progress_watch());
  progress_done();
  if (!files) return fail(files.mistakes(), call.json);
  if (const auto written = write_pack(*files, call.out); !written)
    return fail(written.mistakes(), call.json);
  if (call.json)
    print_json({{"client", call.client}, {"jobs", *jobs}, {"files", files->size()}});
  else
    print("All that the store has of " + call.client + " is in " + call.out + ": " +
          std::to_string(jobs->size()) + (jobs->size() == 1 ? " job, " : " jobs, ") +
          std::to_string(files->size()) + " files. READ-ME.txt says what is what.\n");
  return exit_done;
}

namespace {

/// Backups hold what was erased: told, or removed and made anew.
int after_erasing(const DeskCall& call, Store& store, const std::vector<std::string>& backups) {
  if (backups.empty()) return exit_done;
  if (!call.backups) {
    std::string out =
        "These backups still hold what was erased; remove them, or erase with "
        "--backups the next time:\n";
    for (const std::string& path : backups) out += "  " + path + "\n";
    if (!call.json) print(out);
    return exit_done;
  }
  std::error_code fault;
  for (const std::string& path : backups) fs::remove(path, fault);
  const auto made = store.daily_backup(now_utc().substr(0, 10));
  if (!made) return fail(made.mistakes(), call.json);
  if (!call.json) print("The backups were removed and one made anew.\n");
  return exit_done;
}

}  // namespace

int run_store_erase(const DeskCall& call) {
  auto store = open_desk(call, call.yes ? Opening::write : Opening::look);
  if (!store) return fail(store.mistakes(), call.json);
  std::vector<std::string> jobs = call.ids;
  if (!call.client.empty()) {
    const auto of_client = jobs_of_client(**store, call.client);
    if (!of_client) return refuse(of_client.mistakes(), call.json);
    jobs.insert(jobs.end(), of_client->begin(), of_client->end());
  }
  if (jobs.empty()) {
    Diagnostics found;
    found.add("erase", "names nothing", {}, "name jobs, or --client NAME");
    return refuse(found, call.json);
  }
  if (!call.yes) {
    if (call.json) print_json({{"would_erase", jobs}});
    if (!call.json) {
      print(
          "With --yes these go for good, with their history, files, inspections and "
          "certificates:\n");
      for (const std::string& id : jobs) print("  " + id + "\n");
      print(
          "For the tax office the quote's number, date and totals stay, without a name. Export "
          "them first if the client wants them: roomwright store client NAME --out DIR.\n");
    }
    return exit_done;
  }
  const auto erased = erase_jobs(**store, jobs, stamp_now(call));
  if (!erased) return refuse(erased.mistakes(), call.json);
  const auto& report = erased->report;
  if (call.json) {
    Json kept = Json::array();
    for (const std::string& one : erased->kept) kept.push_back(Json::parse(one));
    print_json({{"erased", jobs.size()},
                {"steps", report.steps},
                {"files", report.files},
                {"entries", report.entries},
                {"kept", kept},
                {"backups", report.backups}});
  } else {
    print("Erased: " + std::to_string(jobs.size()) + (jobs.size() == 1 ? " job, " : " jobs, ") +
          std::to_string(report.steps) + " steps, " + std::to_string(report.files) + " files, " +
          std::to_string(report.entries) + " entries. Kept for tax, without a name:\n");
    for (const std::string& one : erased->kept) print(one);
  }
  return after_erasing(call, **store, report.backups);
}

}  // namespace roomwright::app
