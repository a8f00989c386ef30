// A dry take through the job's rooms: read, brought to 48 kHz, convolved, brought to one loudness,
// and as files.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "app/api/api.h"
#include "core/audio/audio.h"
#include "core/numerics/numerics.h"

namespace roomwright::app {

namespace {

constexpr double wanted_lkfs = -23, most_peak_db = -1;
constexpr double impulse_rate = 48000;
constexpr float silence = 1e-6f;

// ---- the take -----------------------------------------------------------------------------------

Result<Audio> dry_take(const std::string& path) {
  AudioLimits limits;
  limits.most_channels = 2;
  limits.most_seconds = most_take_s;
  limits.most_bytes = std::size_t{512} << 20;
  auto take = read_audio(path, limits);
  if (!take) return take;
  float peak = 0;
  for (const auto& channel : take->channels)
    for (const float sample : channel) peak = std::max(peak, std::abs(sample));
  if (peak < silence) return Complaint{path, "is silent", {}, "choose a take that holds sound", 0};
  return resampled(*take, impulse_rate);
}

/// Which channel sounds from which loudspeaker, by their places.
struct Route {
  std::size_t channel = 0, loudspeaker = 0;
  double gain = 1;
};

std::vector<Route> routes_of(const job::Job& job, std::size_t channels) {
  std::vector<std::size_t> mains;
  for (std::size_t i = 0; i < job.loudspeakers.size(); ++i)
    if (!job.loudspeakers[i].subwoofer) mains.push_back(i);
  if (mains.empty())
    for (std::size_t i = 0; i < job.loudspeakers.size(); ++i) mains.push_back(i);
  std::vector<Route> out;
  if (channels == 1)
    for (const std::size_t main : mains) out.push_back({0, main});
  else if (mains.size() == 1)
    out = {{0, mains[0], 0.5}, {1, mains[0], 0.5}};
  else
    out = {{0, mains[0]}, {1, mains[1]}};
  return out;
}

std::vector<std::string> plays_of(const job::Job& job, const std::vector<Route>& routes,
                                  std::size_t channels) {
  std::vector<std::string> out;
  for (const Route& route : routes)
    out.push_back((channels == 1        ? "the take through "
                   : route.channel == 0 ? "its left channel through "
                                        : "its right channel through ") +
                  job.loudspeakers[route.loudspeaker].label);
  return out;
}

// ---- through the room ---------------------------------------------------------------------------

Audio heard_at(const std::vector<job::SeatImpulses>& pairs, std::size_t seats, std::size_t seat,
               bool treated, const Audio& take, const std::vector<Route>& routes) {
  Audio out;
  out.channels.resize(2);
  for (std::size_t point = 0; point < 2; ++point) {
    std::vector<double> sum;
    for (const Route& route : routes) {
      const auto& pair = pairs[route.loudspeaker * seats + seat];
      const auto& dry = take.channels[route.channel];
      const auto wet = convolved(std::vector<double>(dry.begin(), dry.end()),
                                 (treated ? pair.treated : pair.today)[point]);
      sum.resize(std::max(sum.size(), wet.size()));
      for (std::size_t i = 0; i < wet.size(); ++i) sum[i] += route.gain * wet[i];
    }
    out.channels[point].assign(sum.begin(), sum.end());
  }
  return out;
}

double peak_db(const Audio& audio) {
  double peak = 1e-12;
  for (const auto& channel : audio.channels)
    for (const float sample : channel) peak = std::max(peak, std::abs(double(sample)));
  return 20 * std::log10(peak);
}

double mean_square_db(const Audio& audio) {
  double sum = 1e-24;
  for (const auto& channel : audio.channels)
    for (const float sample : channel) sum += double(sample) * double(sample);
  return 10 * std::log10(sum / double(audio.frames() * audio.channels.size()));
}

void raise(Audio& audio, double db) {
  const double factor = std::pow(10.0, db / 20);
  for (auto& channel : audio.channels)
    for (float& sample : channel) sample = static_cast<float>(double(sample) * factor);
}

/// Both to one loudness: wanted_lkfs, or less where a peak would pass most_peak_db.
void match(Audio& today, Audio& treated, HeardSeat& out) {
  const auto first = loudness_lkfs(today), second = loudness_lkfs(treated);
  out.by_loudness = first && second;
  const double today_level = out.by_loudness ? *first : mean_square_db(today);
  const double treated_level = out.by_loudness ? *second : mean_square_db(treated);
  // A hair below, so that rounding to 24 bits stays within.
  const double room_db = most_peak_db - 1e-3;
  out.level = std::min({wanted_lkfs, today_level + room_db - peak_db(today),
                        treated_level + room_db - peak_db(treated)});
  out.today_gain_db = out.level - today_level;
  out.treated_gain_db = out.level - treated_level;
  raise(today, out.today_gain_db);
  raise(treated, out.treated_gain_db);
  out.peak_db = std::max(peak_db(today), peak_db(treated));
}

// ---- files --------------------------------------------------------------------------------------

/// Letters, digits, points and dashes of a label; two labels that become alike are told apart.
class Names {
 public:
  std::string of(const std::string& label) {
    std::string name;
    for (const char letter : label) {
      const bool kept = std::isalnum(static_cast<unsigned char>(letter)) || letter == '-';
      if (kept)
        name += letter;
      else if (!name.empty() && name.back() != '_')
        name += '_';
    }
    while (!name.empty() && name.back() == '_') name.pop_back();
    if (name.empty()) name = "place";
    return unique(name);
  }
  std::string unique(const std::string& name) {
    std::string out = name;
    for (int i = 2; !used_.insert(out).second; ++i) out = name + "_" + std::to_string(i);
    return out;
  }

