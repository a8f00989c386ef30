// calc impulse: files read, the response found behind a sweep, evaluated, as JSON.
// docs/interface.md says the keys.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "acoustics/impulse/impulse.h"
#include "app/api/api.h"
#include "app/api/calc.h"
#include "core/audio/audio.h"

namespace roomwright::app {

namespace {

AudioLimits file_limits() {
  AudioLimits out;
  out.most_seconds = most_recording_s;
  return out;
}

struct SweepSource {
  std::string file;  ///< empty: by its formula
  acoustics::SweepAsked formula;
};

struct ImpulseAsked {
  std::vector<std::string> files;
  bool several = false;  ///< asked as a list
  std::string key = "file";
  std::size_t channel = 0;
  std::optional<SweepSource> sweep;
  acoustics::FiguresAsked figures;
  /// `files[2]`, or the key alone.
  std::string where(std::size_t position) const {
    return several ? key + "[" + std::to_string(position) + "]" : key;
  }
};

std::vector<std::string> read_paths(Reader& in, const std::string& key) {
  const Json* raw = in.raw(key);
  const bool texts = raw && raw->is_array() && !raw->empty() && raw->size() <= most_positions &&
                     std::all_of(raw->begin(), raw->end(), [](const Json& one) {
                       return one.is_string() && !one.get_ref<const std::string&>().empty();
                     });
  if (texts) return raw->get<std::vector<std::string>>();
  in.complain(key, "must be a list of 1 to 24 paths", raw ? shown(*raw) : Got(),
              "[\"seat_1.wav\", \"seat_2.wav\"]");
  return {};
}

/// One of `file`, `files`, `recording`, `recordings`.
void read_what(Reader& in, ImpulseAsked& out) {
  std::vector<std::string> given;
  for (const char* key : {"file", "files", "recording", "recordings"})
    if (in.has(key)) given.emplace_back(key);
  if (given.size() != 1) {
    for (const std::string& key : given) in.raw(key);
    in.complain(given.empty() ? "file" : given[1],
                given.empty() ? "is missing" : "stands beside " + given[0], {},
                "give one of file, files, recording and recordings");
    return;
  }
  out.key = given[0];
  out.several = out.key.back() == 's';
  if (out.several)
    out.files = read_paths(in, out.key);
  else
    out.files = {in.text(out.key, "the path of a WAV or FLAC file", 4096)};
  const bool recorded = out.key[0] == 'r';
  if (recorded && !in.has("sweep"))
    in.complain("sweep", "is missing", {},
                "give the sweep that was played, or file in place of " + out.key);
  if (!recorded && in.has("sweep"))
    in.complain("sweep", "stands beside " + out.key, {},
                "give recording: an impulse response needs no sweep");
}

std::optional<SweepSource> read_sweep(Reader& in) {
  std::optional<SweepSource> out;
  in.child("sweep", [&](Reader& sweep) {
    SweepSource read;
    if (sweep.has("file")) {
      read.file = sweep.text("file", "the path of a WAV or FLAC file", 4096);
      for (const char* key : {"from_hz", "to_hz", "seconds", "rate_hz"})
        if (sweep.raw(key)) sweep.complain(key, "stands beside file", {}, "give one of the two");
    } else {
      sweep.raw("file");
      read.formula.from_hz =
          sweep.number("from_hz", {.at_least = 1, .at_most = 192000}, "such as 20");
      read.formula.to_hz =
          sweep.number("to_hz", {.at_least = 1, .at_most = 192000}, "such as 20000");
      read.formula.seconds =
          sweep.number("seconds", {.at_least = 0.1, .at_most = 120}, "such as 5");
      sweep.number("rate_hz", {.at_least = least_audio_rate_hz, .at_most = greatest_audio_rate_hz},
                   "such as 48000");
    }
    sweep.finish();
    out = read;
  });
  return out;
}

std::optional<ImpulseAsked> read_impulse(Reader& in) {
  ImpulseAsked out;
  const std::size_t before = in.found().size();
  read_what(in, out);
  out.channel = static_cast<std::size_t>(in.whole_or("channel", 0, 0, 7));
  out.figures.thirds = in.one_of_or("bands", 0, {"octave", "third"}) == 1u;
  out.sweep = read_sweep(in);
  in.child("response", [&](Reader& response) {
    out.figures.response_per_octave =
        double(response.whole_or("smoothing", 12, 1, 96, "parts of an octave, such as 12"));
    response.finish();
  });
  in.finish();
  if (in.found().size() > before) return std::nullopt;
  return out;
}

/// One channel of a file; what is wrong with it stands at the request's key, with the path.
Result<Audio> read_channel(const std::string& path, std::size_t channel, const std::string& where) {
  const auto bytes = recording_bytes(path, where);
  if (!bytes) return bytes.mistakes();
  auto audio = read_audio_bytes(*bytes, path, file_limits());
  if (!audio) {
    Diagnostics found;
    for (Complaint item : audio.mistakes().items()) {
      item.what = "“" + item.where + "” " + item.what;
      item.where = where;
      found.add(item);
    }
    return found;
  }
  if (channel >= audio->channels.size())
    return Complaint{"channel",
                     "is not in “" + path + "”, which has " +
                         std::to_string(audio->channels.size()) + ", counted from 0",
                     double(channel), "give a lower one", 0};
  if (channel > 0) std::swap(audio->channels[0], audio->channels[channel]);
  audio->channels.resize(1);
  return audio;
}

std::vector<double> samples_in(const Audio& audio) {
  return {audio.channels[0].begin(), audio.channels[0].end()};
}

Diagnostics placed_at(const Diagnostics& from, const std::string& recording) {
  Diagnostics out;
  for (Complaint item : from.items()) {
    if (item.where == "recording") item.where = recording;
    if (item.where == "from_hz" || item.where == "to_hz" || item.where == "seconds")
      item.where = "sweep." + item.where;
    out.add(item);
  }
  return out;
}

Result<std::vector<double>> played(const SweepSource& sweep, double rate_hz) {
  if (sweep.file.empty()) return acoustics::exponential_sweep(sweep.formula, rate_hz);
  auto audio = read_channel(sweep.file, 0, "sweep.file");
  if (audio && audio->rate_hz != rate_hz) audio = resampled(*audio, rate_hz);
  if (!audio) return audio.mistakes();
  return samples_in(*audio);
}

Result<acoustics::MeasuredFigures> figures_of_position(const ImpulseAsked& asked,
                                                       std::size_t position) {
  const std::string where = asked.where(position);
  const auto audio = read_channel(asked.files[position], asked.channel, where);
  if (!audio) return audio.mistakes();
  std::vector<double> samples = samples_in(*audio);
  if (asked.sweep) {
    const auto sweep = played(*asked.sweep, audio->rate_hz);
    if (!sweep) return placed_at(sweep.mistakes(), where);
    auto impulse = acoustics::impulse_of_sweep(samples, *sweep, audio->rate_hz);
    if (!impulse) return placed_at(impulse.mistakes(), where);
    samples = std::move(*impulse);
  }
  auto out = acoustics::measured_figures(samples, audio->rate_hz, asked.figures);
  if (!out) return placed_at(out.mistakes(), where);
  return out;
}

struct NamedFigure {
  const char* key;
  acoustics::MeasuredFigure acoustics::MeasuredBand::*figure;
};
constexpr NamedFigure impulse_figures[] = {
    {"edt_s", &acoustics::MeasuredBand::edt_s},
    {"t20_s", &acoustics::MeasuredBand::t20_s},
    {"t30_s", &acoustics::MeasuredBand::t30_s},
    {"c50_db", &acoustics::MeasuredBand::c50_db},
    {"c80_db", &acoustics::MeasuredBand::c80_db},
    {"d50", &acoustics::MeasuredBand::d50},
    {"ts_ms", &acoustics::MeasuredBand::ts_ms},
    {"noise_db", &acoustics::MeasuredBand::noise_db},
    {"dynamic_range_db", &acoustics::MeasuredBand::dynamic_range_db}};

/// A value that is not valid stands there to be looked at; where there is none at all it is null.
Json impulse_figure_json(const acoustics::MeasuredFigure& figure) {
  const bool none = !figure.valid && figure.value == 0;
  Json out = {{"value", none ? Json() : Json(figure.value)}, {"valid", figure.valid}};
  if (!figure.valid) out["reason"] = figure.reason;
  return out;
}

Json impulse_band_json(const acoustics::MeasuredBand& band) {
  Json out = Json::object();
  if (band.hz > 0) out["hz"] = band.hz;
  for (const NamedFigure& one : impulse_figures)
    out[one.key] = impulse_figure_json(band.*one.figure);
  return out;
}

using Positions = std::vector<acoustics::MeasuredFigures>;

/// The mean over the positions: of a band, or of the whole response (band: none).
Json mean_band_json(const Positions& positions, std::optional<std::size_t> band) {
  Json out = Json::object();
  if (band) out["hz"] = positions[0].bands[*band].hz;
  for (const NamedFigure& one : impulse_figures) {
    std::vector<acoustics::MeasuredFigure> each;
    for (const auto& position : positions)
      each.push_back((band ? position.bands[*band] : position.broadband).*one.figure);
    const auto mean = acoustics::mean_figure(each);
    out[one.key] = impulse_figure_json(mean.mean);
    out[one.key]["positions"] = mean.valid;
    if (mean.valid > 1) out[one.key]["deviation"] = mean.deviation;
  }
  return out;
}

Json response_json(const std::vector<acoustics::ResponsePoint>& points) {
  Json out = Json::array();
  for (const auto& point : points) out.push_back({point.hz, point.level_db});
  return out;
}

Json position_json(const acoustics::MeasuredFigures& figures, bool response) {
  Json bands = Json::array();
  for (const auto& band : figures.bands) bands.push_back(impulse_band_json(band));
  Json out = {{"bands", bands},
              {"broadband", impulse_band_json(figures.broadband)},
              {"seconds", figures.seconds}};
  if (response) out["response"] = response_json(figures.response);
  return out;
}

Json positions_json(const ImpulseAsked& asked, const Positions& positions) {
  const bool response = asked.figures.response_per_octave > 0;
  std::size_t count = positions[0].bands.size();
  for (const auto& position : positions) count = std::min(count, position.bands.size());
  Json bands = Json::array(), each = Json::array();
  for (std::size_t band = 0; band < count; ++band) bands.push_back(mean_band_json(positions, band));
  for (std::size_t i = 0; i < positions.size(); ++i) {
    Json one = position_json(positions[i], response);
    one["file"] = asked.files[i];
    each.push_back(std::move(one));
  }
  return {{"bands", bands}, {"broadband", mean_band_json(positions, {})}, {"positions", each}};
}

}  // namespace

Result<Json> calc_impulse(const Json& request) {
  Diagnostics found;
  Reader in(request, "", found);
  const auto asked = read_impulse(in);
  if (!asked) return found;
  Positions positions;
  for (std::size_t i = 0; i < asked->files.size(); ++i) {
    auto figures = figures_of_position(*asked, i);
    if (!figures)
      found.add_all(figures.mistakes());
    else
      positions.push_back(std::move(*figures));
  }
  if (!found.empty()) return found;
  if (asked->several) return positions_json(*asked, positions);
  return position_json(positions[0], asked->figures.response_per_octave > 0);
}

}  // namespace roomwright::app
