// The van plan judged from its places alone: nothing here is shared with the planner.
#include <algorithm>
#include <cmath>

#include "shop/packing/packing.h"

namespace roomwright::shop {

namespace {

/// In whole nanometres, so that touching is told from overlapping.
struct Span {
  std::int64_t from = 0, to = 0;
};
Span span(Length at, Length size) {
  return {at.nanometres(), (at + size).nanometres()};
}
bool share(const Span& a, const Span& b) {
  return std::max(a.from, b.from) < std::min(a.to, b.to);
}
double common(const Span& a, const Span& b) {
  return double(std::min(a.to, b.to) - std::max(a.from, b.from)) / 1e9;
}

struct Solid {
  Span x, y, z;
};
Solid solid_of(const PlacedPackage& one) {
  return {span(one.x, one.along), span(one.y, one.across), span(one.z, one.up)};
}
bool overlap(const Solid& a, const Solid& b) {
  return share(a.x, b.x) && share(a.y, b.y) && share(a.z, b.z);
}

class TripCheck {
 public:
  TripCheck(const Trip& trip, const std::vector<Package>& hung, const Van& van, double bears_kg,
            std::vector<std::string>& faults)
      : trip_(trip), hung_(hung), van_(van), bears_kg_(bears_kg), faults_(faults) {
    for (const PlacedPackage& one : trip.placed) solids_.push_back(solid_of(one));
  }

  void run() {
    check_sizes();
    check_walls();
    for (std::size_t i = 0; i < solids_.size(); ++i)
      for (std::size_t k = 0; k < i; ++k) {
        if (overlap(solids_[i], solids_[k])) say(i, "overlaps " + name(k));
        // k was loaded before i: it may stand neither between i and the doors nor upon i.
        const bool in_line = share(solids_[i].y, solids_[k].y) && share(solids_[i].z, solids_[k].z);
        if (in_line && solids_[k].x.from >= solids_[i].x.to) say(i, "is shut in by " + name(k));
        if (share(solids_[i].x, solids_[k].x) && share(solids_[i].y, solids_[k].y) &&
            solids_[k].z.from >= solids_[i].z.to)
          say(i, "lies under " + name(k) + ", which was loaded before it");
      }
    check_stacks();
    check_balance();
  }

 private:
  std::string name(std::size_t i) const { return hung_[trip_.placed[i].package].label; }
  void say(std::size_t i, const std::string& what) { faults_.push_back(name(i) + " " + what); }

  void check_sizes() {
    for (std::size_t i = 0; i < solids_.size(); ++i) {
      const PlacedPackage& one = trip_.placed[i];
      const Package& package = hung_[one.package];
      std::array<Length, 3> a{one.along, one.across, one.up};
      std::array<Length, 3> b{package.width, package.height, package.depth};
      std::sort(a.begin(), a.end());
      std::sort(b.begin(), b.end());
      if (a != b) say(i, "has changed its size");
      if (!package.may_lie && one.up == package.depth && package.depth != package.width &&
          package.depth != package.height)
        say(i, "lies, and may only stand");
    }
  }

  void check_walls() {
    const Solid inside{span(Length(), van_.length), span(Length(), van_.width),
                       span(Length(), van_.height)};
    const Length wide = Length::from_nm((van_.width - van_.between_arches).nanometres() / 2);
    for (std::size_t i = 0; i < solids_.size(); ++i) {
      const Solid& s = solids_[i];
      if (s.x.from < 0 || s.y.from < 0 || s.z.from < 0 || s.x.to > inside.x.to ||
          s.y.to > inside.y.to || s.z.to > inside.z.to)
        say(i, "reaches out of the van");
      if (van_.arches_length == Length()) continue;
      for (const Length y : {Length(), van_.width - wide})
        if (overlap(s, {span(van_.arches_from, van_.arches_length), span(y, wide),
                        span(Length(), van_.arches_height)}))
          say(i, "stands in a wheel arch");
    }
  }

