// How far an answer may be off; see doubt.h.
#include "job/stages/doubt.h"

#include <algorithm>
#include <cmath>

#include "core/numerics/numerics.h"
#include "job/stages/kept.h"
#include "job/stages/kept_bytes.h"
#include "job/stages/sizes.h"

namespace roomwright::job {

namespace {

constexpr std::uint64_t doubt_seed = 20;
constexpr int box_samples = 32, alone_samples = 8, decay_samples = 64;
constexpr double doubt_step_hz = 3;
constexpr double told_size_share = 0.1;  // of a size that is not the greatest
/// More materials than this share one input: beside those stand wool, temperature and three sizes.
constexpr std::size_t most_materials = EvenPoints::most_dimensions - 5;
/// The same of the decay.
constexpr std::size_t most_decay_materials = EvenPoints::most_dimensions - 3;
/// Of a table's octave coefficient, from 10 % to 90 %; as for the wave field.
constexpr double decay_wall_spread = 1.5;

const char* wall_measurement =
    "measure the decay in the empty room: it tells what its surfaces really take up";
const char* wool_measurement =
    "ask the seller for the measured flow resistivity, or weigh a board of the lot";
const char* speed_measurement = "read a thermometer in the room when the sound is measured";

double variance(const std::vector<std::vector<double>>& rows, std::size_t output) {
  double sum = 0, square = 0;
  for (const auto& row : rows) sum += row[output], square += row[output] * row[output];
  const double count = double(rows.size());
  return std::max(0.0, square / count - sum * sum / (count * count));
}

std::string material_title(const std::string& key) {
  return acoustics::find_surface_material(key)->name;
}

}  // namespace

std::vector<DoubtInput> field_inputs(const Job& job, const Survey& survey, bool treated) {
  std::vector<DoubtInput> out;
  const auto materials = field_materials(job);
  for (std::size_t i = 0; i < std::min(materials.size(), most_materials); ++i)
    out.push_back({material_title(materials[i]), wall_measurement});
  if (materials.size() > most_materials) out.back().name = "the other surfaces";
  if (treated) out.push_back({"the wool of the pieces", wool_measurement});
  out.push_back({"the temperature", speed_measurement});
  for (const RoomSize& size : room_sizes(job, survey)) out.push_back({size.name, size.measurement});
  return out;
}

FieldDoubt field_doubt_of(const Job& job, const std::vector<double>& shares) {
  const std::size_t materials = field_materials(job).size();
  const std::size_t named = std::min(materials, most_materials);
  FieldDoubt out;
  for (std::size_t i = 0; i < materials; ++i)
    out.materials.push_back(shares[std::min(i, named - 1)]);
  std::copy(shares.end() - 3, shares.end(), out.sizes.begin());
  out.temperature = shares[shares.size() - 4];
  if (shares.size() > named + 4) out.wool = shares[named];
  return out;
}

std::vector<std::vector<double>> doubt_points(std::size_t inputs, int samples) {
  std::vector<std::vector<double>> out;
  const EvenPoints together(inputs, doubt_seed), alone(1, doubt_seed);
  for (int i = 0; i < samples; ++i) out.push_back(together.point(std::uint32_t(i)));
  for (std::size_t k = 0; k < inputs; ++k)
    for (int i = 0; i < alone_samples; ++i) {
      out.emplace_back(inputs, 0.5);
      out.back()[k] = alone.point(std::uint32_t(i))[0];
    }
  return out;
}

Doubt doubt_from(const std::vector<DoubtInput>& inputs, int samples,
                 const std::vector<std::vector<double>>& rows) {
  Doubt out;
  out.samples = samples;
  const std::size_t outputs = rows[0].size();
  for (std::size_t o = 0; o < outputs; ++o) {
    std::vector<double> values;
    for (int i = 0; i < samples; ++i) values.push_back(rows[std::size_t(i)][o]);
    out.low.push_back(quantile(values, 0.1));
    out.high.push_back(quantile(values, 0.9));
  }
  double sum = 0;
  auto next = rows.begin() + samples;
  for (const DoubtInput& input : inputs) {
    const std::vector<std::vector<double>> own(next, next + alone_samples);
    next += alone_samples;
    double mean = 0;
    for (std::size_t o = 0; o < outputs; ++o) mean += variance(own, o) / double(outputs);
    out.shares.push_back({input.name, mean, input.measurement});
    sum += mean;
  }
  for (DoubtShare& one : out.shares) one.share = sum > 0 ? one.share / sum : 0;
  std::stable_sort(out.shares.begin(), out.shares.end(),
                   [](const DoubtShare& a, const DoubtShare& b) {
                     return std::round(a.share * 1000) > std::round(b.share * 1000);
                   });
  return out;
}

std::optional<Doubt> sample_doubt(
    const std::vector<DoubtInput>& inputs, int samples,
    const std::function<std::vector<double>(const std::vector<double>&)>& answer) {
  std::vector<std::vector<double>> rows;
  for (const auto& shares : doubt_points(inputs.size(), samples)) {
    rows.push_back(answer(shares));
    if (rows.back().empty()) return std::nullopt;
  }
  return doubt_from(inputs, samples, rows);
}

// ---- bass ---------------------------------------------------------------------------------------

namespace {

/// To be raised whenever the runs, or what is told of them, change.
constexpr std::uint64_t doubt_version = 2;

/// The runs of one pair: the room with some shares of its inputs.
class DoubtRuns {
 public:
  DoubtRuns(const Job& job, const Survey& survey, const Treatment* treatment, std::size_t pair,
            bool with_bodies, const std::vector<double>& hz)
      : job_(job),
        survey_(survey),
        treatment_(treatment),
        source_(metres_of(job.loudspeakers[pair / job.seats.size()].at)),
        seat_(metres_of(job.seats[pair % job.seats.size()].at)),
        with_bodies_(with_bodies),
        hz_(hz),
        inputs_(field_inputs(job, survey, treatment != nullptr).size()),
        points_(doubt_points(inputs_, box_samples)) {}

