// Every stack that the shop can buy, computed board by board; see choice.h.
#include "design/choice/choice.h"

#include <algorithm>
#include <cmath>

#include "core/numerics/numerics.h"
#include "design/products/products.h"

namespace roomwright::design {

namespace {

using acoustics::OctaveSpectrum;

constexpr int sample_count = 32;  // of the flow resistivity
constexpr int angle_count = 16;   // Gauss points: the third digit does not move with more

std::vector<Length> usual_gaps(const Units& units) {
  std::vector<Length> out;
  if (units.metric)
    for (const int mm : {0, 20, 40, 60, 100, 150, 200, 300}) out.push_back(Length::from_mm(mm));
  else
    for (const int inches : {0, 1, 2, 3, 4, 6, 8, 12})
      out.push_back(Length::from_nm(inches * 25'400'000ll));
  return out;
}

acoustics::AbsorptionOptions options_of(const ChoiceRequest& request) {
  acoustics::AbsorptionOptions options;
  options.size_m = request.face_m;
  options.angles = angle_count;
  return options;
}

acoustics::Stack stack_of(const shop::Cloth& cloth, double wool_m, double resistivity,
                          double gap_m) {
  acoustics::PorousLayer wool;
  wool.thickness_m = wool_m;
  wool.flow_resistivity_pa_s_m2 = resistivity;
  acoustics::Stack stack{{stretched_cloth(cloth), wool}, acoustics::Backing::rigid};
  if (gap_m > 0) stack.layers.push_back(acoustics::AirLayer{gap_m});
  return stack;
}

double weighted(const OctaveSpectrum& spectrum, const OctaveSpectrum& weight) {
  double sum = 0;
  for (std::size_t i = 0; i < spectrum.size(); ++i) sum += spectrum[i] * weight[i];
  return sum;
}

double cost_of(const shop::Board& board, const shop::Cloth& cloth, int layers,
               const Currency& currency) {
  const double unit = std::pow(10.0, currency.digits);
  const double board_m2 = board.width.metres() * board.height.metres() * board.per_pack;
  const double wool = static_cast<double>(board.price_per_pack.minor_units()) / unit / board_m2;
  const double cover =
      static_cast<double>(cloth.price_per_m.minor_units()) / unit / cloth.roll_width.metres();
  return layers * wool + cover;
}

/// All choices of one board, and what each is computed from.
struct BoardTask {
  const std::string* key = nullptr;
  const shop::Board* board = nullptr;
  std::vector<Choice> choices;
};

std::vector<Choice> combinations(const ChoiceRequest& request, const shop::Shop& shop,
                                 const std::string& key, const shop::Board& board) {
  std::vector<Choice> out;
  const auto gaps = request.gaps.empty() ? usual_gaps(shop.units) : request.gaps;
  for (const auto& [cloth_key, cloth] : shop.cloths)
    for (int layers = 1; cloth.face && layers <= request.most_layers; ++layers)
      for (const Length gap : gaps) {
        Choice one;
        one.board = key;
        one.cloth = cloth_key;
        one.layers = layers;
        one.gap = gap;
        one.depth = board.thickness * layers + gap;
        one.cost_per_m2 = cost_of(board, cloth, layers, shop.currency);
        if (one.depth <= request.deepest) out.push_back(one);
      }
  return out;
}

std::vector<double> resistivities_of(const shop::Board& board, bool doubt) {
  const auto wool = wool_resistivity(board);
  std::vector<double> out{wool.likely_pa_s_m2};
  for (int i = 0; doubt && i < sample_count; ++i)
    out.push_back(log_normal_between(wool.low_pa_s_m2, wool.likely_pa_s_m2, wool.high_pa_s_m2,
                                     (i + 0.5) / sample_count));
  return out;
}

void set_sabins(Choice& choice, const std::vector<double>& sampled) {
  choice.sabin = sampled[0];
  choice.sabin_low = choice.sabin_high = choice.sabin;
  if (sampled.size() > 1) {
    const std::vector<double> spread(sampled.begin() + 1, sampled.end());
    choice.sabin_low = std::min(choice.sabin, quantile(spread, 0.1));
    choice.sabin_high = std::max(choice.sabin, quantile(spread, 0.9));
  }
  const auto cost = [&](double sabin) { return choice.cost_per_m2 / std::max(sabin, 1e-6); };
  choice.cost = cost(choice.sabin);
  choice.cost_low = cost(choice.sabin_high);
  choice.cost_high = cost(choice.sabin_low);
}

/// Stacks are alike but for their values, so one call does a board: all its samples, all its uses.
void compute(BoardTask& task, const ChoiceRequest& request, const OctaveSpectrum& weight,
             const shop::Shop& shop, const acoustics::Air& air) {
  const auto resistivities = resistivities_of(*task.board, request.doubt);
  std::vector<acoustics::Stack> stacks;
  for (const Choice& choice : task.choices)
    for (const double resistivity : resistivities)
      stacks.push_back(stack_of(shop.cloths.at(choice.cloth),
                                task.board->thickness.metres() * choice.layers, resistivity,
                                choice.gap.metres()));
  const auto rows = acoustics::octave_absorptions(stacks, air, options_of(request));
  RW_ASSERT(rows.ok());
  for (std::size_t c = 0; c < task.choices.size(); ++c) {
    std::vector<double> sampled;
    for (std::size_t s = 0; s < resistivities.size(); ++s)
      sampled.push_back(weighted((*rows)[c * resistivities.size() + s].absorption, weight));
    task.choices[c].absorption = (*rows)[c * resistivities.size()].absorption;
    set_sabins(task.choices[c], sampled);
  }
}

Diagnostics check_request(const ChoiceRequest& request, const shop::Shop& shop) {
  Diagnostics found;
  double sum = 0;
  for (const double weight : request.weight) {
    if (!(weight >= 0 && weight <= 1e9))
      found.add("weight", "must be at least 0 in every octave", weight, {});
    sum += weight;
  }
  if (!(sum > 0)) found.add("weight", "must be above 0 in one octave at least", sum, {});
  if (request.deepest < Length::from_mm(10) || request.deepest > Length::from_mm(1000))
    found.add("deepest", "must be from 10 mm to 1000 mm", print_mm(request.deepest), {});
  if (request.most_layers < 1 || request.most_layers > 6)
    found.add("most_layers", "must be from 1 to 6", double(request.most_layers), {});
  for (const Length gap : request.gaps)
    if (gap < Length() || gap > Length::from_mm(1000))
      found.add("gaps", "must be from 0 to 1000 mm", print_mm(gap), {});
  if (shop.boards.empty()) found.add("boards", "are missing in the shop file", {}, "add one");
  if (std::none_of(shop.cloths.begin(), shop.cloths.end(),
                   [](const auto& cloth) { return cloth.second.face; }))
    found.add("cloth", "that may be seen is missing in the shop file", {}, "add one");
  return found;
}

OctaveSpectrum scaled(OctaveSpectrum weight) {
  double sum = 0;
  for (const double value : weight) sum += value;
  for (double& value : weight) value /= sum;
  return weight;
}

/// To the tenth of a cent: machines that differ in their last digit agree on the order.
double rounded(double cost) {
  return std::round(cost * 1000) / 1000;
}

/// Cheapest first; among equals the shallower, then by name.
void sort_choices(std::vector<Choice>& choices) {
  std::sort(choices.begin(), choices.end(), [](const Choice& a, const Choice& b) {
    return std::tuple(rounded(a.cost), a.depth, a.board, a.cloth, a.layers, a.gap) <
           std::tuple(rounded(b.cost), b.depth, b.board, b.cloth, b.layers, b.gap);
  });
}

/// Sorted by cost, a choice is best where it is shallower than all before it.
void mark_best(std::vector<Choice>& choices) {
  Length shallowest = Length::from_m(100);
  for (Choice& choice : choices) {
    choice.best = choice.depth < shallowest;
    shallowest = std::min(shallowest, choice.depth);
  }
}

std::vector<BoardTask> tasks_of(const ChoiceRequest& request, const shop::Shop& shop) {
  std::vector<BoardTask> tasks;
  for (const auto& [key, board] : shop.boards) {
    BoardTask task{&key, &board, combinations(request, shop, key, board)};
    if (!task.choices.empty()) tasks.push_back(std::move(task));
  }
  return tasks;
}

}  // namespace

Result<ChoiceReport> choose(const ChoiceRequest& request, const shop::Shop& shop,
                            const acoustics::Air& air, const Watch& watch) {
  Diagnostics found = check_request(request, shop);
  if (!found.empty()) return found;
  const OctaveSpectrum weight = scaled(request.weight);
  std::vector<BoardTask> tasks = tasks_of(request, shop);
  if (tasks.empty())
    return Complaint{"deepest", "is less than any board of the shop", print_mm(request.deepest),
                     "allow more depth", 0};
  watch.tick(0.1, "trying boards, gaps and cloths");
  parallel_for(tasks.size(), request.threads,
               [&](std::size_t i) { compute(tasks[i], request, weight, shop, air); });
  ChoiceReport report;
  for (BoardTask& task : tasks)
    for (Choice& choice : task.choices) report.choices.push_back(std::move(choice));
  sort_choices(report.choices);
  mark_best(report.choices);
  report.notes.push_back(
      "Boards and cloth as they are bought, without what lies in the rack; frame and labour are "
      "not in these costs.");
  return report;
}

Result<std::vector<Substitute>> substitutes(const WantedBoard& wanted, const ChoiceRequest& request,
                                            const shop::Shop& shop, const acoustics::Air& air,
                                            std::size_t most) {
  const auto* material = acoustics::find_porous_board(wanted.material);
  const auto cloth = shop.cloths.find(wanted.cloth);
  if (!material)
    return Complaint{"instead_of", "is not in the library of porous boards",
                     "\"" + wanted.material + "\"", "such as stone_wool_60", 0};
  if (cloth == shop.cloths.end())
    return Complaint{"cloth", "is not in the shop file", "\"" + wanted.cloth + "\"", {}, 0};
  auto report = choose(request, shop, air);
  if (!report) return report.mistakes();
  const auto rows = acoustics::octave_absorptions(
      {stack_of(cloth->second, wanted.thickness.metres(), material->flow_resistivity_pa_s_m2,
                wanted.gap.metres())},
      air, options_of(request));
  if (!rows) return rows.mistakes();
  const OctaveSpectrum weight = scaled(request.weight), aim = (*rows)[0].absorption;
  std::vector<Substitute> out;
  for (const Choice& choice : report->choices) {
    if (choice.cloth != wanted.cloth) continue;
    Substitute one{choice, aim, {}, 0};
    for (std::size_t i = 0; i < aim.size(); ++i) {
      one.difference[i] = choice.absorption[i] - aim[i];
      one.root_mean_square += weight[i] * one.difference[i] * one.difference[i];
    }
    one.root_mean_square = std::sqrt(one.root_mean_square);
    out.push_back(one);
  }
  std::stable_sort(out.begin(), out.end(), [](const Substitute& a, const Substitute& b) {
    return rounded(a.root_mean_square) < rounded(b.root_mean_square);
  });
  if (out.size() > most) out.resize(most);
  return out;
}

double cloth_effect(const shop::Cloth& cloth, const acoustics::Stack& bare,
                    const acoustics::Air& air) {
  acoustics::Stack covered = bare;
  covered.layers.insert(covered.layers.begin(), stretched_cloth(cloth));
  std::vector<double> hz;
  for (const auto& band : acoustics::third_octave_bands())
    if (band.centre_hz > 1400) hz.push_back(band.centre_hz);
  const auto rows = acoustics::absorptions({bare, covered}, air, hz, {});
  if (!rows) return 0;
  double sum = 0;
  for (std::size_t i = 0; i < hz.size(); ++i) sum += (*rows)[1][i] - (*rows)[0][i];
  return sum / static_cast<double>(hz.size());
}

}  // namespace roomwright::design
