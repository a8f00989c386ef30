// Single-number ratings in whole hundredths, so that no binary fraction flips a comparison; see
// absorbers.h.
#include <algorithm>
#include <cmath>

#include "acoustics/absorbers/absorbers.h"

namespace roomwright::acoustics {

namespace {

constexpr int rated_thirds[] = {100, 125,  160,  200,  250,  315,  400,  500,  630,
                                800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000};
constexpr int rated_octaves[] = {125, 250, 500, 1000, 2000, 4000};
constexpr int reference[] = {80, 100, 100, 100, 90};  // 250 Hz to 4 kHz, hundredths

/// value × 1000 as a whole number, so that three decimals survive a binary double.
long thousandths(double value) {
  return std::lround(value * 1000);
}

/// n / d to the nearest whole number, halves up; n at least 0.
long half_up(long n, long d) {
  return (2 * n + d) / (2 * d);
}

/// Hundredths to the nearest 0.05.
long to_twentieth(long hundredths) {
  return half_up(hundredths, 5) * 5;
}

/// Source: ISO 11654:1997, 4.1: mean of three thirds, second decimal, then 0.05, at most 1.00.
long practical_of(const std::vector<long>& thirds, std::size_t octave) {
  const long sum = thirds[3 * octave] + thirds[3 * octave + 1] + thirds[3 * octave + 2];
  return std::min(100L, to_twentieth(half_up(sum, 30)));
}

/// Source: ISO 11654:1997, 4.2: shift down by 0.05 until the deviations below sum to at most 0.10.
long weighted_shift(const std::vector<long>& practical) {
  for (long shift = 0;; shift += 5) {
    long below = 0;
    for (std::size_t i = 0; i < 5; ++i)
      below += std::max(0L, reference[i] - shift - practical[i + 1]);
    if (below <= 10) return shift;
  }
}

/// Source: ISO 11654:1997, 4.3: a mark where the practical value exceeds the shifted reference by
/// 0.25 or more. The reference is not let fall below 0, where it has no meaning.
std::string shape_of(const std::vector<long>& practical, long shift) {
  const auto beyond = [&](std::size_t i) {
    return practical[i + 1] - std::max(0L, reference[i] - shift) >= 25;
  };
  std::string shape;
  if (beyond(0)) shape += "L";
  if (beyond(1) || beyond(2)) shape += "M";
  if (beyond(3) || beyond(4)) shape += "H";
  return shape;
}

/// Source: ISO 11654:1997, Annex B, Table B.1.
std::optional<std::string> class_of(long alpha_w) {
  if (alpha_w >= 90) return "A";
  if (alpha_w >= 80) return "B";
  if (alpha_w >= 60) return "C";
  if (alpha_w >= 30) return "D";
  if (alpha_w >= 15) return "E";
  return std::nullopt;
}

/// Source: ASTM C423: mean of 250, 500, 1000, 2000 Hz thirds to 0.05; mean of 200 to 2500 Hz to
/// 0.01.
void rate_american(const std::vector<long>& thirds, Rating& out) {
  std::vector<long> hundredths;
  for (const long value : thirds) hundredths.push_back(half_up(value, 10));
  const long four = hundredths[4] + hundredths[7] + hundredths[10] + hundredths[13];
  out.nrc = static_cast<double>(half_up(four, 20) * 5) / 100;
  long twelve = 0;
  for (std::size_t i = 3; i < 15; ++i) twelve += hundredths[i];
  out.saa = static_cast<double>(half_up(twelve, 12)) / 100;
}

template <std::size_t N>
std::vector<long> in_order(const RatedSpectrum& absorption, const int (&bands)[N],
                           Diagnostics& found) {
  std::vector<long> out;
  for (const int band : bands) {
    const auto at = absorption.find(band);
    if (at == absorption.end())
      found.add("absorption." + std::to_string(band), "is missing", {}, "give every band");
    else if (!(at->second >= 0 && at->second <= 2))
      found.add("absorption." + std::to_string(band), "must be at least 0 and at most 2",
                at->second, "give the coefficient");
    else
      out.push_back(thousandths(at->second));
  }
  for (const auto& [band, value] : absorption)
    if (std::find(std::begin(bands), std::end(bands), band) == std::end(bands))
      found.add("absorption." + std::to_string(band), "is not a rated band", {},
                "thirds from 100 to 5000 or octaves from 125 to 4000");
  return out;
}

}  // namespace

Result<Rating> rating(const RatedSpectrum& absorption) {
  Diagnostics found;
  const bool octaves = absorption.size() <= std::size(rated_octaves);
  const std::vector<long> given = octaves ? in_order(absorption, rated_octaves, found)
                                          : in_order(absorption, rated_thirds, found);
  if (!found.empty()) return found;
  Rating out;
  std::vector<long> practical;
  for (std::size_t i = 0; i < std::size(rated_octaves); ++i) {
    practical.push_back(octaves ? std::min(100L, to_twentieth(half_up(given[i], 10)))
                                : practical_of(given, i));
    out.practical[rated_octaves[i]] = static_cast<double>(practical.back()) / 100;
  }
  const long shift = weighted_shift(practical);
  const long alpha_w = std::max(0L, reference[1] - shift);
  out.alpha_w = static_cast<double>(alpha_w) / 100;
  out.shape = shape_of(practical, shift);
  out.letter_class = class_of(alpha_w);
  if (!octaves) rate_american(given, out);
  return out;
}

}  // namespace roomwright::acoustics
