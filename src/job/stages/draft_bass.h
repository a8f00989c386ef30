// Private to job/stages: the bass of a draft. One piece is picked up while all others stand; what
// it does at a place is then a matter of milliseconds. Picking up takes longer and goes on behind
// the questions, so that one who lets go of a question does not undo it.
#pragma once

#include <atomic>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <string>
#include <thread>

#include "job/stages/bass.h"

namespace roomwright::job {

/// What is picked up, and from where.
struct PickUpAsk {
  Job standing;              ///< every other piece
  Job held;                  ///< these, and last the piece, at a place where it may be
  Treatment held_treatment;  ///< placed
  Job base;                  ///< as saved
  Treatment base_treatment;  ///< placed
  std::optional<design::Placement> base_place;  ///< of the piece; none: it is new
  Survey survey;
  Keep keep;
  /// Ready, and of the same standing pieces, whatever was saved since: its mover serves here too.
  std::shared_ptr<const class PickedUp> like;
};

/// Invariants: (1) everything but `cancel_` is written by the thread alone until `ready_` is set
/// under the lock, and never after. (2) The thread is joined before this is gone.
class PickedUp {
 public:
  explicit PickedUp(PickUpAsk ask);
  ~PickedUp();
  PickedUp(const PickedUp&) = delete;
  PickedUp& operator=(const PickedUp&) = delete;

  const Job& base() const { return ask_.base; }
  const Job& standing() const { return ask_.standing; }
  const Piece& piece() const { return ask_.held.pieces.back(); }
  /// Whether every other piece is counted as in that treatment of a job with the piece in it.
  bool stands_as(const Job& wanted, const Treatment& treated) const;
  void cancel() { cancel_ = true; }
  bool ready() const;
  /// Until it is ready; false where `watch` was cancelled first.
  bool wait(const Watch& watch) const;
  /// Today's bass, where it was kept; then with the pair that swings most.
  const BassField& today() const { return today_; }
  /// With the piece at a place, or without it; `note` says what is rough about it, empty: nothing.
  struct Answer {
    BassField bass;
    bool rough = false;
    std::string note;
  };
  Answer at(const Job& wanted, const std::optional<design::Placement>& place) const;

 private:
  void run();
  void find_saved();
  void pick_up();
  void make_mover();
  using Apart = std::vector<SourcePressures>;
  PickUpAsk ask_;
  std::atomic<bool> cancel_{false};
  mutable std::mutex lock_;
  mutable std::condition_variable told_;
  bool ready_ = false;
  BassAsk request_;
  BassField today_;
  std::optional<acoustics::PatchMover> mover_;
  int patches_ = 0, bodies_ = 0;        ///< that stand
  std::optional<FieldSolution> whole_;  ///< of the job as saved
  Apart before_;                        ///< what the mover gives for the job as saved
  std::string refused_;
  std::thread thread_;
};

}  // namespace roomwright::job
