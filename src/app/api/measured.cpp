// Recordings of a room: read, the response found behind a sweep, evaluated, as JSON.
#include <cmath>
#include <nlohmann/json.hpp>

#include "acoustics/impulse/impulse.h"
#include "app/api/api.h"
#include "core/audio/audio.h"

namespace roomwright::app {

namespace {

AudioLimits recording_limits() {
  AudioLimits out;
  out.most_seconds = most_recording_s;
  return out;
}

std::vector<double> first_channel(const Audio& audio) {
  return {audio.channels[0].begin(), audio.channels[0].end()};
}

/// The sound of a file's first channel, the response found where a sweep was played.
Result<std::vector<double>> impulse_in(const Audio& taken, std::string_view sweep,
                                       const std::string& sweep_name) {
  if (sweep.empty()) return first_channel(taken);
  auto played = read_audio_bytes(sweep, sweep_name, recording_limits());
  if (!played) return played.mistakes();
  if (played->rate_hz != taken.rate_hz) played = resampled(*played, taken.rate_hz);
  if (!played) return played.mistakes();
  return acoustics::impulse_of_sweep(first_channel(taken), first_channel(*played), taken.rate_hz);
}

double to_places(double value, double scale) {
  return std::round(value * scale) / scale;
}

Json figure_json(const acoustics::MeasuredFigure& figure) {
  Json out = {{"value", to_places(figure.value, 1e3)}, {"valid", figure.valid}};
  if (!figure.valid) out["reason"] = figure.reason;
  return out;
}

}  // namespace

Result<Json> measured_json(std::string_view recording, const std::string& name,
                           std::string_view sweep, const std::string& sweep_name) {
  const auto taken = read_audio_bytes(recording, name, recording_limits());
  if (!taken) return taken.mistakes();
  const auto impulse = impulse_in(*taken, sweep, sweep_name);
  if (!impulse) return impulse.mistakes();
  const auto room = acoustics::measured_room(*impulse, taken->rate_hz);
  if (!room) return room.mistakes();
  Json bands = Json::array(), levels = Json::array();
  for (const acoustics::MeasuredBand& band : room->bands)
    bands.push_back({{"hz", band.hz},
                     {"edt_s", figure_json(band.edt_s)},
                     {"t20_s", figure_json(band.t20_s)},
                     {"t30_s", figure_json(band.t30_s)},
                     {"range_db", to_places(band.range_db, 10)}});
  for (const acoustics::MeasuredLevel& level : room->levels)
    levels.push_back({{"hz", level.hz},
                      {"level_db", to_places(level.level_db, 10)},
                      {"noise_db", to_places(level.noise_db, 10)}});
  return Json{{"seconds", to_places(room->seconds, 100)}, {"bands", bands}, {"levels", levels}};
}

}  // namespace roomwright::app
