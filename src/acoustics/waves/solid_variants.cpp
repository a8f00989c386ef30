// One room with other values. Only wave numbers, admittances and fluids enter the matrix, and a
// stretch as weights of its parts, so that all rooms at all frequencies are one request with as
// many frequencies, each with values of its own: a room in which sound is slower has its
// frequencies a little higher.
#include <algorithm>
#include <cmath>

#include "acoustics/waves/solid_response.h"

namespace roomwright::acoustics {

namespace {

using VariantValue = std::complex<double>;

bool same_point(const Vec3& a, const Vec3& b) {
  return a.x == b.x && a.y == b.y && a.z == b.z;
}
bool same_point(const Vec2& a, const Vec2& b) {
  return a.x == b.x && a.y == b.y;
}
template <class List, class Same>
bool all_same(const List& a, const List& b, Same same) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), same);
}

bool same_geometry(const ResponseRequest& a, const ResponseRequest& b) {
  const auto points = [](const auto& p, const auto& q) { return same_point(p, q); };
  return all_same(a.room.plan_m, b.room.plan_m, points) && a.room.height_m == b.room.height_m &&
         same_point(a.room.slope, b.room.slope) && a.surfaces.size() == b.surfaces.size() &&
         all_same(a.patches, b.patches,
                  [&](const ResponsePatch& p, const ResponsePatch& q) {
                    return p.area.surface == q.area.surface &&
                           same_point(p.area.from_m, q.area.from_m) &&
                           same_point(p.area.to_m, q.area.to_m);
                  }) &&
         all_same(a.objects, b.objects,
                  [&](const ResponseObject& p, const ResponseObject& q) {
                    return all_same(p.plan_m, q.plan_m, points) && p.low_m == q.low_m &&
                           p.high_m == q.high_m && p.below_ceiling_m == q.below_ceiling_m &&
                           same_point(p.axis, q.axis) &&
                           all_same(p.slabs, q.slabs, [](const FluidSlab& s, const FluidSlab& t) {
                             return s.thickness_m == t.thickness_m;
                           });
                  }) &&
         all_same(a.sources, b.sources,
                  [](const ResponseSource& p, const ResponseSource& q) {
                    return same_point(p.at_m, q.at_m) &&
                           p.volume_acceleration_m3_s2 == q.volume_acceleration_m3_s2;
                  }) &&
         all_same(a.receivers_m, b.receivers_m, points) && a.frequencies_hz == b.frequencies_hz;
}

/// Frequency by frequency the values of each request.
class Together {
 public:
  explicit Together(const std::vector<ResponseRequest>& variants)
      : variants_(variants), count_(variants[0].frequencies_hz.size()) {}
  template <class Pick>
  Admittance values(Pick pick) const {
    Admittance out;
    for (std::size_t f = 0; f < count_; ++f)
      for (const ResponseRequest& one : variants_) {
        const Admittance& given = pick(one);
        out.push_back(given.empty() ? 0.0 : given[given.size() == 1 ? 0 : f]);
      }
    return out;
  }
  ResponseRequest request() const {
    const ResponseRequest& first = variants_[0];
    ResponseRequest out = first;
    out.density_kg_m3 = 1;
    out.frequencies_hz.clear();
    for (std::size_t f = 0; f < count_; ++f)
      for (const ResponseRequest& one : variants_)
        out.frequencies_hz.push_back(first.frequencies_hz[f] * first.sound_speed_m_s /
                                     one.sound_speed_m_s);
    for (std::size_t s = 0; s < out.surfaces.size(); ++s)
      out.surfaces[s] =
          values([s](const ResponseRequest& one) -> const auto& { return one.surfaces[s]; });
    for (std::size_t p = 0; p < out.patches.size(); ++p)
      out.patches[p].admittance = values([p](const ResponseRequest& one) -> const auto& {
        return one.patches[p].admittance;
      });
    for (std::size_t o = 0; o < out.objects.size(); ++o)
      for (std::size_t s = 0; s < out.objects[o].slabs.size(); ++s) {
        const auto slab = [o, s](const ResponseRequest& one) -> const FluidSlab& {
          return one.objects[o].slabs[s];
        };
        out.objects[o].slabs[s].density =
            values([&](const ResponseRequest& one) -> const auto& { return slab(one).density; });
        out.objects[o].slabs[s].compressibility =
            values([&](const ResponseRequest& one) -> const auto& {
              return slab(one).compressibility;
            });
      }
    return out;
  }

