// Private to acoustics/waves: what a request for a driven field may hold, whichever way it is
// solved.
#pragma once

#include <cmath>
#include <string>

#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

inline bool is_number(double x) {
  return std::isfinite(x);
}
/// One value or `frequencies` of them, passive, of magnitude at most `most`.
void check_admittance(const Admittance& values, std::size_t frequencies, double most,
                      const std::string& where, Diagnostics& found);
void check_list(std::size_t count, std::size_t least, std::size_t most, const char* where,
                Diagnostics& found);
/// Sources and receivers lie in the room and apart.
void check_points(const ResponseRequest& request, Diagnostics& found);
/// The lists' lengths alone.
void check_lists(const ResponseRequest& request, Diagnostics& found);
/// Frequencies, sound speed and density.
void check_air(const ResponseRequest& request, Diagnostics& found);
/// Admittances of surfaces and patches, and where patches lie.
void check_boundaries(const ResponseRequest& request, Diagnostics& found);

}  // namespace roomwright::acoustics
