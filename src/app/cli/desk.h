// Private to app/cli: the commands that work on the store: documents, stock, inspection.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "app/api/api.h"
#include "app/store/store.h"
#include "core/base/base.h"

namespace CLI {
class App;
}

namespace roomwright::app {

/// What the person typed after `store`, `stock` or `inspect`.
struct DeskCall {
  std::string store_path, who, note;
  bool json = false, yes = false, backups = false;
  std::string id, out, as, path, file, kind, piece, place, client, edits = "-";
  std::vector<std::string> paths, ids;
  int version = 0, base = 0;
  std::int64_t number = 0;
  // stock
  std::string item, amount, length, lot, location, reason, job;
  int lead_days = 7;
  // inspect
  std::string diagonal_a, diagonal_b, gap, cloth, staples, label, station, cause, material, says,
      supplier;
  double weight = 0, minutes = 0;
};

/// Adds the commands; the one that is called puts what it does into `chosen`.
void add_desk_commands(CLI::App& app, DeskCall& call, std::function<int()>& chosen);

// ---- what the three share
// -------------------------------------------------------------------------

void print(const std::string& text);
/// Tells every mistake on standard error and gives the exit code that goes with them.
int refuse(const Diagnostics& found, bool as_json);
/// The same where the machine or the store failed, not the call.
int fail(const Diagnostics& found, bool as_json);

/// --store, ROOMWRIGHT_STORE, or shop.store in the folder roomwright among the user's data.
std::string store_file(const DeskCall& call);
/// `2026-11-27T15:04:05Z`; the only clock of the store's callers.
std::string now_utc();
Stamp stamp_now(const DeskCall& call);

enum class Opening { look, write, make };
/// Opens the store; one that is written to gets its backup of the day.
Result<std::unique_ptr<Store>> open_desk(const DeskCall& call, Opening opening);

int run_store_list(const DeskCall& call);
int run_store_import(const DeskCall& call);
int run_store_export(const DeskCall& call);
int run_store_history(const DeskCall& call);
int run_store_undo(const DeskCall& call, bool redo);
int run_store_edit(const DeskCall& call);
int run_store_remove(const DeskCall& call);
int run_store_check(const DeskCall& call);
int run_store_backup(const DeskCall& call);
int run_store_restore(const DeskCall& call);
int run_store_files(const DeskCall& call);
int run_store_attach(const DeskCall& call);
int run_store_fetch(const DeskCall& call);
int run_store_client(const DeskCall& call);
int run_store_erase(const DeskCall& call);

int run_stock_list(const DeskCall& call);
int run_stock_open(const DeskCall& call);
int run_stock_move(const DeskCall& call, shop::MoveKind kind);
int run_stock_reserve(const DeskCall& call);
int run_stock_release(const DeskCall& call);
int run_stock_built(const DeskCall& call);
int run_stock_order(const DeskCall& call);
int run_stock_history(const DeskCall& call);
int run_stock_undo(const DeskCall& call);

int run_inspect_sheet(const DeskCall& call);
int run_inspect_record(const DeskCall& call);
int run_inspect_list(const DeskCall& call);
int run_inspect_rework(const DeskCall& call);
int run_inspect_certificate(const DeskCall& call);

}  // namespace roomwright::app
