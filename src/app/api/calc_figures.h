// Private to app/api: the figures of a decay by rays or images, by their keys.
#pragma once

#include "acoustics/rays/rays.h"

namespace roomwright::app {

struct TracedFigure {
  const char* key;
  acoustics::TracedValue acoustics::TracedBand::*value;
};
inline constexpr TracedFigure traced_figures[] = {
    {"edt_s", &acoustics::TracedBand::edt_s},   {"t20_s", &acoustics::TracedBand::t20_s},
    {"t30_s", &acoustics::TracedBand::t30_s},   {"c50_db", &acoustics::TracedBand::c50_db},
    {"c80_db", &acoustics::TracedBand::c80_db}, {"d50", &acoustics::TracedBand::d50},
    {"ts_ms", &acoustics::TracedBand::ts_ms}};

}  // namespace roomwright::app
