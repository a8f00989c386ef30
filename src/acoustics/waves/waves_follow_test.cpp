// Objects that follow a ceiling that slopes: against the same room laid on its side, against rooms
// without them where they are air, against a flat ceiling, and the laws that a field must obey.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>

#include "acoustics/waves/solid_response.h"
#include "acoustics/waves/waves.h"
#include "figures/reference_room.h"

namespace roomwright::acoustics {
namespace {

using Value = std::complex<double>;
using Fields = std::vector<std::vector<Value>>;

constexpr double long_m = 2.6, wide_m = 2.0, low_m = 1.7, rise = 0.22;

Room sloped(double slope) {
  return make_sloped_room({{0, 0}, {long_m, 0}, {long_m, wide_m}, {0, wide_m}},
                          {Vec3{0, 0, low_m}, {long_m, 0, low_m + slope * long_m}, {0, 1, low_m}})
      .value();
}
Polygon rectangle(Vec2 from, Vec2 to) {
  return {from, {to.x, from.y}, to, {from.x, to.y}};
}
FluidSlab wool(double thickness_m, const std::vector<double>& hz, double resistivity) {
  FluidSlab out{thickness_m, {}, {}};
  for (const double f : hz) {
    const reference::Miki m = reference::miki(f, resistivity);
    out.density.push_back(m.impedance * m.number);
    out.compressibility.push_back(m.number / m.impedance);
  }
  return out;
}
FluidSlab air_slab(double thickness_m) {
  return {thickness_m, {1}, {1}};
}
ResponseObject below(Polygon plan, CeilingSpan span, std::vector<FluidSlab> slabs,
                     Vec3 axis = {0, 0, 1}) {
  return {std::move(plan), 0, 0, axis, std::move(slabs), span};
}
ResponseRequest request_in(const Room& room, const std::vector<double>& hz) {
  ResponseRequest out;
  out.room = room;
  out.surfaces.assign(std::size_t(surface_count(room)), {0.02});
  out.sources = {{{0.5, 0.6, 0.7}}};
  out.receivers_m = {{2.1, 1.6, 1.2}, {1.4, 1.8, 0.3}};
  out.frequencies_hz = hz;
  return out;
}
Fields fields_of(const ResponseRequest& request) {
  const auto report = response(request, {});
  if (!report) throw std::runtime_error(report.mistakes().text());
  return report->pressure_pa;
}
double off_db(Value found, Value wanted) {
  return 20 * std::log10(std::abs(found / wanted));
}
/// Where the level lies within 30 dB of the receiver's greatest, and elsewhere.
void expect_same(const Fields& found, const Fields& wanted, double near_db, double far_db) {
  for (std::size_t r = 0; r < wanted.size(); ++r) {
    double greatest = 0;
    for (const Value p : wanted[r]) greatest = std::max(greatest, std::abs(p));
    for (std::size_t i = 0; i < wanted[r].size(); ++i)
      EXPECT_NEAR(off_db(found[r][i], wanted[r][i]), 0,
                  std::abs(wanted[r][i]) > greatest * std::pow(10, -1.5) ? near_db : far_db)
          << r << " " << i;
  }
}
double most_off_db(const Fields& found, const Fields& wanted) {
  double most = 0;
  for (std::size_t r = 0; r < wanted.size(); ++r)
    for (std::size_t i = 0; i < wanted[r].size(); ++i)
      most = std::max(most, std::abs(off_db(found[r][i], wanted[r][i])));
  return most;
}

TEST(FollowedCeiling, is_measured_down_from_a_flat_one_too) {
  ResponseRequest request = request_in(make_box(long_m, wide_m, 2).value(), {45, 90});
  const Polygon plan = rectangle({0.7, 0.4}, {1.8, 1.3});
  const auto slabs = {wool(0.1, {45, 90}, 5000), wool(0.05, {45, 90}, 20000)};
  for (const double way : {1.0, -1.0}) {
    request.objects = {{plan, 1.7, 1.85, {0, 0, way}, slabs}};
    const Fields level = fields_of(request);
    request.objects = {below(plan, {0.15, 0.3}, slabs, {0, 0, way})};
    const Fields found = fields_of(request);
    for (std::size_t r = 0; r < level.size(); ++r)
      for (std::size_t i = 0; i < 2; ++i)
        EXPECT_LT(std::abs(found[r][i] - level[r][i]), 1e-9 * std::abs(level[r][i]));
  }
}

TEST(FollowedCeiling, air_that_follows_it_is_air) {
  ResponseRequest request = request_in(sloped(rise), {50, 95, 120});
  const Fields bare = fields_of(request);
  const Polygon plan = rectangle({0.7, 0.4}, {1.8, 1.3});
  const ResponseObject trap{{{2.1, 0}, {2.6, 0}, {2.6, 0.5}}, 0, 1.9, {0, 0, 1}, {air_slab(1.9)}};
  const Vec3 normal = normalised({rise, 0, -1});
  for (const auto& objects : std::vector<std::vector<ResponseObject>>{
           {below(plan, {0, 0.1}, {air_slab(0.1)})},
           {below(plan, {0.4, 0.6}, {air_slab(0.05), air_slab(0.15)}, normal), trap}}) {
    request.objects = objects;
    expect_same(fields_of(request), bare, 0.02, 0.02);
  }
}

/// The room's section is a plan: laid on its side the ceiling is a wall that stands oblique, what
/// follows it leans on that wall, and the two meshes have nothing in common.
TEST(FollowedCeiling, lined_with_wool_is_the_oblique_wall_of_the_room_on_its_side) {
  const std::vector<double> hz{50, 85, 120};
  const double high_m = low_m + rise * long_m, stretch = std::sqrt(1 + rise * rise);
  const auto on_side = [](Vec3 p) { return Vec3{p.x, p.z, wide_m - p.y}; };
  ResponseRequest request = request_in(sloped(rise), hz);
  ResponseRequest turned = request;
  turned.room = make_room({{0, 0}, {long_m, 0}, {long_m, high_m}, {0, low_m}}, wide_m).value();
  for (ResponseSource& source : turned.sources) source.at_m = on_side(source.at_m);
  for (Vec3& receiver : turned.receivers_m) receiver = on_side(receiver);
  const Fields bare = fields_of(request);
  expect_same(bare, fields_of(turned), 0.1, 0.3);
  for (const double gap : {0.0, 0.15}) {
    const std::vector<FluidSlab> slabs{wool(0.06, hz, 4000), wool(0.1, hz, 20000)};
    request.objects = {below(rectangle({0, 0}, {long_m, wide_m}), {gap, gap + 0.16}, slabs)};
    const double down = stretch * (gap + 0.16), up = stretch * gap;
    turned.objects = {
        {{{0, low_m - down}, {long_m, high_m - down}, {long_m, high_m - up}, {0, low_m - up}},
         0,
         wide_m,
         normalised({-rise, 1, 0}),
         slabs}};
    const Fields found = fields_of(request);
    expect_same(found, fields_of(turned), 0.1, 0.3);
    EXPECT_GT(most_off_db(found, bare), 3) << "the wool does something here";
  }
}

TEST(FollowedCeiling, that_hardly_slopes_is_all_but_flat) {
  const std::vector<double> hz{50, 100};
  const auto slabs = {wool(0.1, hz, 10000)};
  ResponseRequest request = request_in(make_box(long_m, wide_m, low_m).value(), hz);
  request.objects = {below(rectangle({0.7, 0.4}, {1.8, 1.3}), {0.2, 0.3}, slabs)};
  const Fields flat = fields_of(request);
  request.room = sloped(1e-5);
  expect_same(fields_of(request), flat, 0.1, 0.1);
}

TEST(FollowedCeiling, swaps_source_and_receiver) {
  const std::vector<double> hz{60, 105};
  ResponseRequest request = request_in(sloped(rise), hz);
  request.objects = {below(rectangle({0.7, 0.4}, {1.8, 1.3}), {0.1, 0.2}, {wool(0.1, hz, 8000)})};
  request.receivers_m.pop_back();
  const auto forth = fields_of(request)[0];
  std::swap(request.sources[0].at_m, request.receivers_m[0]);
  const auto back = fields_of(request)[0];
  for (std::size_t i = 0; i < hz.size(); ++i)
    EXPECT_LT(std::abs(forth[i] - back[i]), 1e-6 * std::abs(forth[i]));
}

/// A heavy fluid without loss on the ceiling: what the source gives is lost at the surfaces alone,
/// behind the fluid too.
TEST(FollowedCeiling, gives_back_at_the_surfaces_the_power_that_the_source_puts_in) {
  ResponseRequest request = request_in(sloped(rise), {80});
  request.surfaces[1] = {0.06};
  request.objects = {below(rectangle({0, 0}, {long_m, wide_m}), {0, 0.3}, {{0.3, {2.0}, {0.7}}})};
  request.receivers_m = {request.sources[0].at_m + Vec3{0.01, 0, 0}};
  std::vector<std::pair<double, std::size_t>> pieces;  // area, surface
  constexpr int steps = 8;
  for (int s = 0; s < 6; ++s) {
    const Polygon outline = surface_outline(request.room, s);
    for (int i = 0; i < steps; ++i)
      for (int j = 0; j < steps; ++j) {
        const double t = (i + 0.5) / steps;
        const double top = s < 2 ? outline[2].y : outline[3].y + t * (outline[2].y - outline[3].y);
        const double tilt = s == 1 ? std::sqrt(1 + rise * rise) : 1;
        pieces.emplace_back(outline[1].x * top * tilt / (steps * steps), std::size_t(s));
        request.receivers_m.push_back(
            from_uv(request.room, s, {t * outline[1].x, (j + 0.5) / steps * top}));
      }
  }
  const Fields found = fields_of(request);
  for (std::size_t f = 0; f < request.frequencies_hz.size(); ++f) {
    const double omega = 2 * std::acos(-1.0) * request.frequencies_hz[f];
    const double given = 0.5 * (found[0][f] * std::conj(1.0 / Value(0, omega))).real();
    double taken = 0;
    for (std::size_t i = 0; i < pieces.size(); ++i)
      taken += 0.5 * request.surfaces[pieces[i].second][0].real() * std::norm(found[i + 1][f]) *
               pieces[i].first / (request.density_kg_m3 * request.sound_speed_m_s);
    EXPECT_NEAR(taken / given, 1, 0.01) << request.frequencies_hz[f];
  }
}

std::vector<std::string> places_of_mistakes(const ResponseRequest& request) {
  std::vector<std::string> out;
  const auto report = response(request, {});
  if (!report)
    for (const Complaint& complaint : report.mistakes().items()) out.push_back(complaint.where);
  return out;
}

TEST(FollowedCeiling, tells_what_cannot_hang_below_it) {
  const Polygon plan = rectangle({0.7, 0.4}, {1.8, 1.3});
  ResponseRequest request = request_in(sloped(rise), {50});
  request.objects = {below(plan, {0.3, 0.2}, {air_slab(0.1)}),
                     below(plan, {2.0, 2.4}, {air_slab(0.4)}),
                     below(plan, {0.1, 0.3}, {air_slab(0.1)}),
                     below(plan, {0.1, 0.3}, {air_slab(0.2)}, normalised({rise, 0.3, -1}))};
  request.patches = {{{1, {1, 1}, {2, 1.5}}, {0.5}}};
  request.objects.push_back(below(plan, {0, 0.3}, {air_slab(0.3)}));
  EXPECT_EQ(places_of_mistakes(request),
            (std::vector<std::string>{"objects[0].below_ceiling_m", "objects[1].below_ceiling_m",
                                      "objects[2].layers", "objects[3].axis", "patches[0]"}));
  request.patches.clear();
  // A level one that reaches above its underside where the two touch, and one that lies in it.
  const ResponseObject follows = below(plan, {0.4, 0.5}, {air_slab(0.1)});
  request.objects = {follows,
                     {rectangle({1.8, 0.4}, {2.3, 1.3}), 0, 1.7, {0, 0, 1}, {air_slab(1.7)}}};
  EXPECT_EQ(places_of_mistakes(request), std::vector<std::string>{"objects[1]"});
  request.objects[1] = below(plan, {0.45, 0.6}, {air_slab(0.15)});
  EXPECT_EQ(places_of_mistakes(request), std::vector<std::string>{"objects"});
  request.objects = {follows};
  request.sources[0].at_m = {1, 1, low_m + rise - 0.46};
  EXPECT_EQ(places_of_mistakes(request), std::vector<std::string>{"sources[0].at_m"});
  request.sources[0].at_m.z -= 0.1;
  EXPECT_EQ(places_of_mistakes(request), std::vector<std::string>{});
}

}  // namespace
}  // namespace roomwright::acoustics