 private:
  std::set<std::string> used_;
};

Result<Done> add_file(const std::string& path, const Audio& audio, AudioFormat format,
                      std::vector<PackFile>& out) {
  auto bytes = audio_bytes(audio, format);
  if (!bytes) return bytes.mistakes();
  out.push_back({path, std::move(*bytes)});
  return Done{};
}

Audio impulse_audio(const std::array<std::vector<double>, 2>& points) {
  Audio out;
  for (const auto& samples : points) out.channels.emplace_back(samples.begin(), samples.end());
  const std::size_t length = std::max(out.channels[0].size(), out.channels[1].size());
  for (auto& channel : out.channels) channel.resize(length, 0.0f);
  return out;
}

Result<Done> add_impulses(const job::Job& job, const job::Listening& rooms,
                          const std::vector<std::string>& seat_names, ListenReport& out) {
  Names names, pairs;
  std::vector<std::string> speaker_names;
  for (const auto& speaker : job.loudspeakers) speaker_names.push_back(names.of(speaker.label));
  for (std::size_t seat = 0; seat < job.seats.size(); ++seat)
    for (std::size_t speaker = 0; speaker < job.loudspeakers.size(); ++speaker) {
      const auto& pair = rooms.pairs[speaker * job.seats.size() + seat];
      const std::string name =
          pairs.unique("IR_" + seat_names[seat] + "_" + speaker_names[speaker]);
      for (const auto& [points, state] :
           {std::pair{&pair.today, "_today.wav"}, {&pair.treated, "_treated.wav"}})
        if (auto added =
                add_file(name + state, impulse_audio(*points), AudioFormat::wav_float, out.files);
            !added)
          return added;
    }
  return Done{};
}

Result<Done> add_seats(const job::Job& job, const job::Listening& rooms, const Audio& take,
                       const std::vector<std::string>& seat_names, const Watch& watch,
                       ListenReport& out) {
  const auto routes = routes_of(job, take.channels.size());
  out.plays = plays_of(job, routes, take.channels.size());
  for (std::size_t seat = 0; seat < job.seats.size(); ++seat) {
    watch.tick(0.8 + 0.2 * double(seat) / double(job.seats.size()), "playing the take");
    std::array<Audio, 2> heard;
    parallel_for(2, 0, [&](std::size_t state) {
      heard[state] = heard_at(rooms.pairs, job.seats.size(), seat, state == 1, take, routes);
    });
    HeardSeat one;
    one.seat = job.seats[seat].label;
    one.today_file = seat_names[seat] + "_today.wav";
    one.treated_file = seat_names[seat] + "_treated.wav";
    match(heard[0], heard[1], one);
    for (const auto& [name, audio] :
         {std::pair{&one.today_file, &heard[0]}, {&one.treated_file, &heard[1]}})
      if (auto added = add_file(*name, *audio, AudioFormat::wav_24, out.files); !added)
        return added;
    out.seats.push_back(std::move(one));
  }
  return Done{};
}

std::string crossing(double hz) {
  return hz > 0 ? "waves below " + fixed(hz, 0) + " Hz and rays above" : "rays alone";
}

void say_limits(const job::Listening& rooms, ListenReport& out) {
  out.limits = {
      "Two points in the air, 0.17 m apart: no head stands between them, so headphones give no "
      "true "
      "direction.",
      rooms.crossover_today_hz == rooms.crossover_treated_hz
          ? "The room is " + crossing(rooms.crossover_today_hz) + "."
          : "The room today is " + crossing(rooms.crossover_today_hz) + ", treated " +
                crossing(rooms.crossover_treated_hz) + ".",
      "Every loudspeaker is even on its axis from 20 Hz up, with the beam of a small piston in a "
      "sphere, turned to the first seat; subwoofers play nothing.",
      "Both files of a seat have one loudness: the difference in level that treatment makes is not "
      "heard, only that in sound."};
  if (std::abs(rooms.mismatch_db) > 3)
    out.limits.push_back("Where they cross, waves and rays differ by up to " +
                         fixed(std::abs(rooms.mismatch_db), 1) +
                         " dB; 3 dB of that are evened out.");
  out.caution = "Play at a moderate level first: a mistake in a chain can be loud enough to hurt.";
}

}  // namespace

Result<ListenReport> listen(const job::Job& job, const std::string& take_path,
                            const job::Run& run) {
  const Watch& watch = run.watch;
  const auto take = dry_take(take_path);
  if (!take) return take.mistakes();
  watch.tick(0, "findings");
  const job::Survey survey = job::survey(job);
  const job::Findings findings = job::findings(job, survey, {watch.part(0, 0.1), run.keep, false});
  const auto treatment =
      job::treatment(job, survey, findings, {watch.part(0.1, 0.2), run.keep, false});
  if (!treatment) return treatment.mistakes();
  job::RayOptions options;
  options.rays = 25'000;  // noise under an envelope needs fewer than figures do
  options.watch = watch.part(0.2, 0.8);
  const auto rooms = job::listening(job, survey, findings, *treatment, options);
  if (!rooms) return rooms.mistakes();
  ListenReport out;
  out.crossover_today_hz = rooms->crossover_today_hz;
  out.crossover_treated_hz = rooms->crossover_treated_hz;
  out.mismatch_db = rooms->mismatch_db;
  out.notes = rooms->notes;
  Names names;
  std::vector<std::string> seat_names;
  for (const auto& seat : job.seats) seat_names.push_back(names.of(seat.label));
  if (auto added = add_seats(job, *rooms, *take, seat_names, watch, out); !added)
    return added.mistakes();
  if (auto added = add_impulses(job, *rooms, seat_names, out); !added) return added.mistakes();
  say_limits(*rooms, out);
  return out;
}

Json seat_rays_json(const job::RaysAtSeats& rays) {
  const auto figure = [](const acoustics::TracedValue& value, double scale) {
    const auto rounded = [&](double x) { return std::round(x * scale) / scale; };
    Json out = {{"value", value.value ? Json(rounded(*value.value)) : Json()},
                {"standard_error", value.value ? Json(rounded(value.standard_error)) : Json()}};
    if (!value.reason.empty()) out["reason"] = value.reason;
    return out;
  };
  Json pairs = Json::array();
  for (const auto& pair : rays.pairs) {
    Json rows = Json::array();
    for (const auto& row : pair.rows)
      rows.push_back({{"hz", row.hz},
                      {"edt_s", figure(row.edt_s, 1e4)},
                      {"t20_s", figure(row.t20_s, 1e4)},
                      {"c50_db", figure(row.c50_db, 1e2)},
                      {"c80_db", figure(row.c80_db, 1e2)},
                      {"d50", figure(row.d50, 1e3)},
                      {"from_waves", row.from_waves}});
    pairs.push_back({{"loudspeaker", pair.loudspeaker},
                     {"seat", pair.seat},
                     {"direct_clear", pair.direct_clear},
                     {"rows", rows}});
  }
  return {
      {"pairs", pairs},
      {"rays", rays.rays},
      {"rays_to_halve_error", rays.rays_to_halve_error ? Json(*rays.rays_to_halve_error) : Json()},
      {"crossover_hz", rays.crossover_hz > 0 ? Json(std::round(rays.crossover_hz)) : Json()},
      {"method", rays.method},
      {"notes", rays.notes}};
}

Json listen_json(const ListenReport& report) {
  const auto rounded = [](double value) { return std::round(value * 100) / 100; };
  const auto crossover = [](double hz) { return hz > 0 ? Json(std::round(hz)) : Json(); };
  Json files = Json::array(), seats = Json::array();
  for (const PackFile& file : report.files) files.push_back(file.path);
  for (const HeardSeat& seat : report.seats)
    seats.push_back({{"seat", seat.seat},
                     {"today", seat.today_file},
                     {"treated", seat.treated_file},
                     {"today_gain_db", rounded(seat.today_gain_db)},
                     {"treated_gain_db", rounded(seat.treated_gain_db)},
                     {seat.by_loudness ? "loudness_lkfs" : "mean_square_db", rounded(seat.level)},
                     {"peak_db", rounded(seat.peak_db)}});
  return {{"files", files},
          {"seats", seats},
          {"plays", report.plays},
          {"crossover_today_hz", crossover(report.crossover_today_hz)},
          {"crossover_treated_hz", crossover(report.crossover_treated_hz)},
          {"mismatch_db", rounded(report.mismatch_db)},
          {"limits", report.limits},
          {"notes", report.notes},
          {"caution", report.caution}};
}

}  // namespace roomwright::app
