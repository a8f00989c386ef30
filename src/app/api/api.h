// Every request and answer of the program, without a transport: load a job, run its stages, turn
// each stage into JSON, write the pack, and the calculators. The command line calls this today; a
// server can call the same.
#pragma once

#include <functional>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/store/store.h"
#include "core/base/base.h"
#include "core/reading/reading.h"
#include "job/document/document.h"
#include "job/stages/stages.h"
#include "shop/inspection/inspection.h"
#include "shop/learning/learning.h"
#include "shop/ledger/ledger.h"

namespace roomwright::app {

/// The stages in order, by the names that the command line and the JSON use.
const std::vector<std::string>& stage_names();

/// Reads a job file and the shop file that it names, beside it.
/// Errors: the files that cannot be read; every mistake in both.
Result<job::Job> load_job(const std::string& path);

/// One stage as JSON (`survey`, `findings`, `treatment`, `build`, `price`, `hang`, `proof`).
Json stage_json(const job::Job& job, const job::Pack& pack, std::string_view stage);

/// Decay and clarity at each seat by rays, each figure with its standard error.
Json seat_rays_json(const job::RaysAtSeats& rays);

/// An order's quick price: lines, cartons, carriage, totals.
Json order_json(const job::Job& job, const job::Pack& pack);

/// What `fill` found: every choice that is best, the twenty cheapest besides, and substitutes.
Json fill_json(const job::Job& job, const job::FillReport& report);

/// Where loudspeakers and seat get the evenest bass.
Json places_json(const job::PlacesReport& report);

struct PackFile;

/// Where sound presses: every map by its points (null where there is no level), ranked surfaces.
Json pressure_json(const job::PressureReport& report);
/// The maps as `pressure.pdf`, a picture `pressure-63Hz.svg` for each frequency, `pressure.csv`.
Result<std::vector<PackFile>> pressure_files(const job::Job& job, const job::Treatment& treatment,
                                             const job::PressureReport& report);

/// What `tune` found, best first, each with the block that goes into a job file.
Json tune_json(const job::Job& job, const design::TrapReport& report);

/// Several jobs, which must name shop files of the same text. Errors: as load_job, for every path;
/// shops that differ.
Result<std::vector<job::Job>> load_jobs(const std::vector<std::string>& paths);

/// Several jobs in one run: plans, run, calendar and who pays what.
Json together_json(const job::TogetherSheet& sheet);
/// Its papers as PDF, and together.json.
Result<std::vector<PackFile>> together_files(const job::TogetherSheet& sheet);

/// The whole job with every stage (of an order build and price) and its packing: what `job.json` in
/// a pack holds.
Json pack_json(const job::Job& job, const job::Pack& pack);

/// One file of a pack, by its path inside the folder.
struct PackFile {
  std::string path;
  std::string bytes;
};

/// Every file of the pack, in order: papers as PDF, drawings as SVG and DXF, tables as CSV,
/// job.json. The same job gives the same bytes.
Result<std::vector<PackFile>> pack_files(const job::Job& job, const job::Pack& pack,
                                         const Watch& watch = {});

/// Writes the files below `folder`, which is made where it is missing. Files of an older pack that
/// are not part of this one are left alone. Errors: the path and what the system said.
Result<Done> write_pack(const std::vector<PackFile>& files, const std::string& folder);

// ---- the shop's times ---------------------------------------------------------------------------

/// What the bench's log says about the times of a shop file.
struct TimesReport {
  std::string shop_path, log_path;
  std::size_t logs = 0;
  std::vector<shop::TimeEstimate> estimates;
  bool written = false;
};
/// The log of a shop file where none is named: `shop.toml` has `shop.times.csv` beside it.
std::string time_log_of(const std::string& shop_path);
/// Errors: files that cannot be read; every mistake of the shop file, or of the log.
Result<TimesReport> learn_from_log(const std::string& shop_path, const std::string& log_path);
/// Adds one session to the log, `2026-11-20,a,saw,set_up 1,14`; begins the log where there is none.
/// Errors: every mistake of the line, and of the log before it; files that cannot be read or
/// written.
Result<Done> note_time(const std::string& shop_path, const std::string& log_path,
                       const std::string& line);
/// The shop file's text with these minutes under [times]; all else stays as it is, comments too.
/// Errors: a text in which they cannot be set line by line, with what to write by hand.
Result<std::string> with_times(const std::string& shop_text,
                               const std::vector<shop::TimeEstimate>& estimates);
/// Writes the standards that move into the shop file and marks the report. Errors: as with_times;
/// the path and what the system said.
Result<Done> write_times(TimesReport& report);
Json times_json(const TimesReport& report);

// ---- listening ----------------------------------------------------------------------------------

inline constexpr double most_take_s = 120;

/// How one seat's two files were brought to one loudness.
struct HeardSeat {
  std::string seat;
  std::string today_file, treated_file;
  double today_gain_db = 0, treated_gain_db = 0;
  double level = 0;         ///< of both files: LKFS, or dB of full scale where by_loudness is false
  bool by_loudness = true;  ///< false: by mean square, for a programme too brief to weigh
  double peak_db = 0;       ///< of the louder of the two, against full scale
};
struct ListenReport {
  std::vector<PackFile> files;  ///< each seat's two, then the impulse responses
  std::vector<HeardSeat> seats;
  std::vector<std::string> plays;                           ///< `left channel through left`
  double crossover_today_hz = 0, crossover_treated_hz = 0;  ///< 0: rays alone
  double mismatch_db = 0;
  std::vector<std::string> limits;  ///< what this is not, as sentences
  std::vector<std::string> notes;
  std::string caution;
};
/// A dry take (WAV or FLAC, one or two channels, at most most_take_s) as it would sound at each
/// seat, today and treated: SEAT_today.wav and SEAT_treated.wav, 24 bits at 48 kHz, of one loudness
/// with peaks below -1 dB of full scale; and IR_SEAT_LOUDSPEAKER_today.wav and _treated.wav as
/// floats. One channel goes to every loudspeaker but subwoofers, of two the first goes to the first
/// and the second to the second. Errors: the take's, a silent one, the stages'.
Result<ListenReport> listen(const job::Job& job, const std::string& take_path,
                            const job::Run& run = {});
Json listen_json(const ListenReport& report);

// ---- measured ----------------------------------------------------------------------------------

inline constexpr double most_recording_s = 120;

/// A recording (WAV or FLAC, its first channel) evaluated, as the page shows it: `{"seconds",
/// "bands": [{"hz", "edt_s", "t20_s", "t30_s": {"value", "valid", "reason"}, "range_db"}],
/// "levels": [{"hz", "level_db", "noise_db"}]}`. `sweep`: the sweep that was played, as a file;
/// empty: the recording is an impulse response. Errors: a file that cannot be read; what
/// acoustics/impulse refuses.
Result<Json> measured_json(std::string_view recording, const std::string& name,
                           std::string_view sweep, const std::string& sweep_name);

/// The bytes of a recording's file. Errors, at `where`: no plain file, larger than 256 MB, what the
/// system said.
Result<std::string> recording_bytes(const std::string& path, const std::string& where);
inline constexpr std::size_t most_positions = 24;
/// One side of a proof from recordings as measured_json tells them, each a position with its name:
/// the arithmetic mean of each figure over the positions where it is valid, levels as mean
/// energies. Those with a `fault` are left out; nothing where none is left.
struct NamedRecording {
  std::string name;
  const Json* measured = nullptr;
};
std::optional<job::MeasuredSide> measured_side(const std::vector<NamedRecording>& positions);
/// The same from files; a position is named by its file, `seat_left.wav` is `seat left`. An empty
/// sweep: the recordings are impulse responses. Errors, at `where` with the path: more files than
/// most_positions, every one that cannot be read or evaluated.
Result<job::MeasuredSide> measured_side_of_files(const std::vector<std::string>& paths,
                                                 const std::string& sweep_path,
                                                 const std::string& where);
/// Files of before and after, either may be none.
struct ProofFiles {
  std::vector<std::string> before, after;
  std::string sweep;
  bool any() const { return !before.empty() || !after.empty(); }
};
struct ProofSides {
  std::optional<job::MeasuredSide> before, after;
};
/// Errors: as above at `--before`, `--after`, `--sweep`; a sweep without a recording.
Result<ProofSides> proof_sides(const ProofFiles& files);
/// Puts them into the pack's proof with their verdicts; nothing where there are none.
void prove(job::Pack& pack, ProofSides sides);
/// The proof's paper alone.
Result<PackFile> proof_file(const job::Job& job, const job::Pack& pack);

// ---- calculators --------------------------------------------------------------------------------

/// The kinds of calculators that are built, in alphabetical order.
const std::vector<std::string>& calc_kinds();

/// One calculator. Errors: an unknown kind; every mistake of the request; a mistake whose `what`
/// begins with "is not built yet".
Result<Json> calc(std::string_view kind, const Json& request);

/// Whether a Diagnostics says that something is not built yet (exit code 3).
bool not_built(const Diagnostics& found);

// ---- the store: documents -----------------------------------------------------------------------

Json head_json(const DocumentHead& head);
Json step_json(const Step& step);
/// `{"version", "sequence", "merged", "layout_kept", "conflicts": [{"at", "was", "now", "mine"}],
/// "since": [steps]}`
Json saved_json(const Saved& saved);
Json file_json(const StoredFile& file);
Json entry_json(const Entry& entry);
Json check_json(const CheckReport& report);

/// Brings a file's text in: a new document, or a new version of the one that is there. Its kind is
/// `job` where it tells of a room, `shop` where it tells of timber or terms, else `other`.
Result<Saved> import_text(Store& store, std::string_view id, std::string_view text,
                          const Stamp& stamp, std::string_view note);
/// A job of the store with its shop, which is the document of the name that the job gives.
Result<job::Job> stored_job(Store& store, std::string_view id);
/// Products, places, cut plans and times of a job, without its sound: what stock and inspection
/// ask.
struct BuiltJob {
  job::Job job;
  job::Treatment treatment;
  job::BuildSheet build;
};
/// `ledger`: cut from what the rack has free and what it holds for this job (own_only: from the
/// latter alone); nullptr: from the counts of the shop file.
Result<BuiltJob> build_stored(Store& store, std::string_view id, const shop::Ledger* ledger,
                              const Watch& watch = {}, bool own_only = false);

// ---- the store: stock ---------------------------------------------------------------------------

struct KeptMove {
  std::int64_t number = 0;
  shop::Move move;
  std::string who, when;
};
struct Stock {
  shop::Ledger ledger;
  std::vector<KeptMove> moves;
  std::int64_t last = 0;
};
Result<Stock> read_stock(Store& store, const Units& units);
/// Decides moves on the stock as it stands and keeps them, all or none. Where somebody else wrote
/// in between, it is decided anew on what stands then: nothing is promised twice.
using StockDecision = std::function<Result<std::vector<shop::Move>>(const Stock&)>;
Result<std::vector<shop::Move>> post_moves(Store& store, const Units& units,
                                           const StockDecision& decide, const Stamp& stamp);
Json move_json(const shop::Move& move, const Units& units);
/// Errors: every mistake of the entry's body.
Result<shop::Move> read_move(const Entry& entry);
/// Holdings, promises, hollow promises.
Json stock_json(const Stock& stock, const Units& units);
/// For every item that was ever used, as of a day (`2026-11-27`).
Result<std::vector<shop::ReorderAdvice>> reorder_list(const Stock& stock, const std::string& day,
                                                      int lead_days, const Units& units);

// ---- the store: inspection, certificates
// ----------------------------------------------------------

std::vector<shop::InspectionLine> inspection_lines(const BuiltJob& built);
/// The sheet as a paper: a page and more a batch.
Result<PackFile> inspection_file(const BuiltJob& built,
                                 const std::vector<shop::InspectionLine>& lines);
Json inspection_json(const shop::InspectionLine& line, const shop::InspectionResult& result);
/// Judges and keeps. `minutes` above 0: time that rework took, kept in the time journal as rework.
struct InspectedPiece {
  std::string label;
  shop::Inspected found;
};
/// What was found and what the shop's limits make of it, as the journal `inspection` keeps it.
/// Errors: no such piece; a measure that cannot be true.
struct JudgedPiece {
  std::string body;  ///< JSON
  shop::InspectionResult result;
};
Result<JudgedPiece> judged(const BuiltJob& built, const InspectedPiece& piece);
Result<shop::InspectionResult> keep_inspection(Store& store, const BuiltJob& built,
                                               const std::string& document,
                                               const InspectedPiece& piece, const Stamp& stamp);
/// The last word on each piece of a job, by the clock of whoever inspected it: `{"pieces":
/// [{"label", "passed", "back_to", …}], "waiting"}`.
Result<Json> inspections_json(Store& store, const BuiltJob& built, const std::string& document);
struct Rework {
  std::string piece;
  shop::Station station = shop::Station::pack;
  std::string cause;
  double minutes = 0;
};
Result<Appended> keep_rework(Store& store, const std::string& document, const Rework& rework,
                             const Stamp& stamp);
/// Of one job, or of all (empty).
Result<std::vector<shop::ReworkRow>> rework_of(Store& store, const std::string& document);

/// What the supplier said of the material in a piece: its dye lot, its fire or material
/// certificate.
struct Certificate {
  std::string piece;     ///< label; empty: every piece of the job
  std::string material;  ///< key of the price book
  std::string kind;      ///< `dye_lot`, `fire` or `material`
  std::string says;      ///< the lot; or the class and number, such as `EN 13501-1 B-s1,d0, no. 12`
  std::string supplier;  ///< generic, as the shop names it
  std::int64_t file = 0;  ///< of the store: the paper itself; 0: none
};
/// Errors: every mistake of it, a file that is not there.
Result<Done> check_certificate(Store& store, const Certificate& certificate);
Result<Appended> keep_certificate(Store& store, const std::string& document,
                                  const Certificate& certificate, const Stamp& stamp);
/// Of a job, or of one of its pieces.
Result<std::vector<Certificate>> certificates_of(Store& store, const std::string& document,
                                                 const std::string& piece = {});
Json certificate_json(const Certificate& certificate);

// ---- the store: a client's data
// -------------------------------------------------------------------

/// The jobs that name a client, by `client.name` (erased ones have no name any more).
Result<std::vector<std::string>> jobs_of_client(Store& store, std::string_view client);
/// All that the store has of jobs: each text as it is, every version of its history, its files, its
/// journal entries, and a page that says what is what. Watch out: recordings may be large.
Result<std::vector<PackFile>> client_files(Store& store, const std::vector<std::string>& jobs,
                                           const Watch& watch = {});
/// Takes them away. What is kept of each: reference, date, and the quote's totals, for the tax
/// office; no name. Tells what it kept.
struct ErasedClient {
  ErasedReport report;
  std::vector<std::string> kept;  ///< JSON, in the order of the jobs
};
Result<ErasedClient> erase_jobs(Store& store, const std::vector<std::string>& jobs,
                                const Stamp& stamp);

}  // namespace roomwright::app
