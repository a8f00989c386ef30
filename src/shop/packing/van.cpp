// Packages into the van. A place is a pair (y, z); how far in it lies follows from pushing the
// package straight in from the doors until it meets what was loaded before it, so that every
// package can come out again while those loaded before it stay. Trips take the pieces in the order
// of hanging, as many as fit.
#include <algorithm>
#include <cmath>
#include <optional>

#include "shop/packing/packing.h"

namespace roomwright::shop {

namespace {

struct Box {
  Length x, y, z, along, across, up;
};

bool meet(Length a, Length a_size, Length b, Length b_size) {
  return a < b + b_size && b < a + a_size;
}

struct Arches {
  std::vector<Box> boxes;
};

Arches arches_of(const Van& van) {
  Arches out;
  if (van.arches_length == Length()) return out;
  const Length wide = Length::from_nm((van.width - van.between_arches).nanometres() / 2);
  for (const Length y : {Length(), van.width - wide})
    out.boxes.push_back({van.arches_from, y, Length(), van.arches_length, wide, van.arches_height});
  return out;
}

/// How a package may stand: along the van, across it, up.
std::vector<std::array<Length, 3>> ways_to_stand(const Package& package) {
  const Length w = package.width, h = package.height, d = package.depth;
  std::vector<std::array<Length, 3>> out = {{h, d, w}, {w, d, h}, {d, h, w}, {d, w, h}};
  if (package.may_lie) {
    out.push_back({h, w, d});
    out.push_back({w, h, d});
  }
  std::vector<std::array<Length, 3>> distinct;
  for (const auto& way : out)
    if (std::find(distinct.begin(), distinct.end(), way) == distinct.end()) distinct.push_back(way);
  return distinct;
}

/// How places are compared: what comes first when two are free.
enum class Taste { deep_first, low_first, across_first };

/// One trip as it fills.
class Loading {
 public:
  Loading(const std::vector<Package>& packages, const Van& van, const Packing& packing, Taste taste)
      : packages_(packages), van_(van), packing_(packing), taste_(taste), arches_(arches_of(van)) {}

  bool add(std::size_t index) {
    const Package& package = packages_[index];
    std::optional<Candidate> best;
    for (const auto& way : ways_to_stand(package)) {
      const std::vector<Length> across = lanes(way[1]);
      for (const Length z : heights_)
        for (const Length y : across) {
          if (z + way[2] > van_.height) break;
          const auto candidate = place(package, way, y, z);
          if (candidate && (!best || better(*candidate, *best))) best = candidate;
        }
    }
    if (!best) return false;
    keep(index, *best);
    return true;
  }

  Trip trip() const {
    Trip out;
    out.placed = placed_;
    for (const PlacedPackage& one : placed_) {
      const double mass = packages_[one.package].mass_kg;
      out.mass_kg += mass;
      out.volume_m3 += one.along.metres() * one.across.metres() * one.up.metres();
      out.centre_x_m += mass * (one.x.metres() + one.along.metres() / 2);
      out.centre_y_m += mass * (one.y.metres() + one.across.metres() / 2);
      out.reach = std::max(out.reach, one.x + one.along);
    }
    if (out.mass_kg <= 0) return out;
    out.centre_x_m /= out.mass_kg;
    out.centre_y_m /= out.mass_kg;
    const bool counts = out.mass_kg >= van_.payload_kg / 4;
    out.leans =
        counts && std::abs(out.centre_y_m - van_.width.metres() / 2) > van_.width.metres() / 10;
    out.tail_heavy =
        counts && van_.rear_axle > Length() && out.centre_x_m > van_.rear_axle.metres();
    // The lever between the axles.
    if (van_.wheelbase > Length())
      out.rear_axle_kg =
          out.mass_kg * (1 - (van_.rear_axle.metres() - out.centre_x_m) / van_.wheelbase.metres());
    return out;
  }

