// Wave fields of the demo rooms are solved once for all tests of a check, which empties the folder
// first (the script `check`).
#pragma once

#include "job/stages/stages.h"

namespace roomwright {

inline job::Run kept_run() {
  return {{}, job::keep_in(std::string(ROOMWRIGHT_SOURCE_DIR) + "/build/kept")};
}

/// Without any sound field, for tests of everything else.
inline job::Run quick_run() {
  return {{}, {}, false};
}

}  // namespace roomwright
