// Withdrawal and lateral loads of wood screws, by the handbook's formulas, against the load of a
// piece; see fixings.h. What no published value covers stays uncomputed and says so.
#include "shop/fixings/fixings.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace roomwright::shop {

namespace {

constexpr double gravity_m_s2 = 9.80665;

/// Source: Wood Handbook, FPL-GTR-190 (2010), ch. 8, wood screws, p = 108.25 G² D L (N, mm).
double withdrawal_n(const FixingRequest& request) {
  return 108.25 * request.specific_gravity * request.specific_gravity *
         (request.screw_diameter_m * 1e3) * (request.penetration_m * 1e3);
}

/// Source: Wood Handbook, FPL-GTR-190 (2010), ch. 8, lateral K D² at a joint slip limit (softwood
/// groups 0.29 to 0.42, 0.43 to 0.47, 0.48 to 0.52; the lowest below, the highest above).
double lateral_n(const FixingRequest& request) {
  const double k = request.specific_gravity < 0.43   ? 23.17
                   : request.specific_gravity < 0.48 ? 29.79
                                                     : 36.40;
  const double diameter_mm = request.screw_diameter_m * 1e3;
  return k * diameter_mm * diameter_mm;
}

Diagnostics wrong_request(const FixingRequest& request) {
  Diagnostics found;
  if (!(request.mass_kg > 0 && request.mass_kg <= 500))
    found.add("weight_kg", "must be above 0 and at most 500", request.mass_kg,
              "give the piece's weight");
  if (request.points < 1 || request.points > 100)
    found.add("points", "must be from 1 to 100", double(request.points), "count the fixing points");
  if (!(request.asked_factor >= 1 && request.asked_factor <= 20))
    found.add("asked_factor", "must be from 1 to 20", request.asked_factor, {});
  if (request.ground != Ground::wood) return found;
  if (!(request.specific_gravity >= 0.25 && request.specific_gravity <= 0.9))
    found.add("into.specific_gravity", "must be from 0.25 to 0.9", request.specific_gravity,
              "oven-dry mass over volume at 12 % moisture, such as 0.40 for pine");
  if (!(request.screw_diameter_m >= 0.002 && request.screw_diameter_m <= 0.02))
    found.add("screw.diameter_m", "must be from 0.002 to 0.02", request.screw_diameter_m, {});
  if (!(request.penetration_m > 0 && request.penetration_m <= 0.3))
    found.add("screw.penetration_m", "must be above 0 and at most 0.3", request.penetration_m,
              "the thread's length in the wood");
  return found;
}

void judge(FixingReport& report, const FixingRequest& request) {
  if (!report.ultimate_n) {
    report.verdict =
        "No published value covers this ground: " + fixed(report.load_n, 0) +
        " N must be carried by each point; use the anchor maker's rated load for the wall at hand, "
        "divided by at least " +
        fixed(request.asked_factor, 0) + ".";
    return;
  }
  report.safety_factor = *report.ultimate_n / report.load_n;
  report.ok = *report.safety_factor >= request.asked_factor;
  report.verdict = "Each point carries " + fixed(report.load_n, 0) +
                   " N if one of them fails; one screw holds " + fixed(*report.ultimate_n, 0) +
                   " N at most in clear, dry wood: " + fixed(*report.safety_factor, 1) +
                   " times the load, asked " + fixed(request.asked_factor, 0) + ".";
}

void caution(FixingReport& report, const FixingRequest& request) {
  if (request.overhead)
    report.cautions.push_back(
        "Overhead: fix into joists or structure, never into board alone, and add a second, "
        "independent wire at each point; local code and a licensed installer decide.");
  if (request.ground == Ground::masonry || request.ground == Ground::unknown)
    report.cautions.push_back(
        "Find out what the wall is before drilling, and look for cables and pipes; anchors in "
        "board have no standard value.");
  if (request.ground == Ground::wood)
    report.cautions.push_back(
        "Screws must sit in solid side grain of a stud or joist, drilled first; the figures are "
        "short-term maxima of clear wood.");
}

}  // namespace

Result<FixingReport> fixing(const FixingRequest& request) {
  if (Diagnostics found = wrong_request(request); !found.empty()) return found;
  FixingReport report;
  report.points = request.points;
  report.asked_factor = request.asked_factor;
  // One point may carry nothing: the others share the whole weight.
  report.load_n = request.mass_kg * gravity_m_s2 / std::max(1, request.points - 1);
  if (request.ground == Ground::wood) {
    const bool along = request.pull == Pull::along;
    report.ultimate_n = along ? withdrawal_n(request) : lateral_n(request);
    report.source = along ? "Wood Handbook, FPL-GTR-190 (2010), ch. 8, wood screw withdrawal "
                            "108.25 G² D L (N, mm); constants from memory"
                          : "Wood Handbook, FPL-GTR-190 (2010), ch. 8, lateral load of wood screws "
                            "K D² (N, mm); constants from memory";
  }
  judge(report, request);
  caution(report, request);
  return report;
}

}  // namespace roomwright::shop