  std::size_t count() const { return points_.size(); }
  /// All that their levels depend on.
  std::string key() const {
    Writer out;
    out.text("bass doubt");
    out.whole(doubt_version);
    for (const auto& shares : points_) {
      out.list(shares);
      out.number(stretch(shares).by);
    }
    // The runs lie between rooms that differ by one input each.
    for (std::size_t k = 0; k < inputs_; ++k)
      for (const double share : {0.1, 0.9}) {
        std::vector<double> shares(inputs_, 0.5);
        shares[k] = share;
        out.text(key_of_request(room(shares), {}));
      }
    return out.take();
  }
  /// Levels by run, by frequency, then how many dB the small model was off.
  Result<std::vector<double>> levels(bool its_own_way, const Run& run) const {
    std::vector<acoustics::ResponseRequest> rooms;
    std::vector<acoustics::RoomStretch> sizes;
    std::vector<double> distance_m;
    for (const auto& shares : points_) {
      rooms.push_back(room(shares));
      sizes.push_back(stretch(shares));
      const auto taped = acoustics::stretched(rooms.back(), sizes.back());
      distance_m.push_back(length(taped.sources[0].at_m - taped.receivers_m[0]));
    }
    const Watch watch = {
        [&](double part, std::string_view) { run.watch.tick(part, "how sure the bass is"); },
        run.watch.cancel};
    const auto solved = its_own_way ? acoustics::variant_responses(rooms, {}, watch, sizes)
                                    : acoustics::shared_variant_responses(rooms, {}, watch, sizes);
    if (!solved) return solved.mistakes();
    std::vector<double> out;
    for (std::size_t i = 0; i < rooms.size(); ++i)
      for (const auto& value : solved->pressure_pa[i][0])
        out.push_back(against_direct_db(value, distance_m[i], survey_.air.density_kg_m3));
    out.push_back(std::round(100 * 20 * std::log10(1 + solved->off)) / 100);
    return out;
  }

