// Private to acoustics/waves: one frequency of many rooms that differ in their values alone.
#pragma once

#include "acoustics/waves/solid_reduce.h"

namespace roomwright::acoustics {

/// By set of values: fields of the first `sides` loads at the other loads, none where it breaks
/// down. The small model is solved for some of the sets; on their fields, of all loads, it is
/// smaller still and gives the others, and is held against sets that it has not seen until they
/// differ by no more than `tolerance` of their size. Reduced basis method with the fields of
/// receivers too, so that what is heard converges twice as fast as the fields (N. A. Pierce & M. B.
/// Giles, SIAM Review 42 (2000), from memory).
std::vector<Eigen::MatrixXcd> solve_family(const SolidBasis& basis,
                                           const std::vector<SolidValues>& values, int sides,
                                           const FrontKernel& kernel, double tolerance);

}  // namespace roomwright::acoustics