 private:
  struct Candidate {
    Box box;
    std::vector<std::pair<std::size_t, double>> rests_on;  ///< and the share of its weight
    int level = 1;
    double aside = 0;  ///< moment about the middle after it is placed, kg m
  };

  std::vector<Length> lanes(Length across) const {
    std::vector<Length> out = {Length(), van_.width - across};
    for (const PlacedPackage& one : placed_) {
      out.push_back(one.y + one.across);
      out.push_back(one.y - across);
      out.push_back(one.y);
    }
    for (const Box& arch : arches_.boxes) {
      out.push_back(arch.y + arch.across);
      out.push_back(arch.y - across);
    }
    out.erase(std::remove_if(out.begin(), out.end(),
                             [&](Length y) { return y < Length() || y + across > van_.width; }),
              out.end());
    std::sort(out.begin(), out.end());
    out.erase(std::unique(out.begin(), out.end()), out.end());
    return out;
  }

  /// Pushed in as far as it goes.
  Length pushed_in(const Box& box) const {
    Length x;
    for (const PlacedPackage& one : placed_)
      if (meet(box.y, box.across, one.y, one.across) && meet(box.z, box.up, one.z, one.up))
        x = std::max(x, one.x + one.along);
    for (const Box& arch : arches_.boxes)
      if (meet(box.y, box.across, arch.y, arch.across) && box.z < arch.up &&
          meet(x, box.along, arch.x, arch.along))
        x = std::max(x, arch.x + arch.along);
    return x;
  }

  /// What it rests on at its height, with the share of its base on each; empty unless all of it.
  std::vector<std::pair<std::size_t, double>> supports(const Box& box) const {
    std::vector<std::pair<std::size_t, double>> out;
    double covered = 0;
    for (std::size_t i = 0; i < placed_.size(); ++i) {
      const PlacedPackage& one = placed_[i];
      if (one.z + one.up != box.z || !meet(box.x, box.along, one.x, one.along) ||
          !meet(box.y, box.across, one.y, one.across))
        continue;
      const double along =
          (std::min(box.x + box.along, one.x + one.along) - std::max(box.x, one.x)).metres();
      const double across =
          (std::min(box.y + box.across, one.y + one.across) - std::max(box.y, one.y)).metres();
      const double share = along * across / (box.along.metres() * box.across.metres());
      out.emplace_back(i, share);
      covered += share;
    }
    if (covered < 1 - 1e-6) out.clear();
    return out;
  }

  /// Whether the stack below bears it, in weight and in number.
  bool borne(const Candidate& candidate, double mass_kg) const {
    for (const auto& [below, share] : candidate.rests_on)
      if (!bears(below, mass_kg * share, candidate.level)) return false;
    return true;
  }
  bool bears(std::size_t i, double mass_kg, int top_level) const {
    if (carried_[i] + mass_kg > packing_.bears_kg + 1e-9) return false;
    if (top_level - level_[i] + 1 > packages_[placed_[i].package].layers) return false;
    for (const auto& [below, share] : rests_on_[i])
      if (!bears(below, mass_kg * share, top_level)) return false;
    return true;
  }
  void load(std::size_t i, double mass_kg) {
    carried_[i] += mass_kg;
    for (const auto& [below, share] : rests_on_[i]) load(below, mass_kg * share);
  }

  std::optional<Candidate> place(const Package& package, const std::array<Length, 3>& way, Length y,
                                 Length z) const {
    Candidate out;
    out.box = {Length(), y, z, way[0], way[1], way[2]};
    out.box.x = pushed_in(out.box);
    if (out.box.x + way[0] > van_.length) return std::nullopt;
    if (z > Length()) {
      out.rests_on = supports(out.box);
      if (out.rests_on.empty()) return std::nullopt;
      for (const auto& [below, share] : out.rests_on)
        out.level = std::max(out.level, level_[below] + 1);
      if (!borne(out, package.mass_kg)) return std::nullopt;
    }
    const double middle = (y + y + way[1] - van_.width).metres() / 2;
    out.aside = std::abs(aside_ + package.mass_kg * middle);
    return out;
  }

