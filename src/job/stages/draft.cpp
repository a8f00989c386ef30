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

namespace {

constexpr std::size_t most_rooms = 4;  // that a desk remembers
constexpr const char* bass_follows = "The bass follows.";
constexpr const char* after_drag = "How long each resonance rings is told when the piece is let go.";

/// A job but for its pieces, and the one of them that is picked up.
struct DraftRoom {
  Job job;
  Survey survey;
  Findings findings;  ///< without the sound field
  TreatmentMemory memory;
  std::shared_ptr<PickedUp> held;
};

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
  const auto treated = placed_from(base, memory);
  if (!treated) return out;
  const BassAsk ask = bass_ask(base, survey, &*treated);
  const auto known = kept_field(ask.request, keep);
  if (!known) return out;
  std::vector<const SourcePressures*> pressures;
  for (const auto& report : known->by_source) pressures.push_back(&report.pressure_pa);
  set_levels(base, ask, pressures, out.bass);
  out.bass.patches = known->patches, out.bass.bodies = known->bodies;
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
  std::timed_mutex turn;                          ///< for all below
  std::vector<std::shared_ptr<DraftRoom>> rooms;  ///< the latest at the end
  std::vector<std::shared_ptr<PickedUp>> left;    ///< let go of, perhaps not ended yet

  std::unique_lock<std::timed_mutex> take_turn(const Watch& watch) {
    std::unique_lock<std::timed_mutex> hold(turn, std::defer_lock);
    while (!hold.try_lock_for(std::chrono::milliseconds(5)))
      if (watch.cancelled()) return hold;
    return hold;
  }
  std::shared_ptr<DraftRoom> room_of(const Job& wanted, const Watch& watch);
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
  if (rooms.size() >= most_rooms) {
    if (rooms.front()->held) left.push_back(std::move(rooms.front()->held));
    rooms.erase(rooms.begin());
  }
  rooms.push_back(made);
  return made;
}

/// The piece picked up, as it may have been before.
std::shared_ptr<PickedUp> DraftDesk::State::hold(const Job& base, const Job& wanted,
                                                 const std::string& label, DraftRoom& room) {
  if (room.held && room.held->piece().label == label && room.held->base().pieces == base.pieces)
    return room.held;
  auto ask = pick_up_ask(base, wanted, label, keep, room);
  if (room.held) {
    room.held->cancel();
    left.push_back(std::move(room.held));
  }
  std::erase_if(left, [](const auto& one) { return one->ready() && one.use_count() == 1; });
  if (!ask) return nullptr;
  return room.held = std::make_shared<PickedUp>(std::move(*ask));
}

DraftDesk::DraftDesk(Keep keep) : state_(std::make_unique<State>()) {
  state_->keep = std::move(keep);
}
DraftDesk::~DraftDesk() = default;

Result<DraftAnswer> DraftDesk::ask(const Job& base, const Job& wanted,
                                   const std::function<void(const DraftAnswer&)>& first,
                                   const Watch& watch) {
  DraftAnswer answer;
  std::shared_ptr<PickedUp> held;
  PickedUp::Answer saved;
  std::string label;
  bool stands = true;
  {
    const auto turn = state_->take_turn(watch);
    if (!turn || watch.cancelled()) return draft_cancelled();
    const auto room = state_->room_of(wanted, watch);
    if (watch.cancelled()) return draft_cancelled();
    auto treated = treated_by_formula(wanted, room->survey, room->findings, room->memory);
    if (!treated) return treated.mistakes();
    answer.treatment = std::move(*treated);
    const std::vector<std::string> moved = moved_between(base, wanted);
    const bool sounds = !wanted.loudspeakers.empty() && !wanted.seats.empty();
    if (sounds && moved.size() == 1 && same_but_pieces(base, wanted)) {
      label = moved[0];
      held = state_->hold(base, wanted, label, *room);
      stands = !held || held->stands_as(wanted, answer.treatment);
    }
    if (sounds && !held) saved = as_saved(base, room->survey, room->memory, state_->keep);
  }
  Treatment& treated = answer.treatment;
  say_decay_doubt(treated.after, treated.decay_doubt, treated.statements);
  sort_statements(treated.statements);
  treated.bass.note = treated.ringing.note = field_left_out;
  answer.provisional = true;
  answer.note = bass_follows;
  if (first) first(answer);
  treated.ringing.note = after_drag;
  if (!held) {
    put_bass(std::move(saved), {}, answer);
    return answer;
  }
  if (!held->wait(watch)) return draft_cancelled();
  auto bass = held->at(wanted, place_of(wanted, treated, label));
  if (!stands) bass.rough = true, bass.note += " Pieces that it leaves no room are still counted.";
  put_bass(std::move(bass), held->today(), answer);
  return answer;
}

}  // namespace roomwright::job
