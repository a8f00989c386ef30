// How far an answer may be off; see doubt.h.
#include "job/stages/doubt.h"

#include <algorithm>
#include <cmath>

#include "core/numerics/numerics.h"

namespace roomwright::job {

namespace {

constexpr std::uint64_t doubt_seed = 20;
constexpr int box_samples = 32, alone_samples = 8, decay_samples = 64;
constexpr double doubt_step_hz = 3;
/// More materials than this share one input.
constexpr std::size_t most_materials = EvenPoints::most_dimensions - 3;
/// Of a table's octave coefficient, from 10 % to 90 %; as for the wave field.
constexpr double decay_wall_spread = 1.5;

const char* wall_measurement =
    "measure the decay in the empty room: it tells what its surfaces really take up";
const char* wool_measurement =
    "ask the seller for the measured flow resistivity, or weigh a board of the lot";
const char* speed_measurement = "read the thermometer on the day, and tape the room once more";

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

std::vector<DoubtInput> field_inputs(const Job& job, bool treated) {
  std::vector<DoubtInput> out;
  const auto materials = field_materials(job);
  for (std::size_t i = 0; i < std::min(materials.size(), most_materials); ++i)
    out.push_back({material_title(materials[i]), wall_measurement});
  if (materials.size() > most_materials) out.back().name = "the other surfaces";
  if (treated) out.push_back({"the wool of the pieces", wool_measurement});
  out.push_back({"temperature and sizes", speed_measurement});
  return out;
}

FieldDoubt field_doubt_of(const Job& job, const std::vector<double>& shares) {
  const std::size_t materials = field_materials(job).size();
  const std::size_t named = std::min(materials, most_materials);
  FieldDoubt out;
  for (std::size_t i = 0; i < materials; ++i)
    out.materials.push_back(shares[std::min(i, named - 1)]);
  out.sound_speed = shares.back();
  if (shares.size() > named + 1) out.wool = shares[named];
  return out;
}

std::optional<Doubt> sample_doubt(
    const std::vector<DoubtInput>& inputs, int samples,
    const std::function<std::vector<double>(const std::vector<double>&)>& answer) {
  Doubt out;
  out.samples = samples;
  std::vector<std::vector<double>> rows;
  const EvenPoints together(inputs.size(), doubt_seed);
  for (int i = 0; i < samples; ++i) {
    rows.push_back(answer(together.point(std::uint32_t(i))));
    if (rows.back().empty()) return std::nullopt;
  }
  const std::size_t outputs = rows[0].size();
  for (std::size_t o = 0; o < outputs; ++o) {
    std::vector<double> values;
    for (const auto& row : rows) values.push_back(row[o]);
    out.low.push_back(quantile(values, 0.1));
    out.high.push_back(quantile(values, 0.9));
  }
  const EvenPoints alone(1, doubt_seed);
  double sum = 0;
  for (std::size_t k = 0; k < inputs.size(); ++k) {
    rows.clear();
    for (int i = 0; i < alone_samples; ++i) {
      std::vector<double> shares(inputs.size(), 0.5);
      shares[k] = alone.point(std::uint32_t(i))[0];
      rows.push_back(answer(shares));
      if (rows.back().empty()) return std::nullopt;
    }
    double mean = 0;
    for (std::size_t o = 0; o < outputs; ++o) mean += variance(rows, o) / double(outputs);
    out.shares.push_back({inputs[k].name, mean, inputs[k].measurement});
    sum += mean;
  }
  for (DoubtShare& one : out.shares) one.share = sum > 0 ? one.share / sum : 0;
  std::stable_sort(out.shares.begin(), out.shares.end(),
                   [](const DoubtShare& a, const DoubtShare& b) {
                     return std::round(a.share * 1000) > std::round(b.share * 1000);
                   });
  return out;
}

// ---- bass ---------------------------------------------------------------------------------------

void find_bass_doubt(const Job& job, const Survey& survey, const Treatment* treatment,
                     std::size_t pair, BassField& bass, const Run& run) {
  if (bass.levels.empty() || bass.bodies > 0 || !survey.box) return;
  const Vec3 source = metres_of(job.loudspeakers[pair / job.seats.size()].at);
  const Vec3 seat = metres_of(job.seats[pair % job.seats.size()].at);
  const auto inputs = field_inputs(job, treatment != nullptr);
  std::vector<double> hz;
  for (double f = bass.hz.front(); f <= bass.hz.back(); f += doubt_step_hz) hz.push_back(f);
  const int runs = box_samples + alone_samples * int(inputs.size());
  int done = 0;
  auto doubt = sample_doubt(inputs, box_samples, [&](const std::vector<double>& shares) {
    std::vector<double> out;
    if (run.watch.cancelled()) return out;
    run.watch.tick(double(done++) / runs, "how sure the bass is");
    auto request = field_request(job, survey, treatment, hz, field_doubt_of(job, shares));
    request.sources = {{source, 1}};
    request.receivers_m = {seat};
    const auto solved = solve_field(std::move(request), {{nullptr, run.watch.cancel}, {}});
    if (!solved) return out;
    for (const auto& pressure : solved->by_source[0].pressure_pa[0])
      out.push_back(against_direct_db(pressure, length(source - seat), survey.air.density_kg_m3));
    return out;
  });
  if (!doubt) return;
  bass.doubt = std::move(*doubt);
  bass.doubt_hz = std::move(hz);
}

void say_bass_doubt(const BassField& bass, std::vector<Statement>& out) {
  if (!bass.doubt) return;
  const Doubt& doubt = *bass.doubt;
  double width = 0;
  for (std::size_t i = 0; i < doubt.low.size(); ++i)
    width += (doubt.high[i] - doubt.low[i]) / double(doubt.low.size());
  const DoubtShare& most = doubt.shares.front();
  out.push_back({0, "doubt",
                 "These levels are sure to about ±" + fixed(width / 2, 1) + " dB on the average; " +
                     fixed(most.share * 100, 0) + " % of that comes from " + most.input + ".",
                 "", most.measurement + ", and that part about halves"});
}

// ---- decay --------------------------------------------------------------------------------------

Doubt decay_doubt(const Job& job, const Survey& survey, const Treatment* treatment,
                  const std::vector<DecayRow>& rows) {
  // Inputs: every row of the boundary that is the room's own, by material; the pieces together.
  const auto materials = field_materials(job);
  const std::size_t named = std::min(materials.size(), most_materials);
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
