// The bass of a draft; see draft_bass.h.
#include "job/stages/draft_bass.h"

#include <algorithm>
#include <chrono>

namespace roomwright::job {

namespace {

std::vector<const SourcePressures*> each_of(const std::vector<SourcePressures>& apart) {
  std::vector<const SourcePressures*> out;
  for (const SourcePressures& one : apart) out.push_back(&one);
  return out;
}

std::vector<SourcePressures> apart_of(const FieldSolution& solved) {
  std::vector<SourcePressures> out;
  for (const auto& report : solved.by_source) out.push_back(report.pressure_pa);
  return out;
}

/// to + sign · more, place by place.
void add(std::vector<SourcePressures>& to, const std::vector<SourcePressures>& more, double sign) {
  for (std::size_t s = 0; s < to.size(); ++s)
    for (std::size_t r = 0; r < to[s].size(); ++r)
      for (std::size_t i = 0; i < to[s][r].size(); ++i) to[s][r][i] += sign * more[s][r][i];
}

std::optional<acoustics::Patch> area_of(const std::optional<design::Placement>& place) {
  if (!place || !place->ok() || place->footprints.size() != 1) return std::nullopt;
  const design::Footprint& foot = place->footprints[0];
  return acoustics::Patch{foot.surface, foot.from_m, foot.to_m};
}

/// Among flattened bodies no more exactness is worth its time.
constexpr double rough_db = 1;
constexpr const char* flat_note =
    "While it is moved, corner traps and clouds are counted as if they lay flat on their walls";

}  // namespace

PickedUp::PickedUp(PickUpAsk ask) : ask_(std::move(ask)), thread_([this] { run(); }) {}

PickedUp::~PickedUp() {
  cancel_ = true;
  thread_.join();
}

void PickedUp::run() {
  pick_up();
  const std::lock_guard hold(lock_);
  ready_ = true;
  told_.notify_all();
}

bool PickedUp::ready() const {
  const std::lock_guard hold(lock_);
  return ready_;
}

bool PickedUp::wait(const Watch& watch) const {
  std::unique_lock hold(lock_);
  while (!told_.wait_for(hold, std::chrono::milliseconds(5), [this] { return ready_; }))
    if (watch.cancelled()) return false;
  return true;
}

void PickedUp::find_saved() {
  const BassAsk bare = bass_ask(ask_.base, ask_.survey, nullptr);
  if (const auto known = kept_field(bare.request, ask_.keep)) {
    set_levels(ask_.base, bare, each_of(apart_of(*known)), today_);
    today_.worst = worst_pair(today_);
  }
  const BassAsk saved = bass_ask(ask_.base, ask_.survey, &ask_.base_treatment);
  whole_ = kept_field(saved.request, ask_.keep);
}

void PickedUp::pick_up() {
  find_saved();
  if (ask_.like) {
    const PickedUp& like = *ask_.like;
    request_ = like.request_, mover_ = like.mover_, refused_ = like.refused_;
    patches_ = like.patches_, bodies_ = like.bodies_;
    ask_.like.reset();
  } else {
    make_mover();
  }
  if (!mover_) return;
  // The surface from which it is moved is ready when the first place is asked for.
  if (auto before = mover_->at_apart(area_of(ask_.base_place)))
    before_ = std::move(*before);
  else
    whole_.reset();
}

void PickedUp::make_mover() {
  request_ = bass_ask(ask_.held, ask_.survey, &ask_.held_treatment);
  acoustics::ResponseRequest& request = request_.request;
  patches_ = int(request.patches.size()) - (request_.pieces.patch.back() >= 0);
  bodies_ = int(request.objects.size());
  // As if it lay flat a cloud's difference was farther off (0.7 to 1.0 dB on the mean) than its
  // place as saved (0.3 to 0.4 dB).
  if (request_.pieces.body.back() >= 0) {
    refused_ = "what has volume is solved where it comes to stand";
    return;
  }
  acoustics::ResponseOptions options;
  if (bodies_ > 0) {
    flatten_bodies(ask_.held, ask_.survey, ask_.held_treatment, request, request_.pieces);
    options.accuracy_db = rough_db;
  }
  const int patch = request_.pieces.patch.back();
  if (patch < 0 || ask_.held_treatment.pieces.back().placement.footprints.size() != 1) {
    refused_ = "the bass knows no such piece";
    return;
  }
  auto mover = acoustics::PatchMover::pick_up_apart(request, std::size_t(patch), options,
                                                    Watch{{}, &cancel_});
  if (mover)
    mover_ = std::move(*mover);
  else
    refused_ = mover.mistakes().items()[0].what;
}

bool PickedUp::stands_as(const Job& wanted, const Treatment& treated) const {
  for (std::size_t i = 0; i + 1 < ask_.held.pieces.size(); ++i)
    for (std::size_t k = 0; k < wanted.pieces.size(); ++k)
      if (wanted.pieces[k].label == ask_.held.pieces[i].label &&
          treated.pieces[k].placement.ok() != ask_.held_treatment.pieces[i].placement.ok())
        return false;
  return true;
}

PickedUp::Answer PickedUp::at(const Job& wanted,
                              const std::optional<design::Placement>& place) const {
  Answer out;
  out.bass.patches = patches_, out.bass.bodies = bodies_;
  const auto area = area_of(place);
  if (!mover_) {
    out.rough = true;
    out.note = (whole_ ? "The bass is that of the places as saved: "
                       : "The bass is told when the piece is let go: ") +
               refused_ + ".";
    if (whole_) set_levels(wanted, request_, each_of(apart_of(*whole_)), out.bass);
    return out;
  }
  out.rough = bodies_ > 0;
  auto now = mover_->at_apart(area);
  if (!now) {
    out.rough = true;
    out.note = "The bass is told without the piece: " + now.mistakes().items()[0].what + ".";
    now = mover_->at_apart(std::nullopt);
  } else if (area) {
    ++out.bass.patches;
  }
  if (!now) return out;
  if (whole_) {
    add(*now, apart_of(*whole_), 1);
    add(*now, before_, -1);
  }
  set_levels(wanted, request_, each_of(*now), out.bass);
  if (bodies_ > 0 && out.note.empty()) out.note = std::string(flat_note) + ".";
  return out;
}

}  // namespace roomwright::job
