// Private to acoustics/impulse: the figures of a band's energy.
#pragma once

#include "acoustics/impulse/band_energy.h"
#include "acoustics/impulse/impulse.h"

namespace roomwright::acoustics {

/// band: nullptr for the response as it is.
MeasuredBand figures_of(const BandEnergy& energy, double rate_hz, const Knee& knee,
                        const Band* band);

}  // namespace roomwright::acoustics
