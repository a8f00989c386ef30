// From number theory to depths: sequences, grids, limits of use; see diffusers.h.
#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>

#include "acoustics/diffusers/diffusers.h"

namespace roomwright::acoustics {

namespace {

constexpr int least_prime = 3, greatest_prime = 97;

bool is_prime(int number) {
  for (int divisor = 2; divisor * divisor <= number; ++divisor)
    if (number % divisor == 0) return false;
  return number >= 2;
}

/// How often `base` is multiplied with itself until it is 1 modulo the prime.
int order_of(int base, int prime) {
  int order = 1;
  for (int power = base % prime; power != 1; power = power * base % prime) ++order;
  return order;
}

int least_primitive_root(int prime) {
  int root = 2;
  while (order_of(root, prime) != prime - 1) ++root;
  return root;
}

/// Rows and columns of a grid of roots; {0, 0} where N − 1 has no coprime factors above 1.
struct GridSize {
  int rows = 0, columns = 0;
};
GridSize coprime_factors(int count) {
  GridSize best;
  for (int rows = 2; rows * rows < count; ++rows)
    if (count % rows == 0 && std::gcd(rows, count / rows) == 1) best = {rows, count / rows};
  return best;
}

std::string primes_with_factors() {
  std::string out;
  for (int prime = least_prime; prime <= greatest_prime; ++prime)
    if (is_prime(prime) && coprime_factors(prime - 1).rows > 0)
      out += (out.empty() ? "" : ", ") + std::to_string(prime);
  return out;
}

std::vector<int> residues(int prime, int rows) {
  std::vector<int> out;
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < prime; ++column)
      out.push_back((row * row + column * column) % prime);
  return out;
}

/// The value of n lies at row n mod rows, column n mod columns: each cell once, by the Chinese
/// remainder theorem. One row is the plain sequence from n = 1.
std::vector<int> roots(int prime, int root, GridSize size) {
  std::vector<int> out(static_cast<std::size_t>(prime - 1));
  int power = 1;
  for (int n = 1; n < prime; ++n) {
    power = power * root % prime;
    const int cell = size.rows == 1 ? n - 1 : n % size.rows * size.columns + n % size.columns;
    out[static_cast<std::size_t>(cell)] = power;
  }
  return out;
}

void check_prime(const DiffuserSpec& spec, Diagnostics& found) {
  if (spec.prime < least_prime || spec.prime > greatest_prime)
    found.add("prime", "must be a prime from 3 to 97", double(spec.prime), "such as 7, 11 or 13");
  else if (!is_prime(spec.prime))
    found.add("prime", "is not a prime", double(spec.prime), "such as 7, 11 or 13");
  else if (spec.two_dimensional && spec.kind == Sequence::primitive_root &&
           coprime_factors(spec.prime - 1).rows == 0)
    found.add("prime", "leaves no grid: prime - 1 has no two coprime factors", double(spec.prime),
              "take one of " + primes_with_factors());
}

Diagnostics check_spec(const DiffuserSpec& spec) {
  Diagnostics found;
  check_prime(spec, found);
  const auto check = [&](const char* key, double value, double lo, double hi, const char* remedy) {
    if (!(value >= lo && value <= hi))
      found.add(key, "must be from " + shortest(lo) + " to " + shortest(hi), value, remedy);
  };
  check("design_hz", spec.design_hz, 50, 10000,
        "give the lowest frequency to scatter, such as 500");
  check("well_width_m", spec.well_width_m, 0.005, 0.5, "give the clear width, such as 0.05");
  check("fin_thickness_m", spec.fin_thickness_m, 0, 0.1, "give the board's thickness, or 0");
  check("depth_step_m", spec.depth_step_m, 0, 0.02, "such as 0.001, or 0 for no rounding");
  return found;
}

void lay_out(const DiffuserSpec& spec, Diffuser& out) {
  if (spec.kind == Sequence::quadratic_residue) {
    out.wells.rows = spec.two_dimensional ? spec.prime : 1;
    out.sequence = residues(spec.prime, out.wells.rows);
    return;
  }
  const GridSize size =
      spec.two_dimensional ? coprime_factors(spec.prime - 1) : GridSize{1, spec.prime - 1};
  out.generator = least_primitive_root(spec.prime);
  out.wells.rows = size.rows;
  out.sequence = roots(spec.prime, out.generator, size);
}

void cut_depths(const DiffuserSpec& spec, double sound_speed_m_s, Diffuser& out) {
  const double step_m = sound_speed_m_s / spec.design_hz / (2 * spec.prime);
  for (const int value : out.sequence) {
    const double exact_m = value * step_m;
    const double depth_m = spec.depth_step_m > 0
                               ? std::round(exact_m / spec.depth_step_m) * spec.depth_step_m
                               : exact_m;
    out.wells.depths_m.push_back(depth_m);
    out.greatest_depth_m = std::max(out.greatest_depth_m, depth_m);
    out.greatest_rounding_m = std::max(out.greatest_rounding_m, std::abs(depth_m - exact_m));
  }
}

void find_limits(const DiffuserSpec& spec, double sound_speed_m_s, Diffuser& out) {
  const int columns = out.wells.columns();
  const int shorter = out.wells.rows == 1 ? columns : std::min(out.wells.rows, columns);
  out.period_limit_hz = sound_speed_m_s / (shorter * out.wells.pitch_m());
  out.low_hz = std::max(spec.design_hz, out.period_limit_hz);
  out.high_hz = sound_speed_m_s / (2 * spec.well_width_m);
  out.flat_plate_hz = spec.prime * spec.design_hz;
  out.least_distance_m = 3 * sound_speed_m_s / out.low_hz;  // common practice, no source
}

void add_notes(const DiffuserSpec& spec, Diffuser& out) {
  if (out.low_hz >= out.high_hz)
    out.notes.push_back({"well_width_m", "leaves no useful range: the low limit is above the high",
                         spec.well_width_m, "take narrower wells or a larger prime", 0});
  if (out.period_limit_hz > spec.design_hz)
    out.notes.push_back({"well_width_m",
                         "makes the period too short for lobes at the design frequency; they "
                         "begin at " +
                             fixed(out.period_limit_hz, 0) + " Hz",
                         spec.well_width_m, "take wider wells or a larger prime", 0});
  if (out.flat_plate_hz < out.high_hz)
    out.notes.push_back(
        {"prime",
         "makes it a flat plate inside its range, at " + fixed(out.flat_plate_hz, 0) + " Hz",
         double(spec.prime), "take a larger prime or a higher design_hz", 0});
  if (spec.well_width_m < 0.025)  // common practice, no source
    out.notes.push_back({"well_width_m", "is narrow: such wells absorb more than they scatter",
                         spec.well_width_m, "see well_absorption", 0});
  if (out.greatest_rounding_m > 0 && out.greatest_rounding_m > out.greatest_depth_m / 40)
    out.notes.push_back({"depth_step_m",
                         "moves a depth by " + fixed(out.greatest_rounding_m * 1000, 1) + " mm",
                         spec.depth_step_m, "take a finer step", 0});
}

}  // namespace

