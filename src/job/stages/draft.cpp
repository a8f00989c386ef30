// Draft: the treatment of a job as it would be, while a finger is down. Fit, decay and what is
// intercepted are found as treatment() finds them, with all remembered that does not hang on where
// pieces are; the bass by the one piece that is moved (draft_bass.h). What takes seconds (how long
// resonances ring, how sure the bass is) waits until the finger is up.
#include <algorithm>
#include <chrono>
#include <mutex>

#include "job/stages/doubt.h"
#include "job/stages/draft_bass.h"
#include "job/stages/stages.h"
#include "job/stages/treated.h"

namespace roomwright::job {

/// A job but for its pieces.
struct DraftRoom {
  Job job;
  Survey survey;
  Findings findings;  ///< without the sound field
  TreatmentMemory memory;
};

/// What a question takes with it from its turn at the desk.
struct DraftTurn {
  Treatment treatment;             ///< by formulas
  std::shared_ptr<PickedUp> held;  ///< null: the bass is `saved`
  std::string label;               ///< of the piece that is held
  bool stands = true;              ///< all others are counted as they should be
  PickedUp::Answer saved;
};

namespace {

constexpr std::size_t most_rooms = 4;  // that a desk remembers
constexpr std::size_t most_held = 2;   // pieces picked up: each may take some 200 MB
constexpr const char* bass_follows = "The bass follows.";
constexpr const char* after_drag =
    "How long each resonance rings is told when the piece is let go.";

bool same_but_pieces(const Job& a, Job b) {
  b.pieces = a.pieces;
  return a == b;
}

const Piece* piece_named(const Job& job, const std::string& label) {
  const auto at = std::find_if(job.pieces.begin(), job.pieces.end(),
                               [&](const Piece& one) { return one.label == label; });
  return at == job.pieces.end() ? nullptr : &*at;
}

/// Labels of pieces that stand elsewhere in one job than in the other, or in one of them alone.
std::vector<std::string> moved_between(const Job& base, const Job& wanted) {
  std::vector<std::string> out;
  const auto told = [](Piece piece) {
    piece.option.clear();  // whether it is in the offer changes no sound
    return piece;
  };
  for (const Piece& piece : wanted.pieces) {
    const Piece* before = piece_named(base, piece.label);
    if (!before || !(told(*before) == told(piece))) out.push_back(piece.label);
  }
  for (const Piece& piece : base.pieces)
    if (!piece_named(wanted, piece.label)) out.push_back(piece.label);
  return out;
}

/// Whether all that differs is the place of one piece, or that it is there.
bool one_moved(const Job& base, const Job& wanted, const std::vector<std::string>& moved) {
  if (moved.size() != 1 || !same_but_pieces(base, wanted)) return false;
  const Piece *before = piece_named(base, moved[0]), *after = piece_named(wanted, moved[0]);
  return !before || !after || before->product == after->product;
}

Job without_piece(Job job, const std::string& label) {
  std::erase_if(job.pieces, [&](const Piece& one) { return one.label == label; });
  return job;
}

std::optional<design::Placement> place_of(const Job& job, const Treatment& treated,
                                          const std::string& label) {
  for (std::size_t i = 0; i < job.pieces.size(); ++i)
    if (job.pieces[i].label == label) return treated.pieces[i].placement;
  return std::nullopt;
}

Complaint draft_cancelled() {
  return {"", "cancelled", {}, "", 0};
}

/// What the piece is picked up from; none where it has no place yet that it may have.
std::optional<PickUpAsk> pick_up_ask(const Job& base, const Job& wanted, const std::string& label,
                                     const Keep& keep, DraftRoom& room) {
  PickUpAsk out;
  out.survey = room.survey;
  out.keep = keep;
  out.base = base;
  auto base_treatment = placed_from(base, room.memory);
  if (!base_treatment) return std::nullopt;
  out.base_treatment = std::move(*base_treatment);
  out.base_place = place_of(base, out.base_treatment, label);
  out.standing = without_piece(base, label);
  for (const Job* from : {&base, &wanted}) {
    const Piece* piece = piece_named(*from, label);
    if (!piece) continue;
    out.held = out.standing;
    out.held.pieces.push_back(*piece);
    auto treated = placed_from(out.held, room.memory);
    if (!treated || !treated->pieces.back().placement.ok()) continue;
    out.held_treatment = std::move(*treated);
    return out;
  }
  return std::nullopt;
}

/// Where several pieces moved, or none, or something else: the places as saved, if their field was
/// kept.
PickedUp::Answer as_saved(const Job& base, const Survey& survey, TreatmentMemory& memory,
                          const Keep& keep) {
  PickedUp::Answer out;
  out.rough = true;
  out.note = "The bass is told when the pieces are let go.";
  const auto treated = placed_from(base, memory);
  if (!treated) return out;
  const BassAsk ask = bass_ask(base, survey, &*treated);
  const auto known = kept_field(ask.request, keep);
  if (!known) return out;
  std::vector<const SourcePressures*> pressures;
  for (const auto& report : known->by_source) pressures.push_back(&report.pressure_pa);
  set_levels(base, ask, pressures, out.bass);
  out.bass.patches = known->patches, out.bass.bodies = known->bodies;
  out.note = "The bass is that of the places as saved.";
  return out;
}

/// Puts the bass into an answer that has all else.
void put_bass(PickedUp::Answer bass, const BassField& today, DraftAnswer& to) {
  Treatment& treated = to.treatment;
  treated.bass = std::move(bass.bass);
  treated.bass.note = bass.note;
  Findings found;
  found.bass = today;
  say_bass_change(found, treated);
  sort_statements(treated.statements);
  to.provisional = bass.rough;
  to.note = bass.note + (bass.note.empty() ? "" : " ") + after_drag;
}

}  // namespace

struct DraftDesk::State {
  Keep keep;
  std::mutex turn;                                ///< for all below
  std::vector<std::shared_ptr<DraftRoom>> rooms;  ///< the latest at the end
  std::vector<std::shared_ptr<PickedUp>> held;    ///< the latest at the end
  std::vector<std::shared_ptr<PickedUp>> left;    ///< let go of, perhaps not ended yet

