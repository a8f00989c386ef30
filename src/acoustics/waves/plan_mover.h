// Private to acoustics/waves: one patch moved about in a prism (basis.h) while all else stands.
#pragma once

#include <complex>
#include <memory>
#include <vector>

#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

/// As PatchMover, for prisms. What stands is compressed surface by surface, when a surface is first
/// asked for: per frequency the room's own function between functions of the surface, the few that
/// the other patches answer with, and the fields of sources and receivers.
/// Not safe to call from several threads at once.
class PlanMover {
 public:
  /// Errors: as prism_response; no such patch.
  static Result<PlanMover> pick_up(const ResponseRequest& request, std::size_t patch,
                                   const ResponseOptions& options, const Watch& watch = {});
  /// Pressure by receiver, by frequency. Errors: a place outside its surface or over another patch.
  Result<std::vector<std::vector<std::complex<double>>>> at(const Patch& area) const;
  /// Of each source alone: by source, receiver, frequency.
  Result<std::vector<std::vector<std::vector<std::complex<double>>>>> at_apart(
      const Patch& area) const;
  /// The same without the patch.
  std::vector<std::vector<std::vector<std::complex<double>>>> without_apart() const;

 private:
  struct State;
  std::shared_ptr<State> state_;
};

}  // namespace roomwright::acoustics
