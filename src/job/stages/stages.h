// The seven stages, each a pure function of the job and of the stages before it: same job, same
// answer. Survey, Findings and Treatment know sound; Build, Price, Hang and Proof know the shop.
// Papers print what stands here and compute nothing; the API writes the same structs as JSON.
#pragma once

#include <array>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "acoustics/criteria/criteria.h"
#include "acoustics/decay/decay.h"
#include "acoustics/rays/rays.h"
#include "acoustics/rooms/rooms.h"
#include "acoustics/sound/sound.h"
#include "acoustics/waves/waves.h"
#include "core/base/base.h"
#include "core/quantity/quantity.h"
#include "design/choice/choice.h"
#include "design/making/making.h"
#include "design/placement/placement.h"
#include "design/products/products.h"
#include "design/tuned/tuned.h"
#include "job/document/document.h"
#include "shop/calendar/calendar.h"
#include "shop/cutting/cutting.h"
#include "shop/fixings/fixings.h"
#include "shop/layout/layout.h"
#include "shop/packing/packing.h"
#include "shop/pricing/pricing.h"
#include "shop/run/run.h"
#include "shop/schedule/schedule.h"

namespace roomwright::job {

/// Results of long solutions, kept between runs by whoever calls; either may be empty. A key is all
/// that its value depends on, as bytes of any length. What is kept may vanish at any time.
struct Keep {
  std::function<std::optional<std::string>(const std::string& key)> find;
  std::function<void(const std::string& key, const std::string& value)> put;
};

/// In files of a folder.
inline Keep keep_in(const std::string& folder) {
  const KeptFiles files(folder);
  return {[files](const std::string& key) { return files.find(key); },
          [files](const std::string& key, const std::string& value) { files.put(key, value); }};
}

/// How stages run: progress, cancel, and what was kept. Neither changes an answer.
struct Run {
  Watch watch;
  Keep keep;
  /// false: without the wave field and the rays at the seats, for who wants parts and prices at
  /// once; findings and treatment say so.
  bool sound_field = true;
};
inline constexpr const char* field_left_out = "The sound field was left out of this run.";

/// One plain sentence that a reader can act on, worst first within its stage.
struct Statement {
  int weight = 0;     ///< larger is worse; 0: information
  std::string topic;  ///< `decay`, `modes`, `reflection`, `flutter`, `placing`, `fit`, `bench` …
  std::string sentence;  ///< ends with a full stop; carries its number
  std::string cause;     ///< what makes it so
  std::string next;      ///< what to do about it; may be empty
};

// ---- Survey ---------------------------------------------------------------------------------

struct SurfaceRow {
  std::string surface, material, source;
  double area_m2 = 0;  ///< what is left of it beside its features
  acoustics::OctaveSpectrum absorption{};
  std::array<acoustics::Trust, acoustics::octave_count> trust{};
};

struct TapeCheck {
  std::string what;  ///< `diagonal from corner 0 to corner 2`
  Length measured, expected;
  Length difference;   ///< measured − expected
  bool within = true;  ///< the shop can build to it
};

struct Survey {
  acoustics::Air air;
  double volume_m3 = 0, floor_area_m2 = 0, surface_area_m2 = 0;
  bool box = false;
  std::vector<SurfaceRow> surfaces;  ///< surfaces, features with a material, furniture
  std::vector<TapeCheck> tape;
  std::vector<Statement> statements;
};
Survey survey(const Job& job);

// ---- Findings -------------------------------------------------------------------------------

/// Reverberation time in one octave, by every formula that is defined there.
struct DecayRow {
  double hz = 0;  ///< nominal
  std::optional<double> sabine_s, eyring_s, arau_s, millington_s, fitzroy_s;
  double low_s = 0, likely_s = 0, high_s = 0;  ///< likely: Eyring; low and high: the spread
  std::optional<double> target_low_s, target_high_s;
  std::string verdict;  ///< `in`, `above`, `below`, `no target`
};

struct PathRow {
  std::string loudspeaker, seat, surface;
  double delay_ms = 0, level_db = 0;
  Vec3 point_m;
  bool counts = false;      ///< within 15 ms and louder than −10 dB
  std::string intercepted;  ///< label of the piece at the point; only after treatment
  std::optional<double> treated_level_db;
};

struct FlutterRow {
  std::string first, second;
  double distance_m = 0, rate_hz = 0, absorption = 0;  ///< mean of the two, 500 Hz to 4 kHz
  double overlap_m2 = 0;
  bool likely = false;
};

/// Where the doubt of an answer comes from: the share of its variance by one input alone.
struct DoubtShare {
  std::string input;
  double share = 0;         ///< of the sum over all inputs
  std::string measurement;  ///< what would about halve it
};
/// 10th and 90th percentile of a fixed, even sample over all inputs at once.
struct Doubt {
  int samples = 0;
  std::vector<double> low, high;   ///< by output
  std::vector<DoubtShare> shares;  ///< greatest first
};

/// What arrives at a seat from one loudspeaker, against its direct sound alone, by BassField::hz.
struct SeatLevel {
  std::string loudspeaker, seat;
  std::vector<double> level_db;
  std::vector<double> around_low_db, around_high_db;  ///< within 0.25 m of the seat
};
/// A peak or a dip of one pair and what makes it.
struct BassMark {
  std::string loudspeaker, seat;
  bool peak = false;
  double hz = 0, level_db = 0;
  double stands_db = 0;  ///< above (a dip: below) its surroundings
  std::string cause;
};
/// Where sound presses on the surfaces at one frequency: where a trap bites.
struct SurfacePressure {
  int surface = 0;
  int across = 0, up = 0;        ///< cells along u and v
  std::vector<double> level_db;  ///< by cell, u fastest, against the loudest of all surfaces
  double mean_db = 0;
};
struct BiteMap {
  double hz = 0;
  std::string loudspeaker;
  std::vector<SurfacePressure> surfaces;
  std::vector<double> corner_db;  ///< by plan corner, mean over the height
};
/// The wave field in the bass, by loudspeaker, then seat. Empty where it could not be solved.
struct BassField {
  std::vector<double> hz;
  std::vector<SeatLevel> levels;
  std::size_t worst = 0;         ///< the pair that swings most from 25 Hz up, today
  std::vector<BassMark> marks;   ///< of every pair, by how far they stand out
  std::optional<BiteMap> bites;  ///< at the worst pair's highest peak
  std::optional<Doubt> doubt;    ///< of the worst pair's level, by doubt_hz
  std::vector<double> doubt_hz;
  int patches = 0, bodies = 0;  ///< that were counted
  std::string note;             ///< how it was found, or why there is none
};

/// One resonance of the room and how long it rings (T60).
struct ModeRing {
  double rigid_hz = 0, hz = 0;
  std::optional<double> decay_s;
};
/// The damped modes, and what they make of the lowest octaves.
struct Ringing {
  std::vector<ModeRing> modes;  ///< by rigid_hz
  double to_hz = 0;
  struct Octave {
    double hz = 0;     ///< nominal
    int modes = 0;     ///< of its own
    double t20_s = 0;  ///< of all its modes begun alike
  };
  std::vector<Octave> octaves;  ///< those with three modes or more
  std::string note;             ///< what it holds, or why there is none
};

struct ModeGap {
  double from_hz = 0, to_hz = 0;
};

struct Findings {
  std::vector<acoustics::Mode> modes;  ///< up to modes_to_hz
  double modes_to_hz = 0;
  std::string modes_note;                   ///< how they were found, or why there are none
  std::vector<ModeGap> gaps;                ///< wide spaces between neighbours
  std::vector<std::vector<double>> stacks;  ///< sets of modes within 5 % of each other
  std::vector<int> modes_per_third;         ///< by bands from 25 Hz; Bonello's count
  double schroeder_hz = 0;
  acoustics::Corridor corridor;
  std::vector<DecayRow> decay;
  std::string decay_rule;  ///< cap and formula rules in words
  Doubt decay_doubt;       ///< of the likely time, by octave; its shares at the longest
  std::vector<PathRow> paths;
  std::vector<FlutterRow> flutter;
  BassField bass;
  Ringing ringing;
  std::vector<Statement> statements;  ///< worst first
  std::vector<std::string> not_done;  ///< what treatment does not do
};
Findings findings(const Job& job, const Survey& survey, const Run& run = {});

// ---- Treatment ------------------------------------------------------------------------------

struct PieceRow {
  std::string label, product, kind, place;
  design::Placement placement;  ///< where in the room, and what is wrong with it
  acoustics::OctaveSpectrum low_m2{}, likely_m2{}, high_m2{};
  double face_m2 = 0;  ///< of the product's front
  std::string approximation;
  std::vector<std::string> intercepts;  ///< `left loudspeaker to seat by wall1`
};

struct Treatment {
  std::vector<design::Product> products;  ///< in the job's order of products
  std::vector<PieceRow> pieces;
  std::vector<DecayRow> before, after;
  Doubt decay_doubt;  ///< of the likely time after, by octave
  double schroeder_after_hz = 0;
  std::vector<PathRow> paths;  ///< as in Findings, with what intercepts them
  bool buildable = true;       ///< every placement holds
  BassField bass;
  Ringing ringing;  ///< with traps and clouds as bodies of wool
  std::vector<Statement> statements;
};
/// The products made and every piece placed and checked, and nothing computed of its sound.
Result<Treatment> placed(const Job& job);
Result<Treatment> treatment(const Job& job, const Survey& survey, const Findings& findings,
                            const Run& run = {});

// ---- Build ----------------------------------------------------------------------------------

/// What so many people would make of the run.
struct CrewRow {
  int people = 1;
  double finish_min = 0, bound_min = 0;
  bool proven = false;
  std::string finished, hung;  ///< year-month-day
  int days_late = 0;           ///< worked days behind `due`; 0 where it is met or none was promised
};
struct RunSheet {
  shop::RunPlan plan;         ///< with the shop's people
  std::vector<CrewRow> crew;  ///< one to four people, more where the shop has more
};

/// Something that must be bought, and when.
struct MaterialDate {
  std::string group, name;
  int lead_days = 0;
  std::string needed, order_by;  ///< year-month-day
  bool late = false;             ///< order_by lies before the job's date
};
/// One person's stretch of one day.
struct DayTask {
  std::string day, from, to;  ///< year-month-day, `08:05`
  std::vector<int> people;    ///< from 1
  std::string what, pieces;
};
/// The run on the calendar. Days as year-month-day; the job's date stands for today.
struct CalendarSheet {
  std::string start, finish;  ///< in the shop
  std::string hang, hung;     ///< first and last day of hanging
  std::string due;            ///< promised; may be empty
  int days_late = 0;          ///< worked days
  std::string held_up_by;     ///< the material whose lead time decides the start; may be empty
  std::vector<MaterialDate> materials;  ///< to buy, by order_by
  std::vector<DayTask> tasks;
};

struct BuildSheet {
  shop::Parts parts;                    ///< of every piece, `piece` filled
  shop::Schedule schedule;              ///< cut plans, cloth, boards, stations, times
  std::vector<design::Making> makings;  ///< of every product, in the job's order
  RunSheet run;
  CalendarSheet calendar;
  std::vector<Statement> statements;  ///< failed bench checks first
};
Result<BuildSheet> build(const Job& job, const Treatment& treatment, const Watch& watch = {});

// ---- Price ----------------------------------------------------------------------------------

struct PriceSheet {
  shop::Purchase purchase;
  shop::Costing costing;
  shop::Quote quote;
  std::vector<Statement> statements;
};
Result<PriceSheet> price(const Job& job, const Treatment& treatment, const BuildSheet& build);

// ---- Hang -----------------------------------------------------------------------------------

struct HangPiece {
  std::string label, product, kind;
  int surface = -1;
  std::string place;                   ///< `wall1`, `corner 3`, `ceiling`
  Length left, bottom, width, height;  ///< on the surface, from its datum (left-hand wall, floor)
  Length stand_off, lift_on;
  double mass_kg = 0;
  bool two_people = false;
  shop::FixingReport fixing;
  std::vector<std::array<Length, 2>> fixing_points;  ///< on the surface
  std::vector<std::array<Length, 2>> outline;        ///< of a custom piece; empty: its box
};

struct WayInCheck {
  std::string piece, way;
  bool passes = true;
  std::string sentence;
};

struct HangSheet {
  std::vector<HangPiece> pieces;
  std::vector<std::size_t> order;  ///< in which pieces are hung: overhead, corners, walls
  std::vector<WayInCheck> way_in;
  std::string largest, heaviest;
  double total_kg = 0;
  std::vector<Statement> statements;
  std::vector<std::string> cautions;
};
HangSheet hang(const Job& job, const Treatment& treatment);

// ---- Packing: from the bench to the room, or to a carrier --------------------------------------

/// What stands on a piece's label, and in its code (docs/labels.md).
struct LabelRow {
  std::string piece, product, place;
  Length left, bottom;  ///< on its surface; 0 for orders
  Length width, height, depth;
  double mass_kg = 0;
  bool two_people = false;
  std::string payload;
};
struct LabelText {
  std::string reference, revision, piece, product, place;
  Length left, bottom;  ///< to a tenth of a millimetre
  double mass_kg = 0;   ///< to a tenth of a kilogram
  bool two_people = false;
};
/// Reads a code's text back. Errors: another form, or fewer fields.
Result<LabelText> read_label(const std::string& payload);

struct PackageRow {
  std::string piece, product, place;
  shop::Package package;
  bool two_people = false;
};
/// Packages and van of a job with a room, or the cartons of an order.
struct PackingSheet {
  std::vector<LabelRow> labels;
  std::vector<PackageRow> packages;  ///< in the order of hanging
  std::optional<shop::VanPlan> van;  ///< none where the shop has no van or it does not hold a piece
  std::vector<shop::CartonItem> items;  ///< of an order, by its lines
  shop::CartonPlan cartons;
  std::vector<Statement> statements;
  std::vector<std::string> cautions;
};
/// Errors: cartons that no carrier takes.
Result<PackingSheet> packing(const Job& job, const Treatment& treatment, const HangSheet& hang);

/// The cartons of an order, and what their carriage costs.
Result<shop::CartonPlan> order_cartons(const Job& job, const Treatment& treatment);

// ---- Instructions: for a customer who hangs alone -----------------------------------------------

struct WallAdvice {
  std::string wall, fixing;
};
struct Instructions {
  std::vector<std::string> tools, steps, cautions, care;
  std::vector<WallAdvice> walls;
  std::vector<std::string> fire;  ///< what the certificates of the materials say, and what not
  double heaviest_kg = 0;
  int points = 1;     ///< of the heaviest piece
  double load_n = 0;  ///< on each, as if one had failed
  double asked_factor = 5;
};
Instructions instructions(const Job& job, const Treatment& treatment);

// ---- Proof ----------------------------------------------------------------------------------

struct ProofPoint {
  std::string what, where, target;
};

/// A figure over the positions where it may be trusted: arithmetic mean, standard deviation.
struct MeasuredMean {
  std::optional<double> value;
  double deviation = 0;  ///< of one position; 0 with fewer than two
  int positions = 0;     ///< that it is the mean of
  std::string reason;    ///< where there is none
};
struct MeasuredOctave {
  double hz = 0;
  MeasuredMean edt_s, t20_s, t30_s;
};
/// Mean energy over the positions against the mean from 200 Hz to 4 kHz, and the noise.
struct MeasuredThird {
  double hz = 0, level_db = 0, noise_db = 0;
};
/// Before hanging, or after.
struct MeasuredSide {
  std::vector<std::string> positions;  ///< their names
  std::vector<MeasuredOctave> octaves;
  std::vector<MeasuredThird> thirds;
};
enum class Proven { met, not_met, untold };
/// `met`, `not met`, `cannot be told`
std::string proven_word(Proven proven);
struct Verdict {
  std::string of;  ///< `500 Hz`, `levels from 200 Hz to 4 kHz`
  Proven proven = Proven::untold;
  std::string sentence;
};
struct MeasuredProof {
  std::optional<MeasuredSide> before, after;
  std::vector<Verdict> verdicts;      ///< one for each thing promised
  std::vector<Statement> statements;  ///< all together, before beside after
};

struct ProofSheet {
  std::vector<ProofPoint> points;   ///< what is measured where, against what
  std::vector<DecayRow> predicted;  ///< after treatment, with its target: the table to fill
  std::vector<std::string> how;     ///< steps at the site
  std::vector<Statement> statements;
  std::optional<MeasuredProof> measured;  ///< where recordings are given
};
/// What was measured, held against what the sheet promised: T20 of each octave against its range,
/// levels against ±3 dB. Values are compared as they are printed.
MeasuredProof proven(const ProofSheet& sheet, std::optional<MeasuredSide> before,
                     std::optional<MeasuredSide> after);
ProofSheet proof(const Job& job, const Findings& findings, const Treatment& treatment);

// ---- Together: several jobs in one run ----------------------------------------------------------

struct TogetherJob {
  std::string mark;  ///< `A`: stands before each of its pieces
  std::string title, reference;
  std::size_t pieces = 0;
  Money alone, share;    ///< material at purchase prices and labour in the shop, the rack left out
  Money from_rack;       ///< its part of what the rack saves
  Money pays;            ///< share less from_rack
  double alone_min = 0;  ///< finish of its own run
};
struct TogetherPart {
  std::string name;
  Money apart, together;
};
struct TogetherSheet {
  Job job;  ///< for the heads of papers: the first job, with every job's pieces by mark
  BuildSheet build;
  std::vector<TogetherJob> jobs;
  std::vector<TogetherPart> parts;
  Money apart, together;
  double apart_min = 0;  ///< all runs one after another
  bool exact = true;
  int mended = 0;
  double standard_error = 0;  ///< minor units
  std::string method;
  std::vector<Statement> statements;
};
/// One cut plan, one run, one set-up at each station for several jobs of one shop, and what each
/// of them pays of it. Errors: fewer than two jobs, too many; other shops; what cannot be built.
Result<TogetherSheet> together(const std::vector<const Job*>& jobs, const Watch& watch = {});

// ---- Fill: before the products are chosen ---------------------------------------------------

struct FillOptions {
  Length deepest = Length::from_mm(200);          ///< boards and gap
  std::optional<design::WantedBoard> instead_of;  ///< a board that the shop does not sell
};

/// What the shop can put into its frames this month, against what the room needs.
struct FillReport {
  acoustics::OctaveSpectrum missing_m2{};  ///< absorption to be added for the target; 0: none
  std::vector<design::Choice> choices;     ///< cheapest for each m² of absorption first
  std::vector<design::Substitute> substitutes;
  std::vector<Statement> statements;
  std::vector<std::string> notes;
};
/// Bands count by what they miss; where no target is published, the octaves 125 Hz to 4 kHz alike.
Result<FillReport> fill(const Job& job, const Survey& survey, const Findings& findings,
                        const FillOptions& options, const Watch& watch = {});

/// Tuned traps for a band, from what the shop has, in the air of the room.
Result<design::TrapReport> tune(const Job& job, const Survey& survey,
                                const design::TrapTarget& target, const Watch& watch = {});

// ---- Places: before anything is built ---------------------------------------------------------

struct PlacesOptions {
  bool treated = false;  ///< with the job's pieces; else the room as it is today
  std::size_t most = 5;  ///< answers
};

/// One set of places and how even the bass is there.
struct PlaceChoice {
  std::vector<std::string> labels;  ///< loudspeakers, then the seat
  std::vector<Vec3> at_m;           ///< in the same order
  double unevenness_db = 0;  ///< standard deviation of the level over log frequency, 1/6 octave
  double highest_db = 0, highest_hz = 0, lowest_db = 0, lowest_hz = 0;
};
struct SubChoice {
  std::string label;
  PlaceChoice today;
  std::vector<PlaceChoice> best;
};
struct PlacesReport {
  std::size_t tried = 0;
  double from_hz = 0, to_hz = 0;
  PlaceChoice today;
  std::vector<PlaceChoice> best;  ///< the evenest first, each a step from those before it
  std::vector<SubChoice> subs;    ///< each subwoofer along the walls, for all seats
  std::vector<Statement> statements;
  std::vector<std::string> notes;
};
/// The evenest bass that loudspeakers and the first seat can have: a pair keeps its line through
/// the seat and a triangle of 50 to 70 degrees, one alone moves with the seat freely; all keep
/// clear of walls, furniture and doors. Errors: no loudspeaker or seat; what the wave solver says.
Result<PlacesReport> places(const Job& job, const Survey& survey, const Treatment& treatment,
                            const PlacesOptions& options, const Run& run = {});

// ---- Pressure: where sound presses, at any frequency --------------------------------------------

inline constexpr double least_pressure_hz = 20, greatest_pressure_hz = 300;
inline constexpr std::size_t most_pressure_frequencies = 12;

struct PressureOptions {
  std::vector<double> hz;         ///< empty: the highest peaks that the findings name
  std::string loudspeaker;        ///< its label; empty: all, playing the same together
  std::optional<double> plane_m;  ///< height of the plane; none: the ears at the first seat
  bool treated = false;           ///< beside today's, the room with the job's pieces
};

/// What is at a point of a map. Beside an oblique edge a map's points stand in for the nearest
/// place on the edge, so that a picture reaches it.
enum class PressurePlace { air, edge, outside, body };

/// One place where a surface's pressure is greatest.
struct PressureSpot {
  Vec2 at_m;  ///< (u, v); of the plane x and y
  double level_db = 0;
  std::string kind;   ///< `corner`, `edge` or `middle` of the surface
  std::string words;  ///< `in the left corner, at the floor`
};
/// One surface, or the plane, as points of a grid whose outer ones lie on its box.
struct PressureMap {
  int surface = -1;  ///< -1: the plane
  std::string name;  ///< `floor`, `ceiling`, `wall0` …, `plane`
  Polygon outline_m;
  Vec2 from_m, to_m;
  int across = 0, up = 0;           ///< points along u and v
  std::vector<double> level_db;     ///< by point, u fastest; -200 where it is not told
  std::vector<PressurePlace> what;  ///< by point
  std::vector<Vec3> point_m;        ///< by point
  double mean_db = 0;               ///< of the mean square, less what lies in bodies
  double share = 0;                 ///< that mean square over the room's
  PressureSpot most;
};
/// The room in one state at one frequency.
struct PressureRoom {
  bool treated = false;
  std::vector<PressureMap> maps;   ///< by surface, then the plane
  std::vector<std::size_t> order;  ///< surfaces without the plane, by share, greatest first
  double greatest_db = 0;          ///< on its surfaces
  double mean_db = 0;              ///< of the air of the room
  std::string note;                ///< what was left out; may be empty
};
struct PressureAt {
  double hz = 0;
  std::string resonance;  ///< the nearest, and how near; may be empty
  double quarter_wave_m = 0;
  std::string wool;         ///< what wool before a bare wall meets, at most
  double reference_db = 0;  ///< 0 dB of the maps, against one loudspeaker's direct sound at 1 m
  std::vector<PressureRoom> rooms;  ///< today, then treated where that was asked
};
struct PressureReport {
  std::string loudspeaker;  ///< `L`, or `all loudspeakers together`
  double plane_m = 0;
  std::vector<PressureAt> at;  ///< by frequency, as asked
  std::vector<Statement> statements;
  std::vector<std::string> notes;
};
/// Levels of one frequency, today and treated, are held against the greatest on the surfaces of
/// both. One solution a frequency and state gives all surfaces, the plane and the room's mean; kept
/// results are used. findings: their marks where no frequency is asked for, and their modes where
/// they reach that far; may be empty where a frequency is asked for.
/// Errors: all that is wrong with the options at once; no loudspeaker; what the wave solver says.
Result<PressureReport> pressure(const Job& job, const Survey& survey, const Findings& findings,
                                const Treatment& treatment, const PressureOptions& options,
                                const Run& run = {});

// ---- Draft: while a finger is down -------------------------------------------------------------

struct DraftAnswer {
  Treatment treatment;
  bool provisional = false;  ///< its bass is a quicker and less exact figure; `note` says why
  std::string note;
};
/// What would be if the job were changed a little, in milliseconds: pieces moved, added or taken
/// out. Remembers what stays the same between questions (the room's findings, the products' sound,
/// what does not move), so one desk serves one page or several. Nothing is kept on disk but through
/// `keep`.
///
/// Fit, decay and reflections are those of treatment() to the last bit. The bass of one flat piece
/// moved, added or taken out is that of acoustics::PatchMover; where `keep` has the field of
/// `base`, that field plus what the move changes. Among traps and clouds that change is told as if
/// they lay flat: `provisional`. A trap, cloud or screen that is moved, several pieces at once and
/// changed products show the bass of `base`, if it was kept: `provisional` too. How long resonances
/// ring and how sure the bass is are not told.
class DraftDesk {
 public:
  explicit DraftDesk(Keep keep = {});
  ~DraftDesk();
  /// `base` is the job as saved, `wanted` as it would be. `first` is told the treatment with fit
  /// and decay as soon as they are there, without its bass; the answer has all. The first question
  /// about a piece waits until it is picked up, seconds in a room that is no box; whoever was told
  /// `first` may stop asking meanwhile: picking up goes on for the next question. Calls may come
  /// from several threads. Errors: as treatment(); cancelled.
  Result<DraftAnswer> ask(const Job& base, const Job& wanted,
                          const std::function<void(const DraftAnswer&)>& first = {},
                          const Watch& watch = {});