  bool better(const Candidate& a, const Candidate& b) const {
    const auto key = [&](const Candidate& c) -> std::array<double, 4> {
      const double end = (c.box.x + c.box.along).millimetres(), z = c.box.z.millimetres();
      const double aside = std::round(c.aside * 10);
      switch (taste_) {
        case Taste::deep_first:
          return {end, z, aside, c.box.y.millimetres()};
        case Taste::low_first:
          return {z, end, aside, c.box.y.millimetres()};
        case Taste::across_first:
          return {c.box.x.millimetres(), c.box.across.millimetres(), z, aside};
      }
      return {};
    };
    return key(a) < key(b);
  }

  void keep(std::size_t index, const Candidate& candidate) {
    const Box& box = candidate.box;
    placed_.push_back({index, box.x, box.y, box.z, box.along, box.across, box.up});
    rests_on_.push_back(candidate.rests_on);
    level_.push_back(candidate.level);
    carried_.push_back(0);
    const double mass = packages_[index].mass_kg;
    for (const auto& [below, share] : candidate.rests_on) load(below, mass * share);
    aside_ += mass * (box.y + box.y + box.across - van_.width).metres() / 2;
    const Length top = box.z + box.up;
    if (std::find(heights_.begin(), heights_.end(), top) == heights_.end()) heights_.push_back(top);
  }

