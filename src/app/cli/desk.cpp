// The commands of the store as arguments; see desk.h.
#include "app/cli/desk.h"

#include <CLI/CLI.hpp>
#include <cstdlib>
#include <ctime>

#include "app/cli/cli.h"
#include "app/cli/terminal.h"
#include "core/reading/reading.h"
#include "shop/ledger/ledger.h"

namespace roomwright::app {

namespace {

std::string from_environment(const char* name) {
  const char* value = std::getenv(name);
  return value ? value : "";
}

/// Options that all commands of one family have.
CLI::App* desk_command(CLI::App& family, const char* name, const char* help, DeskCall& call,
                       std::function<int()>& chosen, int (*run)(const DeskCall&), bool writes) {
  CLI::App* command = family.add_subcommand(name, help);
  command->add_option("--store", call.store_path,
                      "the store's file (ROOMWRIGHT_STORE, or shop.store among your data)");
  command->add_flag("--json", call.json, "print JSON for programs");
  if (writes) {
    command->add_option("--who", call.who, "who does it (ROOMWRIGHT_WHO, or your user name)");
    command->add_option("--note", call.note, "why, for the history");
  }
  command->callback([&call, &chosen, run] { chosen = [&call, run] { return run(call); }; });
  return command;
}

void add_store_commands(CLI::App& store, DeskCall& call, std::function<int()>& chosen) {
  const auto add = [&](const char* name, const char* help, int (*run)(const DeskCall&),
                       bool writes = false) {
    return desk_command(store, name, help, call, chosen, run, writes);
  };
  const auto with_id = [&](CLI::App* command) {
    command->add_option("ID", call.id, "a document of the store")->required();
    return command;
  };
  add("list", "what the store has", run_store_list);
  CLI::App* import =
      add("import", "bring job and shop files in, byte for byte", run_store_import, true);
  import->add_option("FILE", call.paths, "TOML or JSON files")->required();
  import->add_option("--as", call.as, "the name in the store, for one file");
  CLI::App* out = with_id(add("export", "a document as its file", run_store_export));
  out->add_option("--out", call.out, "the file to write; else standard output");
  out->add_option("--version", call.version, "an older one");
  with_id(add("history", "every step: what, who, when", run_store_history));
  with_id(add(
      "undo", "take the last step back", [](const DeskCall& c) { return run_store_undo(c, false); },
      true));
  with_id(add(
      "redo", "make what was undone last again",
      [](const DeskCall& c) { return run_store_undo(c, true); }, true));
  CLI::App* edit =
      with_id(add("edit", "make edits: a JSON list of at, from, to", run_store_edit, true));
  edit->add_option("EDITS", call.edits, "the file; - or nothing: standard input");
  edit->add_option("--base", call.base, "the version they were made on (the newest)");
  with_id(
      add("remove", "put a document out of the way; undo brings it back", run_store_remove, true));
  add("check", "look whether all of it is sound", run_store_check);
  add("backup", "a whole copy, checked", run_store_backup)
      ->add_option("FILE", call.path, "where to; else the backup of today");
  add("restore", "put a backup in the store's place; what was there is kept", run_store_restore)
      ->add_option("BACKUP", call.path, "the backup")
      ->required();
  add("files", "photos, recordings and papers", run_store_files)
      ->add_option("ID", call.id, "of one job");
  CLI::App* attach = add("attach", "keep a file with a job", run_store_attach, true);
  attach->add_option("ID", call.id, "the job")->required();
  attach->add_option("FILE", call.path, "the file")->required();
  attach->add_option("--kind", call.kind, "photo, recording, certificate, paper")->required();
  attach->add_option("--piece", call.piece, "the piece that it shows");
  attach->add_option("--place", call.place, "wall0, seat …");
  CLI::App* fetch = add("fetch", "a kept file as it was", run_store_fetch);
  fetch->add_option("NUMBER", call.number, "as `files` names it")->required();
  fetch->add_option("--out", call.out, "the file to write")->required();
  CLI::App* client =
      add("client", "all that the store has of a client, as a folder", run_store_client);
  client->add_option("NAME", call.client, "as it stands in the jobs, client.name")->required();
  client->add_option("--out", call.out, "the folder to write")->required();
  CLI::App* erase = add("erase", "take a client's jobs away for good; says what is kept for tax",
                        run_store_erase, true);
  erase->add_option("ID", call.ids, "jobs");
  erase->add_option("--client", call.client, "all jobs of this client");
  erase->add_flag("--yes", call.yes, "do it; without this it only tells what would go");
  erase->add_flag("--backups", call.backups, "the store's own backups too; a new one is made");
}

void add_stock_commands(CLI::App& stock, DeskCall& call, std::function<int()>& chosen) {
  const auto add = [&](const char* name, const char* help, int (*run)(const DeskCall&),
                       bool writes = true) {
    return desk_command(stock, name, help, call, chosen, run, writes);
  };
  const auto move = [&](const char* name, const char* help, int (*run)(const DeskCall&)) {
    CLI::App* command = add(name, help, run);
    command->add_option("ITEM", call.item, "such as stick:batten_27x68 or cloth:open_weave_grey")
        ->required();
    command->add_option("AMOUNT", call.amount, "a number; of cloth a length, such as 12.5 m")
        ->required();
    command->add_option("--length", call.length, "of a stick, such as 2400mm");
    command->add_option("--lot", call.lot, "dye lot or batch");
    command->add_option("--location", call.location, "rack or shelf");
    command->add_option("--reason", call.reason, "delivery note, breakage …");
    return command;
  };
  const auto of_job = [&](const char* name, const char* help, int (*run)(const DeskCall&)) {
    add(name, help, run)->add_option("JOB", call.job, "a job of the store")->required();
  };
  add("list", "what is in hand, promised and free", run_stock_list, false);
  add("open", "begin with the counts of a shop file", run_stock_open)
      ->add_option("SHOP", call.id, "the shop file's document")
      ->required();
  move("receive", "put in what was delivered",
       [](const DeskCall& c) { return run_stock_move(c, shop::MoveKind::receive); });
  move("use", "take out", [](const DeskCall& c) {
    return run_stock_move(c, shop::MoveKind::use);
  })->add_option("--job", call.job, "for this job, from what it reserved");
  move("count", "say what is really there",
       [](const DeskCall& c) { return run_stock_move(c, shop::MoveKind::count); });
  of_job("reserve", "promise a job all that it needs, or tell what is short", run_stock_reserve);
  of_job("release", "give back what a job was promised", run_stock_release);
  of_job("built", "use what a job reserved; its offcuts go to the rack with labels",
         run_stock_built);
  add("order", "what to order now, by use and delivery time", run_stock_order, false)
      ->add_option("--lead", call.lead_days, "days to deliver (7)")
      ->check(CLI::Range(1, 365));
  add("history", "every move: what, who, when", run_stock_history, false);
  add("undo", "take a move back by its opposite", run_stock_undo)
      ->add_option("NUMBER", call.number, "as `history` names it")
      ->required();
}

void add_inspect_commands(CLI::App& inspect, DeskCall& call, std::function<int()>& chosen) {
  const auto add = [&](const char* name, const char* help, int (*run)(const DeskCall&),
                       bool writes = true) {
    CLI::App* command = desk_command(inspect, name, help, call, chosen, run, writes);
    command->add_option("JOB", call.job, "a job of the store")->required();
    return command;
  };
  const auto yes_no = CLI::IsMember({"yes", "no"});
  add("sheet", "what to measure on each piece, as a paper", run_inspect_sheet, false)
      ->add_option("--out", call.out, "the PDF to write; else a table here");
  CLI::App* record =
      add("record", "what was found on a piece: it passes or goes back", run_inspect_record);
  record->add_option("PIECE", call.piece, "its label")->required();
  record->add_option("--diagonal", call.diagonal_a, "one diagonal, such as 1342mm");
  record->add_option("--other-diagonal", call.diagonal_b, "the other");
  record->add_option("--corner-off", call.gap, "how far a corner stands off a flat bench");
  record->add_option("--weighs", call.weight, "kilograms");
  record->add_option("--cloth", call.cloth, "as it should be: yes or no")->check(yes_no);
  record->add_option("--staples", call.staples, "yes or no")->check(yes_no);
  record->add_option("--label", call.label, "yes or no")->check(yes_no);
  add("list", "which pieces have passed, which wait, with their certificates", run_inspect_list,
      false);
  CLI::App* rework = add("rework", "log time spent on rework, or sum it up", run_inspect_rework);
  rework->add_option("--piece", call.piece, "its label");
  rework->add_option("--station", call.station, "where, such as face_cloth");
  rework->add_option("--cause", call.cause, "square, flat, weight, cloth, staples, label");
  rework->add_option("--minutes", call.minutes, "time taken");
  CLI::App* paper =
      add("certificate", "keep a dye lot or a certificate with a piece", run_inspect_certificate);
  paper->add_option("--piece", call.piece, "its label; else every piece of the job");
  paper->add_option("--material", call.material, "key of the price book")->required();
  paper->add_option("--kind", call.kind, "dye_lot, fire or material")->required();
  paper->add_option("--says", call.says, "the lot; or class and number")->required();
  paper->add_option("--supplier", call.supplier, "as the shop names it");
  paper->add_option("--file", call.number, "number of the scanned paper in the store");
}

}  // namespace

void add_desk_commands(CLI::App& app, DeskCall& call, std::function<int()>& chosen) {
  const auto family = [&](const char* name, const char* help) {
    CLI::App* out = app.add_subcommand(name, help);
    out->require_subcommand(1);
    return out;
  };
  add_store_commands(*family("store", "the shop's store: jobs with their history, files, backups"),
                     call, chosen);
  add_stock_commands(*family("stock", "timber, boards, cloth, hardware and offcuts in hand"), call,
                     chosen);
  add_inspect_commands(*family("inspect", "before a piece leaves: inspection and certificates"),
                       call, chosen);
}

// ---- shared
// ---------------------------------------------------------------------------------------

int fail(const Diagnostics& found, bool as_json) {
  refuse(found, as_json);
  return exit_failed;
}

std::string store_file(const DeskCall& call) {
  if (!call.store_path.empty()) return call.store_path;
  if (const std::string named = from_environment("ROOMWRIGHT_STORE"); !named.empty()) return named;
  if (const std::string data = from_environment("XDG_DATA_HOME"); !data.empty())
    return data + "/roomwright/shop.store";
  const std::string home = from_environment("HOME");
  return (home.empty() ? std::string(".") : home + "/.local/share") + "/roomwright/shop.store";
}

std::string now_utc() {
  const std::time_t now = std::time(nullptr);
  std::tm at{};
  gmtime_r(&now, &at);
  char text[32];
  std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &at);
  return text;
}

Stamp stamp_now(const DeskCall& call) {
  Stamp out{call.who, now_utc(), ""};
  for (const char* name : {"ROOMWRIGHT_WHO", "USER", "LOGNAME"})
    if (out.who.empty()) out.who = from_environment(name);
  if (out.who.empty()) out.who = "somebody at the command line";
  return out;
}

Result<std::unique_ptr<Store>> open_desk(const DeskCall& call, Opening opening) {
  StoreOptions options;
  options.create = opening == Opening::make;
  options.reading = opening == Opening::look;
  options.opener = "roomwright at the command line";
  options.when = now_utc();
  auto store = open_store(store_file(call), options);
  if (!store || opening == Opening::look) return store;
  const auto backup = (*store)->daily_backup(options.when.substr(0, 10), progress_watch());
  progress_done();
  if (!backup) std::fprintf(stderr, "No backup today: %s", backup.mistakes().text().c_str());
  return store;
}

}  // namespace roomwright::app
