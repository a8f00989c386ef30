// Draft: the treatment of a job as it would be, while a finger is down.
#include "job/stages/stages.h"

namespace roomwright::job {

struct DraftDesk::State {
  Keep keep;
};

DraftDesk::DraftDesk(Keep keep) : state_(std::make_unique<State>(State{std::move(keep)})) {}
DraftDesk::~DraftDesk() = default;

Result<DraftAnswer> DraftDesk::ask(const Job&, const Job& wanted,
                                   const std::function<void(const DraftAnswer&)>& first,
                                   const Watch& watch) {
  const Run quick{watch, state_->keep, false};
  const Survey surveyed = survey(wanted);
  const Findings found = findings(wanted, surveyed, quick);
  auto treated = treatment(wanted, surveyed, found, quick);
  if (!treated) return treated.mistakes();
  DraftAnswer answer{std::move(*treated), true, field_left_out};
  if (first) first(answer);
  return answer;
}

}  // namespace roomwright::job