Result<Diffuser> design_diffuser(const DiffuserSpec& spec, const Air& air) {
  Diagnostics found = check_spec(spec);
  if (!found.empty()) return found;
  Diffuser out;
  out.wells.well_width_m = spec.well_width_m;
  out.wells.fin_thickness_m = spec.fin_thickness_m;
  lay_out(spec, out);
  cut_depths(spec, air.sound_speed_m_s, out);
  find_limits(spec, air.sound_speed_m_s, out);
  add_notes(spec, out);
  return out;
}

Diagnostics check_wells(const Wells& wells) {
  Diagnostics found;
  if (wells.depths_m.empty() || wells.depths_m.size() > greatest_prime * greatest_prime)
    found.add("wells.depths_m", "must have from 1 to 9409 entries", double(wells.depths_m.size()),
              "give one depth for each well of a period");
  for (std::size_t i = 0; i < wells.depths_m.size(); ++i)
    if (!(wells.depths_m[i] >= 0 && wells.depths_m[i] <= 5))
      found.add("wells.depths_m[" + std::to_string(i) + "]", "must be from 0 to 5",
                wells.depths_m[i], "give it in metres, such as 0.1");
  if (wells.rows < 1 || wells.depths_m.size() % std::size_t(std::max(wells.rows, 1)) != 0)
    found.add("wells.rows", "must be at least 1 and divide the number of depths",
              double(wells.rows), "1 for slits");
  if (!(wells.well_width_m > 0 && wells.well_width_m <= 1))
    found.add("wells.well_width_m", "must be above 0 and at most 1", wells.well_width_m,
              "give the clear width, such as 0.05");
  if (!(wells.fin_thickness_m >= 0 && wells.fin_thickness_m <= 0.1))
    found.add("wells.fin_thickness_m", "must be from 0 to 0.1", wells.fin_thickness_m,
              "give the board's thickness, or 0");
  return found;
}

}  // namespace roomwright::acoustics