 private:
  const std::vector<ResponseRequest>& variants_;
  std::size_t count_;
};

void check_stretches(const std::vector<RoomStretch>& stretches, std::size_t variants,
                     Diagnostics& found) {
  if (!stretches.empty() && stretches.size() != variants)
    found.add("stretches", "must be one for each room, or none", double(stretches.size()));
  for (std::size_t v = 0; v < stretches.size() && found.empty(); ++v) {
    const RoomStretch& one = stretches[v];
    const std::string where = "stretches[" + std::to_string(v) + "]";
    for (const double by : {one.by.x, one.by.y, one.by.z})
      if (!(by >= least_stretch && by <= greatest_stretch))
        found.add(where + ".by", "must be from 0.8 to 1.25", by, "a room of other sizes");
    if (!(std::abs(length(one.along) - 1) < 1e-9))
      found.add(where + ".along", "must have length 1", length(one.along));
    else if (!same_point(one.along, stretches[0].along))
      found.add(where + ".along", "differs from the first", {}, "one direction for all");
  }
}

Diagnostics wrong_variants(const std::vector<ResponseRequest>& variants,
                           const std::vector<RoomStretch>& stretches) {
  Diagnostics found;
  check_stretches(stretches, variants.size(), found);
  if (variants.empty()) {
    found.add("variants", "must have one room at least", {}, "give the likely one");
    return found;
  }
  if (double(variants.size()) * double(variants[0].frequencies_hz.size()) >
      double(most_response_frequencies))
    found.add("variants", "ask for too many frequencies in all",
              double(variants.size()) * double(variants[0].frequencies_hz.size()),
              "at most 20000, fewer rooms or frequencies");
  for (std::size_t v = 0; v < variants.size() && found.empty(); ++v) {
    if (!same_geometry(variants[0], variants[v]))
      found.add("variants[" + std::to_string(v) + "]", "differs from the first in its geometry", {},
                "other values alone");
    // Values of a wrong count would be read past their ends.
    found.add_all(wrong_solid_request(variants[v]));
  }
  return found;
}

}  // namespace

Result<VariantsReport> shared_variant_responses(const std::vector<ResponseRequest>& variants,
                                                const ResponseOptions& options, const Watch& watch,
                                                const std::vector<RoomStretch>& stretches) {
  if (Diagnostics found = wrong_variants(variants, stretches); !found.empty()) return found;
  SolidOptions solid{options};
  solid.variants = variants.size();
  solid.stretches = stretches;
  const auto solved = solve_solid(Together(variants).request(), solid, watch);
  if (!solved) return solved.mistakes();
  VariantsReport out;
  out.off = solved->off;
  out.method = solved->by_source[0].method;
  const std::size_t frequencies = variants[0].frequencies_hz.size();
  for (std::size_t v = 0; v < variants.size(); ++v) {
    out.pressure_pa.emplace_back(variants[0].receivers_m.size(),
                                 std::vector<VariantValue>(frequencies, 0));
    for (std::size_t r = 0; r < out.pressure_pa[v].size(); ++r)
      for (std::size_t f = 0; f < frequencies; ++f)
        for (const ResponseReport& source : solved->by_source)
          out.pressure_pa[v][r][f] +=
              variants[v].density_kg_m3 * source.pressure_pa[r][f * variants.size() + v];
  }
  return out;
}

Result<VariantsReport> variant_responses(const std::vector<ResponseRequest>& variants,
                                         const ResponseOptions& options, const Watch& watch,
                                         const std::vector<RoomStretch>& stretches) {
  if (variants.empty() || wants_solid(variants[0]))
    return shared_variant_responses(variants, options, watch, stretches);
  Diagnostics found;
  check_stretches(stretches, variants.size(), found);
  if (!found.empty()) return found;
  VariantsReport out;
  for (std::size_t v = 0; v < variants.size(); ++v) {
    if (!same_geometry(variants[0], variants[v]))
      return Complaint{"variants[" + std::to_string(v) + "]",
                       "differs from the first in its geometry",
                       {},
                       "other values alone",
                       0};
    watch.tick(double(v) / double(variants.size()), "rooms with other values");
    auto one = response(stretches.empty() ? variants[v] : stretched(variants[v], stretches[v]),
                        options, {nullptr, watch.cancel});
    if (!one) return one.mistakes();
    out.pressure_pa.push_back(std::move(one->pressure_pa));
    out.method = one->method;
  }
  return out;
}

}  // namespace roomwright::acoustics