  /// Weight runs down by the shares of the base, highest package first.
  void check_stacks() {
    const std::size_t count = solids_.size();
    std::vector<std::size_t> order(count);
    for (std::size_t i = 0; i < count; ++i) order[i] = i;
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return solids_[a].z.from > solids_[b].z.from; });
    std::vector<double> carried(count, 0);
    std::vector<int> above(count, 1);  // packages in the highest stack that begins with it
    for (const std::size_t i : order) {
      if (carried[i] > bears_kg_ + 1e-6) say(i, "bears too much");
      if (above[i] > hung_[trip_.placed[i].package].layers) say(i, "bears too many");
      if (solids_[i].z.from == 0) continue;
      const double base = common(solids_[i].x, solids_[i].x) * common(solids_[i].y, solids_[i].y);
      double covered = 0;
      for (std::size_t k = 0; k < count; ++k) {
        if (solids_[k].z.to != solids_[i].z.from || !share(solids_[k].x, solids_[i].x) ||
            !share(solids_[k].y, solids_[i].y))
          continue;
        const double part =
            common(solids_[k].x, solids_[i].x) * common(solids_[k].y, solids_[i].y) / base;
        covered += part;
        carried[k] += part * (hung_[trip_.placed[i].package].mass_kg + carried[i]);
        above[k] = std::max(above[k], above[i] + 1);
      }
      if (std::abs(covered - 1) > 1e-6) say(i, "is not borne all over");
    }
  }

  void check_balance() {
    double mass = 0, x = 0, y = 0;
    for (const PlacedPackage& one : trip_.placed) {
      const double m = hung_[one.package].mass_kg;
      mass += m;
      x += m * (one.x.metres() + one.along.metres() / 2);
      y += m * (one.y.metres() + one.across.metres() / 2);
    }
    if (mass > van_.payload_kg + 1e-6) faults_.push_back("a trip is too heavy");
    if (mass <= 0) return;
    x /= mass, y /= mass;
    if (std::abs(mass - trip_.mass_kg) > 1e-6 || std::abs(x - trip_.centre_x_m) > 1e-6 ||
        std::abs(y - trip_.centre_y_m) > 1e-6)
      faults_.push_back("a trip states another weight or centre than it has");
    const bool heavy = 4 * mass >= van_.payload_kg;
    const bool behind = heavy && van_.rear_axle > Length() && x > van_.rear_axle.metres();
    const bool aside = heavy && std::abs(2 * y / van_.width.metres() - 1) > 0.2;
    if (behind != trip_.tail_heavy || aside != trip_.leans)
      faults_.push_back("a trip does not tell how it is balanced");
    if (van_.rear_axle_kg > 0 && van_.wheelbase > Length()) {
      // Moments about the front axle, which lies a wheelbase ahead of the rear one.
      const double front = van_.rear_axle.metres() - van_.wheelbase.metres();
      if (mass * (x - front) / van_.wheelbase.metres() > van_.rear_axle_kg + 1e-6)
        faults_.push_back("the rear axle bears too much");
    }
  }

  const Trip& trip_;
  const std::vector<Package>& hung_;
  const Van& van_;
  double bears_kg_;
  std::vector<std::string>& faults_;
  std::vector<Solid> solids_;
};

}  // namespace

std::vector<std::string> faults_of_plan(const VanPlan& plan, const std::vector<Package>& hung,
                                        const Van& van, const Packing& packing) {
  std::vector<std::string> faults;
  std::vector<int> seen(hung.size(), 0);
  std::size_t next = 0;
  for (const Trip& trip : plan.trips) {
    for (const PlacedPackage& one : trip.placed) ++seen[one.package];
    // Trips follow the order of hanging; inside one the last hung is loaded first.
    for (std::size_t i = trip.placed.size(); i > 0; --i)
      if (trip.placed[i - 1].package != next++)
        faults.push_back("the order is not that of hanging");
    TripCheck(trip, hung, van, packing.bears_kg, faults).run();
  }
  for (std::size_t i = 0; i < hung.size(); ++i)
    if (seen[i] != 1)
      faults.push_back(hung[i].label + " travels " + std::to_string(seen[i]) + " times");
  if (int(plan.trips.size()) < plan.bound) faults.push_back("fewer trips than the bound");
  return faults;
}

}  // namespace roomwright::shop
