// Recordings of a room: read, the response found behind a sweep, evaluated, as JSON.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "acoustics/impulse/impulse.h"
#include "app/api/api.h"
#include "core/audio/audio.h"

namespace roomwright::app {

namespace {

constexpr std::size_t most_recording_bytes = std::size_t{256} << 20;

AudioLimits recording_limits() {
  AudioLimits out;
  out.most_seconds = most_recording_s;
  out.most_bytes = most_recording_bytes;
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

// ---- the sides of a proof -----------------------------------------------------------------------

Result<std::string> recording_bytes(const std::string& path, const std::string& where) {
  std::error_code unknown;
  // A pipe or a device would be waited for, or never end.
  if (std::filesystem::exists(path, unknown) && !std::filesystem::is_regular_file(path, unknown))
    return Complaint{where, "“" + path + "” is no plain file", {}, "give a WAV or FLAC file", 0};
  auto bytes = read_file(path, most_recording_bytes);
  if (bytes) return bytes;
  Complaint fault = bytes.mistakes().items()[0];
  fault.what = "“" + path + "” " + fault.what;
  fault.where = where;
  return fault;
}

namespace {

job::MeasuredMean spatial_mean(const std::vector<NamedRecording>& positions, double hz,
                               const char* key) {
  std::vector<acoustics::MeasuredFigure> each;
  for (const NamedRecording& position : positions)
    for (const Json& band : (*position.measured)["bands"])
      if (band["hz"] == hz)
        each.push_back({band[key]["value"].get<double>(), band[key]["valid"].get<bool>(),
                        band[key].value("reason", "")});
  const auto mean = acoustics::mean_figure(each);
  job::MeasuredMean out;
  if (mean.mean.valid) out.value = mean.mean.value;
  out.deviation = mean.deviation;
  out.positions = int(mean.valid);
  out.reason = mean.mean.reason;
  return out;
}

double energy_mean_db(const std::vector<NamedRecording>& positions, double hz, const char* key) {
  double sum = 0;
  int count = 0;
  for (const NamedRecording& position : positions)
    for (const Json& level : (*position.measured)["levels"])
      if (level["hz"] == hz) {
        sum += std::pow(10, level[key].get<double>() / 10);
        ++count;
      }
  return 10 * std::log10(sum / count);
}

/// `takes/seat_left.wav` is `seat left`.
std::string position_name(const std::string& path) {
  std::string out = std::filesystem::path(path).stem().string();
  std::replace(out.begin(), out.end(), '_', ' ');
  return out;
}

}  // namespace

std::optional<job::MeasuredSide> measured_side(const std::vector<NamedRecording>& positions) {
  std::vector<NamedRecording> told;
  for (const NamedRecording& one : positions)
    if (one.measured && one.measured->is_object() && one.measured->value("fault", "").empty())
      told.push_back(one);
  if (told.empty()) return std::nullopt;
  job::MeasuredSide out;
  for (const NamedRecording& one : told) out.positions.push_back(one.name);
  for (const acoustics::Band& band : acoustics::octave_bands()) {
    const double hz = band.nominal_hz;
    job::MeasuredOctave octave{hz, spatial_mean(told, hz, "edt_s"), spatial_mean(told, hz, "t20_s"),
                               spatial_mean(told, hz, "t30_s")};
    if (octave.t20_s.value || !octave.t20_s.reason.empty()) out.octaves.push_back(octave);
  }
  for (const acoustics::Band& band : acoustics::third_octave_bands()) {
    const double level = energy_mean_db(told, band.nominal_hz, "level_db");
    if (std::isfinite(level))
      out.thirds.push_back(
          {band.nominal_hz, level, energy_mean_db(told, band.nominal_hz, "noise_db")});
  }
  return out;
}

Result<job::MeasuredSide> measured_side_of_files(const std::vector<std::string>& paths,
                                                 const std::string& sweep_path,
                                                 const std::string& where) {
  if (paths.size() > most_positions)
    return Complaint{where, "names more than 24 recordings", double(paths.size()),
                     "give fewer positions", 0};
  Diagnostics found;
  const auto sweep =
      sweep_path.empty() ? Result<std::string>("") : recording_bytes(sweep_path, "--sweep");
  if (!sweep) return sweep.mistakes();
  std::vector<Json> evaluated;
  for (const std::string& path : paths) {
    const auto bytes = recording_bytes(path, where);
    if (!bytes) {
      found.add_all(bytes.mistakes());
      continue;
    }
    auto measured = measured_json(*bytes, path, *sweep, sweep_path);
    if (measured) {
      evaluated.push_back(std::move(*measured));
      continue;
    }
    for (Complaint fault : measured.mistakes().items()) {
      // What is said of the file by its name, or of the recording that it holds.
      const bool of_sweep = fault.where == sweep_path || fault.where == "sweep";
      fault.what = "“" + (of_sweep ? sweep_path : path) + "” " + fault.what;
      fault.where = of_sweep ? "--sweep" : where;
      found.add(fault);
    }
  }
  if (!found.empty()) return found;
  std::vector<NamedRecording> positions;
  for (std::size_t i = 0; i < paths.size(); ++i)
    positions.push_back({position_name(paths[i]), &evaluated[i]});
  return *measured_side(positions);
}

Result<ProofSides> proof_sides(const ProofFiles& files) {
  if (!files.any() && !files.sweep.empty())
    return Complaint{
        "--sweep", "stands without a recording", {}, "give --before, --after or both", 0};
  Diagnostics found;
  ProofSides out;
  const auto take = [&](const std::vector<std::string>& paths, const std::string& where,
                        std::optional<job::MeasuredSide>& to) {
    if (paths.empty()) return;
    auto side = measured_side_of_files(paths, files.sweep, where);
    if (side)
      to = std::move(*side);
    else
      found.add_all(side.mistakes());
  };
  take(files.before, "--before", out.before);
  take(files.after, "--after", out.after);
  if (!found.empty()) return found;
  return out;
}

void prove(job::Pack& pack, ProofSides sides) {
  if (!sides.before && !sides.after) return;
  pack.proof.measured = job::proven(pack.proof, std::move(sides.before), std::move(sides.after));
}

}  // namespace roomwright::app
