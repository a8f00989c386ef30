// calc reflections, as paths or as an echogram, and calc decay by the images of a box.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "acoustics/rays/rays.h"
#include "app/api/calc.h"
#include "app/api/calc_figures.h"
#include "app/api/calc_parts.h"

namespace roomwright::app {

void pass_on_pair(const Diagnostics& from, std::size_t source, std::size_t receiver,
                  Diagnostics& to) {
  for (Complaint item : from.items()) {
    if (item.where == "source") item.where = "sources[" + std::to_string(source) + "].at_m";
    if (item.where == "receiver") item.where = "receivers_m[" + std::to_string(receiver) + "]";
    const auto same = [&](const Complaint& other) {
      return other.where == item.where && other.what == item.what;
    };
    if (std::none_of(to.items().begin(), to.items().end(), same)) to.add(item);
  }
}

namespace {

constexpr double most_listed_paths = 100'000;
constexpr double most_echogram_images = 2e8;  // of all pairs, without their paths
constexpr double most_echogram_steps = 200'000;

struct EchogramAsked {
  double step_ms = 1, window_ms = 200;
  std::size_t steps() const {
    return static_cast<std::size_t>(std::ceil(window_ms / step_ms - 1e-9));
  }
};

struct ReflectionsAsked {
  acoustics::Room room;
  double sound_speed_m_s = 0;
  std::vector<Vec3> sources, receivers;
  acoustics::ReflectingBoundary boundary;
  acoustics::ImageOptions options;
  std::optional<EchogramAsked> echogram;
  std::size_t pairs() const { return sources.size() * receivers.size(); }
  /// A box whose images need no paths.
  bool summed() const { return echogram && acoustics::is_box(room) && boundary.patches.empty(); }
};

double coefficient_at(const std::optional<Coefficient>& value, double band_hz,
                      const std::string& where, Diagnostics& found) {
  if (!value) return 0;
  const auto here = value->at(band_hz);
  if (!here)
    found.add(where + ".absorption", "has no value at band_hz", band_hz,
              "give that band, or one number");
  return here.value_or(0);
}

acoustics::ReflectingBoundary boundary_at(Reader& in, const acoustics::Room& room, double band_hz) {
  acoustics::ReflectingBoundary out;
  const RoomBoundary read = read_boundary(in, room);
  for (std::size_t i = 0; i < read.surfaces.size(); ++i)
    out.surface_absorption.push_back(
        coefficient_at(read.surfaces[i], band_hz,
                       "surfaces." + acoustics::surface_name(room, int(i)), in.found()));
  out.patches = read.patches;
  for (std::size_t i = 0; i < read.patches.size(); ++i)
    out.patch_absorption.push_back(coefficient_at(
        read.patch_absorption[i], band_hz, "patches[" + std::to_string(i) + "]", in.found()));
  return out;
}

std::optional<EchogramAsked> read_echogram(Reader& in) {
  std::optional<EchogramAsked> out;
  in.child("echogram", [&](Reader& asked) {
    EchogramAsked read;
    read.step_ms = asked.number_or("step_ms", read.step_ms, {.at_least = 0.01, .at_most = 1000});
    read.window_ms = asked.number_or("window_ms", read.window_ms, {.above = 0, .at_most = 20000});
    if (read.window_ms < read.step_ms)
      asked.complain("window_ms", "must be at least step_ms", read.window_ms, "such as 200");
    asked.finish();
    out = read;
  });
  return out;
}

Complaint too_many_paths(int order) {
  return {"max_order", "lists more than 100 000 paths", double(order),
          "lower it or window_ms, or ask for an echogram", 0};
}

/// Work and memory of all pairs together.
void check_amount(const ReflectionsAsked& asked, Diagnostics& found) {
  const auto pairs = double(asked.pairs());
  const int order = asked.options.max_order;
  if (order > acoustics::greatest_order && !asked.summed()) {
    found.add("max_order",
              asked.echogram ? "must be at most 20 with patches or in a room that is no box"
                             : "must be at most 20 where paths are listed",
              double(order), asked.echogram ? "lower it" : "lower it, or ask for an echogram");
    return;
  }
  const double images = pairs * acoustics::image_candidates(asked.room, order);
  if (images > (asked.summed() ? most_echogram_images : acoustics::most_traced_images))
    found.add("max_order", "has too many images for so many pairs", double(order),
              "lower it, or give fewer sources and receivers");
  // In a box every image is a path.
  if (!asked.echogram && acoustics::is_box(asked.room) && std::isinf(asked.options.window_ms) &&
      images > most_listed_paths)
    found.add(too_many_paths(order));
  if (asked.echogram && pairs * double(asked.echogram->steps()) > most_echogram_steps)
    found.add("echogram.step_ms", "makes more than 200 000 steps of all pairs",
              asked.echogram->step_ms,
              "take longer steps, a shorter window_ms, or fewer sources and receivers");
}

Json path_json(const acoustics::Room& room, const acoustics::ImagePath& path) {
  Json surfaces = Json::array(), points = Json::array();
  for (const int surface : path.surfaces)
    surfaces.push_back(acoustics::surface_name(room, surface));
  for (const Vec3& point : path.points_m) points.push_back({point.x, point.y, point.z});
  return {{"delay_ms", path.delay_ms},
          {"level_db", path.level_db},
          {"order", path.order},
          {"surfaces", surfaces},
          {"points_m", points}};
}

Json steps_json(const std::vector<double>& energy, const EchogramAsked& asked) {
  Json out = Json::array();
  for (std::size_t i = 0; i < energy.size(); ++i)
    out.push_back({{"ms", double(i) * asked.step_ms},
                   {"energy", energy[i]},
                   {"energy_db", energy[i] > 0 ? Json(acoustics::energy_db(energy[i])) : Json()}});
  return out;
}

/// Of a box with patches too, whose walls alone they then are: for the time up to which no image of
/// a higher order arrives.
Result<acoustics::BoxImages> images_of_box(const ReflectionsAsked& asked, Vec3 source,
                                           Vec3 receiver, const EchogramAsked& echogram) {
  std::vector<std::vector<double>> absorption;
  for (const double one : asked.boundary.surface_absorption) absorption.push_back({one});
  acoustics::BoxImageOptions options;
  options.max_order = asked.options.max_order;
  options.bin_s = echogram.step_ms / 1e3;
  options.from_s = length(receiver - source) / asked.sound_speed_m_s;
  options.window_s = double(echogram.steps()) * options.bin_s;
  options.direct = false;
  return acoustics::box_image_echogram(asked.room, source, receiver, asked.sound_speed_m_s,
                                       absorption, options);
}

Result<Json> echogram_of_pair(const ReflectionsAsked& asked, Vec3 source, Vec3 receiver) {
  const EchogramAsked& echogram = *asked.echogram;
  const double direct_m = length(receiver - source);
  std::vector<double> energy(echogram.steps(), 0.0);
  Json out;
  if (acoustics::is_box(asked.room)) {
    const auto images = images_of_box(asked, source, receiver, echogram);
    if (!images) return images.mistakes();
    const double to_direct = 4 * std::acos(-1.0) * direct_m * direct_m;
    for (std::size_t i = 0; i < std::min(energy.size(), images->bins.size()); ++i)
      energy[i] = images->bins[i] * to_direct;
    out = {{"direct_m", direct_m},
           {"direct_clear", true},
           {"complete_ms", 1e3 * (images->complete_s - direct_m / asked.sound_speed_m_s)},
           {"images", images->images}};
  }
  if (!asked.summed()) {
    const auto report = acoustics::image_paths(asked.room, source, receiver, asked.sound_speed_m_s,
                                               asked.boundary, asked.options);
    if (!report) return report.mistakes();
    std::fill(energy.begin(), energy.end(), 0.0);
    std::size_t images = 0;
    for (const auto& path : report->paths) {
      const double step = path.delay_ms / echogram.step_ms;
      if (!(step < double(energy.size()))) continue;
      energy[static_cast<std::size_t>(std::max(0.0, step))] += std::pow(10, path.level_db / 10);
      ++images;
    }
    out["direct_m"] = report->direct_m;
    out["direct_clear"] = report->direct_clear;
    out["images"] = images;
  }
  out["echogram"] = steps_json(energy, echogram);
  return out;
}

Result<Json> paths_of_pair(const ReflectionsAsked& asked, Vec3 source, Vec3 receiver,
                           double& listed) {
  const auto report = acoustics::image_paths(asked.room, source, receiver, asked.sound_speed_m_s,
                                             asked.boundary, asked.options);
  if (!report) return report.mistakes();
  listed += double(report->paths.size());
  if (listed > most_listed_paths) return too_many_paths(asked.options.max_order);
  Json paths = Json::array();
  for (const auto& path : report->paths) paths.push_back(path_json(asked.room, path));
  return Json{
      {"direct_m", report->direct_m}, {"direct_clear", report->direct_clear}, {"paths", paths}};
}

Result<Json> pairs_json(const ReflectionsAsked& asked) {
  Diagnostics found;
  Json pairs = Json::array();
  double listed = 0;
  for (std::size_t s = 0; s < asked.sources.size(); ++s)
    for (std::size_t r = 0; r < asked.receivers.size(); ++r) {
      auto pair = asked.echogram
                      ? echogram_of_pair(asked, asked.sources[s], asked.receivers[r])
                      : paths_of_pair(asked, asked.sources[s], asked.receivers[r], listed);
      if (!pair) {
        pass_on_pair(pair.mistakes(), s, r, found);
        if (listed > most_listed_paths) return found;
        continue;
      }
      (*pair)["source"] = s;
      (*pair)["receiver"] = r;
      pairs.push_back(std::move(*pair));
    }
  if (!found.empty()) return found;
  return Json{{"pairs", pairs}};
}

}  // namespace

Result<Json> calc_reflections(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  const auto room = read_room(in);
  const auto air = read_air(in);
  const auto sources = read_points(in, "sources", "at_m");
  const auto receivers = read_points(in, "receivers_m", nullptr);
  ReflectionsAsked asked;
  asked.options.max_order = int(in.whole_or("max_order", 1, 1, acoustics::greatest_echogram_order));
  asked.options.window_ms =
      in.number_or("window_ms", asked.options.window_ms, {.above = 0, .at_most = 1e6});
  const double band_hz = in.number_or("band_hz", 1000, {.at_least = 50, .at_most = 10000});
  asked.echogram = read_echogram(in);
  if (asked.echogram && in.has("window_ms"))
    in.complain("window_ms", "stands beside echogram", {}, "give echogram.window_ms alone");
  if (room) asked.boundary = boundary_at(in, *room, band_hz);
  in.raw("surfaces");
  in.raw("patches");
  in.finish();
  if (!found.empty() || !room || !air || !sources || !receivers) return found;
  asked.room = *room;
  asked.sound_speed_m_s = air->sound_speed_m_s;
  asked.sources = *sources;
  asked.receivers = *receivers;
  check_amount(asked, found);
  if (!found.empty()) return found;
  return pairs_json(asked);
}

// ---- decay --------------------------------------------------------------------------------------

namespace {

Json image_figure_json(const acoustics::TracedValue& value) {
  Json out = {{"value", value.value ? Json(*value.value) : Json()}};
  if (!value.reason.empty()) out["reason"] = value.reason;
  return out;
}

acoustics::TracedValue mean_of_pairs(const std::vector<acoustics::BoxDecay>& pairs,
                                     std::size_t band, const TracedFigure& figure) {
  acoustics::TracedValue out;
  double sum = 0;
  int count = 0;
  for (const acoustics::BoxDecay& pair : pairs) {
    const acoustics::TracedValue& one = pair.bands[band].*figure.value;
    if (!one.value) {
      out.reason = one.reason;
      continue;
    }
    sum += *one.value;
    ++count;
  }
  if (count == 0) return out;
  return {sum / count, 0, ""};
}

Json decay_row(double hz, const std::vector<acoustics::BoxDecay>& pairs, std::size_t band) {
  Json out = {{"hz", hz}};
  const auto time = mean_of_pairs(pairs, band, traced_figures[1]);
  out["t_s"] = time.value ? Json(*time.value) : Json();
  if (!time.value) out["reason"] = time.reason;
  for (const TracedFigure& figure : traced_figures)
    out[figure.key] = image_figure_json(mean_of_pairs(pairs, band, figure));
  return out;
}

Json decay_pair_json(const acoustics::BoxDecay& pair, const Frequencies& bands) {
  Json rows = Json::array();
  for (std::size_t band = 0; band < bands.nominal_hz.size(); ++band) {
    Json row = {{"hz", bands.nominal_hz[band]}};
    for (const TracedFigure& figure : traced_figures)
      row[figure.key] = image_figure_json(pair.bands[band].*figure.value);
    rows.push_back(row);
  }
  return {{"bands", rows}, {"images", pair.images}, {"complete_s", pair.complete_s}};
}

}  // namespace

Result<Json> decay_by_images(Reader& in, const acoustics::Room& room, const acoustics::Air& air,
                             const Frequencies& bands) {
  acoustics::BoxDecayScene scene;
  scene.room = room;
  scene.sound_speed_m_s = air.sound_speed_m_s;
  const RoomBoundary boundary = read_boundary(in, room);
  for (std::size_t i = 0; i < boundary.surfaces.size(); ++i)
    scene.absorption.push_back(
        by_band(boundary.surfaces[i], bands,
                "surfaces." + acoustics::surface_name(room, int(i)) + ".absorption", in.found()));
  if (!acoustics::is_box(room))
    in.complain("method", "images needs a rectangular room", "\"images\"", "take rays");
  if (!boundary.patches.empty())
    in.complain("patches", "cannot stand beside images", {}, "take rays, or leave them out");
  const auto sources = read_points(in, "sources", "at_m");
  const auto receivers = read_points(in, "receivers_m", nullptr);
  const int order = int(in.whole_or("max_order", 100, 1, acoustics::greatest_echogram_order));
  in.finish();
  if (!in.found().empty() || !sources || !receivers) return in.found();
  if (double(sources->size() * receivers->size()) * double(bands.hz.size()) *
          acoustics::image_candidates(room, order) >
      4 * most_echogram_images)
    return Complaint{"max_order", "has too many images for so many pairs and bands", double(order),
                     "lower it, or give fewer sources and receivers", 0};
  for (const double hz : bands.hz)
    scene.air_energy_1_m.push_back(acoustics::energy_attenuation_per_m(air, hz));
  std::vector<acoustics::BoxDecay> decays;
  Json pairs = Json::array(), rows = Json::array();
  for (std::size_t s = 0; s < sources->size(); ++s)
    for (std::size_t r = 0; r < receivers->size(); ++r) {
      scene.source_m = (*sources)[s];
      scene.receiver_m = (*receivers)[r];
      const auto decay = acoustics::box_image_decay(scene, order);
      if (!decay) {
        pass_on_pair(decay.mistakes(), s, r, in.found());
        continue;
      }
      Json pair = decay_pair_json(*decay, bands);
      pair["source"] = s;
      pair["receiver"] = r;
      pairs.push_back(pair);
      decays.push_back(*decay);
    }
  if (!in.found().empty()) return in.found();
  for (std::size_t band = 0; band < bands.nominal_hz.size(); ++band)
    rows.push_back(decay_row(bands.nominal_hz[band], decays, band));
  return Json{{"bands", rows}, {"pairs", pairs}, {"image_order", order}};
}

}  // namespace roomwright::app