  /// Not held where `watch` was cancelled first. (Locks with a time to wait are not known to the
  /// sanitizer of threads.)
  std::unique_lock<std::mutex> take_turn(const Watch& watch) {
    std::unique_lock<std::mutex> hold(turn, std::try_to_lock);
    while (!hold && !watch.cancelled()) {
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
      (void)hold.try_lock();
    }
    return hold;
  }
  std::shared_ptr<DraftRoom> room_of(const Job& wanted, const Watch& watch);
  Result<DraftTurn> take(const Job& base, const Job& wanted, const Watch& watch);
  std::shared_ptr<PickedUp> hold(const Job& base, const Job& wanted, const std::string& label,
                                 DraftRoom& room);
};

std::shared_ptr<DraftRoom> DraftDesk::State::room_of(const Job& wanted, const Watch& watch) {
  const auto known = std::find_if(rooms.begin(), rooms.end(), [&](const auto& one) {
    return same_but_pieces(one->job, wanted);
  });
  if (known != rooms.end()) {
    std::rotate(known, known + 1, rooms.end());
    return rooms.back();
  }
  auto made = std::make_shared<DraftRoom>();
  made->job = wanted;
  made->survey = survey(wanted);
  made->findings = findings(wanted, made->survey, {watch, keep, false});
  if (rooms.size() >= most_rooms) rooms.erase(rooms.begin());
  rooms.push_back(made);
  return made;
}

/// The piece picked up, as it may have been before. One that nobody waits for any more is put down
/// when others are picked up.
std::shared_ptr<PickedUp> DraftDesk::State::hold(const Job& base, const Job& wanted,
                                                 const std::string& label, DraftRoom& room) {
  const auto known = std::find_if(held.begin(), held.end(), [&](const auto& one) {
    return one->piece().label == label && one->base() == base;
  });
  if (known != held.end()) {
    std::rotate(known, known + 1, held.end());
    return held.back();
  }
  auto ask = pick_up_ask(base, wanted, label, keep, room);
  if (!ask) return nullptr;
  for (const auto& one : held)
    if (one->ready() && one->standing() == ask->standing &&
        one->piece().product == ask->held.pieces.back().product)
      ask->like = one;
  if (held.size() >= most_held) {
    if (held.front().use_count() == 1) held.front()->cancel();
    left.push_back(std::move(held.front()));
    held.erase(held.begin());
  }
  std::erase_if(left, [](const auto& one) { return one->ready() && one.use_count() == 1; });
  held.push_back(std::make_shared<PickedUp>(std::move(*ask)));
  return held.back();
}

Result<DraftTurn> DraftDesk::State::take(const Job& base, const Job& wanted, const Watch& watch) {
  const auto mine = take_turn(watch);
  if (!mine) return draft_cancelled();
  const auto room = room_of(wanted, watch);
  if (watch.cancelled()) return draft_cancelled();
  auto treated = treated_by_formula(wanted, room->survey, room->findings, room->memory);
  if (!treated) return treated.mistakes();
  DraftTurn out{std::move(*treated), nullptr, {}, true, {}};
  if (wanted.loudspeakers.empty() || wanted.seats.empty()) {
    out.saved.note = "There is no loudspeaker or no seat.";
    return out;
  }
  const std::vector<std::string> moved = moved_between(base, wanted);
  if (one_moved(base, wanted, moved)) {
    out.held = hold(base, wanted, moved[0], *room);
  } else if (base == wanted) {
    const auto back = std::find_if(held.begin(), held.end(),
                                   [&](const auto& one) { return one->base() == base; });
    if (back != held.end()) out.held = *back;
  }
  if (out.held) {
    out.label = out.held->piece().label;
    out.stands = out.held->stands_as(wanted, out.treatment);
    return out;
  }
  out.saved = as_saved(base, room->survey, room->memory, keep);
  if (base == wanted && !out.saved.bass.levels.empty()) {
    out.saved.rough = false;
    out.saved.note.clear();
  }
  return out;
}

DraftDesk::DraftDesk(Keep keep) : state_(std::make_unique<State>()) {
  state_->keep = std::move(keep);
}
DraftDesk::~DraftDesk() = default;

Result<DraftAnswer> DraftDesk::ask(const Job& base, const Job& wanted,
                                   const std::function<void(const DraftAnswer&)>& first,
                                   const Watch& watch) {
  DraftAnswer answer;
  if (wanted.order) {  // no room: nothing of it sounds
    auto made = placed(wanted);
    if (!made) return made.mistakes();
    answer.treatment = std::move(*made);
    return answer;
  }
  auto turn = state_->take(base, wanted, watch);
  if (!turn) return turn.mistakes();
  answer.treatment = std::move(turn->treatment);
  Treatment& treated = answer.treatment;
  say_decay_doubt(treated.after, treated.decay_doubt, treated.statements);
  sort_statements(treated.statements);
  treated.bass.note = treated.ringing.note = field_left_out;
  answer.provisional = true;
  answer.note = bass_follows;
  if (first) first(answer);
  treated.ringing.note = after_drag;
  if (!turn->held) {
    put_bass(std::move(turn->saved), {}, answer);
    return answer;
  }
  if (!turn->held->wait(watch)) return draft_cancelled();
  auto bass = turn->held->at(wanted, place_of(wanted, treated, turn->label));
  if (!turn->stands) {
    bass.rough = true;
    bass.note += std::string(bass.note.empty() ? "" : " ") +
                 "Pieces that it leaves no room are still counted.";
  }
  put_bass(std::move(bass), turn->held->today(), answer);
  return answer;
}

}  // namespace roomwright::job
