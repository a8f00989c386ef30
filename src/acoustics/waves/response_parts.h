// Private to acoustics/waves: what the driven room needs beside its inner loops. The wave numbers
// of one axis between two walls, and the sums over modes that are left out of the tables.
#pragma once

#include <array>
#include <complex>
#include <vector>

#include "acoustics/waves/response_kernel.h"

namespace roomwright::acoustics {

/// The first `count` roots q of (q² − κ0 κL) sin qL = q (κ0 + κL) cos qL, κ = jkβ of either wall,
/// that grow out of nπ/L as the walls soften. False where they cannot all be told apart, by the sum
/// of 1/((q² + s²) ∫ψ²) over them, which is known in closed form.
bool axis_numbers(double length, std::complex<double> near, std::complex<double> far, int count,
                  std::complex<double>* out);

/// Of two tiles on one wall: Σ over the modes of rigid walls beyond `from_1_m` up to `to_1_m` of
/// B B C C / ∫ψ²ψ², over the first, second and third power of the wave number across.
std::vector<double> pair_tail(const std::array<double, 3>& size_m, const WaveTile& one,
                              const WaveTile& two, double from_1_m, double to_1_m);

/// ∫ φ_i cos(mπx/L) without their phase, in rows by function: side of the functions, then j_i.
std::vector<double> bessel_rows(double length, double side, int order, int modes);
/// The same with it: φ stand from low to high; row[i][m] = bessel[i][m] times what `out` gets.
void put_phases(double length, double low, double high, int order, int modes, int stride,
                const double* bessel, int bessel_stride, double* out);

/// Field of a source in a room with rigid walls and a wave number −j damping, less the modes up to
/// a cut in the sum closed along an axis.
double near_field_rest(const std::array<double, 3>& size_m, const std::array<double, 3>& a,
                       const std::array<double, 3>& b, int axis, double cut_1_m,
                       double damping_1_m);

}  // namespace roomwright::acoustics