  const std::vector<Package>& packages_;
  const Van& van_;
  const Packing& packing_;
  Taste taste_;
  Arches arches_;
  std::vector<PlacedPackage> placed_;
  std::vector<std::vector<std::pair<std::size_t, double>>> rests_on_;
  std::vector<int> level_;
  std::vector<double> carried_;
  std::vector<Length> heights_ = {Length()};
  double aside_ = 0;
};

double volume_m3(const Package& package) {
  return package.width.metres() * package.height.metres() * package.depth.metres();
}

double space_m3(const Van& van) {
  double out = van.length.metres() * van.width.metres() * van.height.metres();
  for (const Box& arch : arches_of(van).boxes)
    out -= arch.along.metres() * arch.across.metres() * arch.up.metres();
  return out;
}

/// The floor that it takes for itself alone: where, however it stands, no package has room above or
/// below it. 0 else.
double own_floor_m2(const Package& package, const Van& van, Length least_up) {
  double least = 1e9;
  for (const auto& way : ways_to_stand(package)) {
    if (way[0] > van.length || way[1] > van.width || way[2] > van.height) continue;
    if (way[2] + least_up <= van.height) return 0;
    least = std::min(least, way[0].metres() * way[1].metres());
  }
  return least;
}

void find_bound(const std::vector<Package>& hung, const Van& van, VanPlan& plan) {
  double mass = 0, volume = 0, floor = 0;
  Length least_up = van.height;
  for (const Package& one : hung) least_up = std::min({least_up, one.width, one.height, one.depth});
  for (const Package& one : hung) {
    mass += one.mass_kg;
    volume += volume_m3(one);
    floor += own_floor_m2(one, van, least_up);
  }
  plan.bound = hung.empty() ? 0 : 1;
  plan.bound_by = "one piece";
  const auto raise = [&](double wanted, double there, const char* by) {
    const int trips = static_cast<int>(std::ceil(wanted / there - 1e-9));
    if (trips > plan.bound) plan.bound = trips, plan.bound_by = by;
  };
  raise(mass, van.payload_kg, "weight");
  raise(volume, space_m3(van), "volume");
  raise(floor, van.length.metres() * van.width.metres(), "floor");
}

/// The pieces from first to beyond, loaded in the opposite order.
std::optional<Trip> try_trip(const std::vector<Package>& hung, std::size_t first,
                             std::size_t beyond, const Van& van, const Packing& packing,
                             std::size_t& left_out) {
  std::optional<Trip> best;
  left_out = beyond - first;
  for (const Taste taste : {Taste::deep_first, Taste::low_first, Taste::across_first}) {
    Loading loading(hung, van, packing, taste);
    std::size_t i = beyond;
    while (i > first && loading.add(i - 1)) --i;
    left_out = std::min(left_out, i - first);
    if (i > first) continue;
    Trip trip = loading.trip();
    const bool axle = van.rear_axle_kg <= 0 || trip.rear_axle_kg <= van.rear_axle_kg + 1e-9;
    const auto worth = [](const Trip& one) {
      return std::pair<int, Length>{int(one.leans) + int(one.tail_heavy), one.reach};
    };
    if (axle && (!best || worth(trip) < worth(*best))) best = std::move(trip);
  }
  return best;
}

/// As many pieces as fit, from first on. A load that leaves many out is cut by half of them at
/// once; one that fits is tried with one more until that fails.
Trip fill_trip(const std::vector<Package>& hung, std::size_t first, std::size_t most,
               const Van& van, const Packing& packing) {
  std::size_t beyond = most, left_out = 0;
  std::optional<Trip> trip;
  while (!(trip = try_trip(hung, first, beyond, van, packing, left_out))) {
    most = beyond - 1;
    beyond = std::max(first + 1, beyond - std::max<std::size_t>(1, left_out / 2));
  }
  while (beyond < most) {
    auto larger = try_trip(hung, first, beyond + 1, van, packing, left_out);
    if (!larger) break;
    trip = std::move(larger);
    ++beyond;
  }
  return std::move(*trip);
}

}  // namespace

Result<VanPlan> plan_van(const std::vector<Package>& hung, const Van& van, const Packing& packing) {
  Diagnostics found;
  for (std::size_t i = 0; i < hung.size(); ++i) {
    if (hung[i].mass_kg > van.payload_kg)
      found.add("van.payload_kg", "does not carry " + hung[i].label, van.payload_kg,
                "it weighs " + fixed(hung[i].mass_kg, 1) +
                    " kg: build it in two, or hire a larger "
                    "van");
    else if (std::size_t left_out = 0; !try_trip(hung, i, i + 1, van, packing, left_out))
      found.add("van", "does not hold " + hung[i].label,
                print_mm(hung[i].width) + " × " + print_mm(hung[i].height) + " × " +
                    print_mm(hung[i].depth),
                "build it in two, or hire a larger van");
  }
  if (!found.empty()) return found;
  VanPlan plan;
  plan.space_m3 = space_m3(van);
  find_bound(hung, van, plan);
  for (std::size_t first = 0; first < hung.size();) {
    double mass = 0, volume = 0;
    std::size_t beyond = first;
    while (beyond < hung.size() && mass + hung[beyond].mass_kg <= van.payload_kg &&
           volume + volume_m3(hung[beyond]) <= space_m3(van)) {
      mass += hung[beyond].mass_kg;
      volume += volume_m3(hung[beyond]);
      ++beyond;
    }
    plan.trips.push_back(fill_trip(hung, first, beyond, van, packing));
    first += plan.trips.back().placed.size();
  }
  return plan;
}

Package package_of(const std::string& label, const std::array<Length, 3>& size, double mass_kg,
                   const Packing& packing, const std::string& kind) {
  Package out;
  out.label = label;
  out.width = size[0] + packing.wrap * 2;
  out.height = size[1] + packing.wrap * 2;
  out.depth = size[2] + packing.wrap * 2;
  const double w = out.width.metres(), h = out.height.metres(), d = out.depth.metres();
  out.mass_kg = mass_kg + 2 * (w * h + w * d + h * d) * packing.wrap_kg_m2;
  const auto own = packing.layers_of.find(kind);
  out.layers = own == packing.layers_of.end() ? packing.layers : own->second;
  return out;
}

}  // namespace roomwright::shop