 private:
  struct State;
  std::unique_ptr<State> state_;
};

// ---- Rays at the seats, and listening -----------------------------------------------------------

struct RayOptions {
  int rays = 50'000;  ///< from each loudspeaker
  std::uint64_t seed = 1;
  int threads = 0;  ///< the answer is the same
  Watch watch;
  bool waves = true;  ///< the octaves below the crossover by the wave field, where it is solved
};

/// One octave from one loudspeaker at one seat; every figure with its standard error or the reason
/// why there is none.
struct SeatRayRow {
  double hz = 0;  ///< nominal
  acoustics::TracedValue edt_s, t20_s, c50_db, c80_db, d50;
  /// EDT and T20 by the wave field, without a statistical error: where the octave lies wholly below
  /// the crossover and its bandwidth times T20 is above 16.
  bool from_waves = false;
};
struct SeatRays {
  std::string loudspeaker, seat;
  bool direct_clear = true;
  std::vector<SeatRayRow> rows;
};
struct RaysAtSeats {
  std::vector<SeatRays> pairs;  ///< by loudspeaker, then seat
  std::int64_t rays = 0;        ///< from each loudspeaker
  std::optional<std::int64_t> rays_to_halve_error;
  double crossover_hz = 0;         ///< 0: no octave is told by waves
  std::string method;              ///< a sentence on what is from waves and what from rays
  std::vector<std::string> notes;  ///< what the scene leaves out or moves
};
/// Today's room, or with the pieces of a treatment (not null). Errors: more than the tracer's
/// limits; cancelled.
Result<RaysAtSeats> rays_at_seats(const Job& job, const Survey& survey, const Findings& findings,
                                  const Treatment* treatment, const RayOptions& options = {});

/// Between the two points at a seat: in the air, with no head between them.
inline constexpr double listening_points_m = 0.17;

/// Impulse responses of one loudspeaker at one seat, at acoustics::impulse_rate_hz: 1 is the direct
/// sound of 1 m. The first point lies to the left as one faces the loudspeakers.
struct SeatImpulses {
  std::string loudspeaker, seat;
  bool subwoofer = false;
  std::array<std::vector<double>, 2> today, treated;
};
struct Listening {
  std::vector<SeatImpulses> pairs;                          ///< by loudspeaker, then seat
  double crossover_today_hz = 0, crossover_treated_hz = 0;  ///< 0: rays alone
  double mismatch_db = 0;  ///< waves against rays where they cross: the greatest of all, signed
  std::vector<std::string> notes;
};
/// Errors: no loudspeaker or no seat; more than the tracer's limits; cancelled.
Result<Listening> listening(const Job& job, const Survey& survey, const Findings& findings,
                            const Treatment& treatment, const RayOptions& options = {});

/// What rays tell of a seat in one octave: the mean over its loudspeakers, subwoofers apart.
struct SeatSoundRow {
  acoustics::TracedValue edt_s, t20_s, c50_db, c80_db, d50;
};
struct SeatSoundAt {
  std::string seat;
  std::vector<SeatSoundRow> today, treated;  ///< by octave
};
struct SeatSound {
  std::vector<SeatSoundAt> seats;
  std::int64_t rays = 0;              ///< from each loudspeaker
  std::string note;                   ///< why there is none
  std::vector<std::string> notes;     ///< what the scene leaves out or moves
  std::vector<Statement> statements;  ///< run_all puts them among those of the treatment
};

/// All seven.
struct Pack {
  Survey survey;
  Findings findings;
  Treatment treatment;
  SeatSound seat_sound;
  BuildSheet build;
  PriceSheet price;
  HangSheet hang;
  ProofSheet proof;
  PackingSheet packing;
  std::optional<Instructions> instructions;  ///< of an order
};
/// Of an order: treatment with its products alone, build, price, packing, instructions.
Result<Pack> run_all(const Job& job, const Run& run = {});

}  // namespace roomwright::job