 private:
  acoustics::ResponseRequest room(const std::vector<double>& shares) const {
    auto request = field_request(job_, survey_, treatment_, hz_, field_doubt_of(job_, shares));
    request.sources = {{source_, 1}};
    request.receivers_m = {seat_};
    if (!with_bodies_) request.objects.clear();
    return request;
  }
  acoustics::RoomStretch stretch(const std::vector<double>& shares) const {
    return field_stretch(job_, survey_, field_doubt_of(job_, shares));
  }
  const Job& job_;
  const Survey& survey_;
  const Treatment* treatment_;
  Vec3 source_, seat_;
  bool with_bodies_;
  const std::vector<double>& hz_;
  std::size_t inputs_;
  std::vector<std::vector<double>> points_;
};

}  // namespace

void find_bass_doubt(const Job& job, const Survey& survey, const Treatment* treatment,
                     std::size_t pair, BassField& bass, const Run& run, bool its_own_way) {
  if (bass.levels.empty()) return;
  std::vector<double> hz;
  for (double f = bass.hz.front(); f <= bass.hz.back(); f += doubt_step_hz) hz.push_back(f);
  const auto inputs = field_inputs(job, survey, treatment != nullptr);
  const DoubtRuns runs(job, survey, treatment, pair, bass.bodies > 0, hz);
  const bool shared = !its_own_way || !survey.box || bass.bodies > 0;
  // What takes moments is not kept.
  const auto make = [&] { return runs.levels(its_own_way, run); };
  const auto levels = shared ? kept_numbers(runs.key(), run.keep, make) : make();
  if (!levels || levels->size() != runs.count() * hz.size() + 1) return;
  std::vector<std::vector<double>> rows;
  for (std::size_t i = 0; i < runs.count(); ++i)
    rows.emplace_back(levels->begin() + std::ptrdiff_t(i * hz.size()),
                      levels->begin() + std::ptrdiff_t((i + 1) * hz.size()));
  Doubt doubt = doubt_from(inputs, box_samples, rows);
  for (double& low : doubt.low) low -= levels->back();
  for (double& high : doubt.high) high += levels->back();
  bass.doubt = std::move(doubt);
  bass.doubt_hz = std::move(hz);
}

void say_bass_doubt(const BassField& bass, std::vector<Statement>& out) {
  if (!bass.doubt) return;
  const Doubt& doubt = *bass.doubt;
  double width = 0;
  for (std::size_t i = 0; i < doubt.low.size(); ++i)
    width += (doubt.high[i] - doubt.low[i]) / double(doubt.low.size());
  const DoubtShare& most = doubt.shares.front();
  std::string told = "These levels are sure to about ±" + fixed(width / 2, 1) +
                     " dB on the average; " + fixed(most.share * 100, 0) +
                     " % of that comes from " + most.input;
  std::string next = most.measurement + ", and that part about halves";
  // Whoever is there with a tape wants to know which size is worth another look.
  const auto size = std::find_if(doubt.shares.begin(), doubt.shares.end(),
                                 [](const DoubtShare& one) { return is_room_size(one.input); });
  if (size != doubt.shares.begin() && size != doubt.shares.end() &&
      size->share >= told_size_share) {
    told += ", " + fixed(size->share * 100, 0) + " % from " + size->input;
    next += "; so does the second where you " + size->measurement;
  }
  out.push_back({0, "doubt", told + ".", "", next});
}

// ---- decay --------------------------------------------------------------------------------------

Doubt decay_doubt(const Job& job, const Survey& survey, const Treatment* treatment,
                  const std::vector<DecayRow>& rows) {
  // Inputs: every row of the boundary that is the room's own, by material; the pieces together.
  const auto materials = field_materials(job);
  const std::size_t named = std::min(materials.size(), most_decay_materials);
  std::vector<DoubtInput> inputs;
  for (std::size_t i = 0; i < named; ++i)
    inputs.push_back({material_title(materials[i]), wall_measurement});
  if (materials.size() > named) inputs.back().name = "the other surfaces";
  if (treatment) inputs.push_back({"the pieces' own range", wool_measurement});
  const auto areas_of = [&](acoustics::OctaveSpectrum PieceRow::*absorption) {
    return treatment ? treated_boundary(job, *treatment, absorption) : boundary_of(job);
  };
  const auto low = areas_of(&PieceRow::low_m2), likely = areas_of(&PieceRow::likely_m2),
             high = areas_of(&PieceRow::high_m2);
  std::vector<std::size_t> input_of;  // by area; past the end: none
  for (std::size_t i = 0; i < likely.size(); ++i) input_of.push_back(inputs.size());
  const std::size_t own = boundary_of(job).size();
  std::size_t at = 0;
  const auto set = [&](const std::string& key) {
    const auto found = std::find(materials.begin(), materials.end(), key);
    if (found != materials.end())
      input_of[at] = std::min(std::size_t(found - materials.begin()), named - 1);
    ++at;
  };
  for (const std::string& key : job.finish) set(key);
  for (const Feature& feature : job.features)
    if (!feature.material.empty()) set(feature.material);
  for (std::size_t i = own; i < likely.size(); ++i) input_of[i] = inputs.size() - 1;
  std::size_t worst = 0;
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (rows[i].likely_s > rows[worst].likely_s) worst = i;
  const auto times = [&](const std::vector<double>& shares) {
    auto areas = likely;
    for (std::size_t i = 0; i < areas.size(); ++i) {
      if (input_of[i] >= inputs.size()) continue;
      const double share = shares[input_of[i]];
      for (std::size_t band = 0; band < areas[i].absorption.size(); ++band) {
        double& value = areas[i].absorption[band];
        if (i >= own)
          value = log_normal_between(std::max(low[i].absorption[band], 1e-6),
                                     std::max(likely[i].absorption[band], 1e-6),
                                     std::max(high[i].absorption[band], 1e-6), share);
        else
          value = std::min(
              1.0, value * log_normal_between(1 / decay_wall_spread, 1, decay_wall_spread, share));
      }
    }
    acoustics::Corridor none;
    none.bands.resize(rows.size());
    std::vector<double> out;
    for (const DecayRow& row : decay_rows(areas, survey, none)) out.push_back(row.likely_s);
    return out;
  };
  Doubt out = *sample_doubt(inputs, decay_samples, times);
  // The shares that are told are those of the band that rings longest.
  const auto one_band = [&](const std::vector<double>& shares) {
    return std::vector<double>{times(shares)[worst]};
  };
  out.shares = sample_doubt(inputs, 1, one_band)->shares;
  return out;
}

void say_decay_doubt(const std::vector<DecayRow>& rows, const Doubt& doubt,
                     std::vector<Statement>& out) {
  std::size_t worst = 0;
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (rows[i].likely_s > rows[worst].likely_s) worst = i;
  const DoubtShare& most = doubt.shares.front();
  out.push_back({0, "doubt",
                 "At " + band_name(rows[worst].hz) + " eight of ten such rooms ring for " +
                     fixed(doubt.low[worst], 2) + " to " + fixed(doubt.high[worst], 2) + " s; " +
                     fixed(most.share * 100, 0) + " % of that doubt comes from " + most.input + ".",
                 "", most.measurement + ", and that part about halves"});
}

}  // namespace roomwright::job
