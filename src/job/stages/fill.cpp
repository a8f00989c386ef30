// Fill: which boards, gap and cloth are worth their money in this room, and what stands in for a
// board that the shop does not sell.
#include <algorithm>
#include <cmath>

#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

/// Absorption that Sabine's formula misses for the target: 24 ln 10 V/c (1/T_wanted − 1/T).
acoustics::OctaveSpectrum missing_of(const Survey& survey, const Findings& findings) {
  acoustics::OctaveSpectrum out{};
  const double per_second = 24 * std::log(10.0) * survey.volume_m3 / survey.air.sound_speed_m_s;
  for (std::size_t i = 0; i < out.size() && i < findings.decay.size(); ++i) {
    const DecayRow& row = findings.decay[i];
    if (row.target_high_s && row.likely_s > *row.target_high_s)
      out[i] = per_second * (1 / *row.target_high_s - 1 / row.likely_s);
  }
  return out;
}

acoustics::OctaveSpectrum weight_of(const acoustics::OctaveSpectrum& missing_m2) {
  if (std::any_of(missing_m2.begin(), missing_m2.end(), [](double m2) { return m2 > 0; }))
    return missing_m2;
  return {0, 1, 1, 1, 1, 1, 1, 0};
}

std::string money_text(double amount, const Currency& currency) {
  return currency.sign + fixed(amount, currency.digits);
}

std::string what_it_is(const Job& job, const design::Choice& choice) {
  const shop::Board& board = job.shop.boards.at(choice.board);
  return (choice.layers > 1 ? std::to_string(choice.layers) + " × " : "") + board.name + ", " +
         (choice.gap > Length() ? print_length(choice.gap, job.region.units) + " off the wall"
                                : "on the wall") +
         ", under " + job.shop.cloths.at(choice.cloth).name;
}

void say_need(const FillReport& report, std::vector<Statement>& out) {
  const auto most = std::max_element(report.missing_m2.begin(), report.missing_m2.end());
  if (*most <= 0) {
    out.push_back({0, "fill",
                   "No octave rings longer than its target: the bands from 125 Hz to 4 kHz count "
                   "alike here.",
                   "", ""});
    return;
  }
  const auto band = static_cast<std::size_t>(most - report.missing_m2.begin());
  out.push_back({0, "fill",
                 "The room misses most at " + fixed(acoustics::octave_bands()[band].nominal_hz, 0) +
                     " Hz: " + fixed(*most, 1) + " m² of absorption.",
                 "", ""});
}

void say_best(const Job& job, const FillReport& report, std::vector<Statement>& out) {
  const design::Choice& cheapest = report.choices.front();
  const Currency& currency = job.shop.currency;
  out.push_back({0, "fill",
                 "A square metre of absorption in those bands is cheapest with " +
                     what_it_is(job, cheapest) + ": " + money_text(cheapest.cost, currency) + " (" +
                     money_text(cheapest.cost_low, currency) + " to " +
                     money_text(cheapest.cost_high, currency) + "), " +
                     print_length(cheapest.depth, job.region.units) + " deep.",
                 "", ""});
  const design::Choice* shallowest = nullptr;
  for (const design::Choice& choice : report.choices)
    if (choice.best) shallowest = &choice;
  if (shallowest && shallowest != &cheapest)
    out.push_back({0, "fill",
                   "The shallowest that nothing beats is " + what_it_is(job, *shallowest) + ": " +
                       print_length(shallowest->depth, job.region.units) + " deep, " +
                       money_text(shallowest->cost, currency) + ".",
                   "", ""});
}

/// Two boards of one depth of which the denser lets less air in and absorbs less.
void say_denser(const Job& job, const FillReport& report, std::vector<Statement>& out) {
  const auto name = [&](const design::Choice& choice) {
    return (choice.layers > 1 ? std::to_string(choice.layers) + " × " : "") +
           job.shop.boards.at(choice.board).name;
  };
  for (const design::Choice& light : report.choices)
    for (const design::Choice& dense : report.choices) {
      const shop::Board& a = job.shop.boards.at(light.board);
      const shop::Board& b = job.shop.boards.at(dense.board);
      const double harder =
          design::wool_resistivity(b).likely_pa_s_m2 / design::wool_resistivity(a).likely_pa_s_m2;
      if (light.cloth != dense.cloth || light.gap != dense.gap || light.depth != dense.depth ||
          b.density_kg_m3 < 1.4 * a.density_kg_m3 || harder < 1.3 ||
          dense.sabin > light.sabin - 0.03)
        continue;
      out.push_back({0, "fill",
                     "Denser is not better: " + name(dense) + " absorbs " + fixed(dense.sabin, 2) +
                         " where " + name(light) + ", as deep, absorbs " + fixed(light.sabin, 2) +
                         ".",
                     "a board that lets too little air in reflects instead", ""});
      return;
    }
}

void say_cloths(const Job& job, const Survey& survey, const FillReport& report,
                std::vector<Statement>& out) {
  const design::Choice& choice = report.choices.front();
  const shop::Board& board = job.shop.boards.at(choice.board);
  acoustics::PorousLayer wool;
  wool.thickness_m = board.thickness.metres() * choice.layers;
  wool.flow_resistivity_pa_s_m2 = design::wool_resistivity(board).likely_pa_s_m2;
  const acoustics::Stack bare{{wool}, acoustics::Backing::rigid};
  for (const auto& [key, cloth] : job.shop.cloths) {
    const double effect = design::cloth_effect(cloth, bare, survey.air);
    if (effect > -0.05) continue;
    out.push_back(
        {20, "cloth",
         cloth.name + " takes " + fixed(-effect, 2) + " of the absorption away above 1 kHz.",
         "it is heavy or lets little air through",
         "take a cloth that one can breathe through easily"});
  }
}

void say_substitute(const Job& job, const FillOptions& options, const FillReport& report,
                    std::vector<Statement>& out) {
  if (!options.instead_of || report.substitutes.empty()) return;
  const design::Substitute& nearest = report.substitutes.front();
  std::size_t worst = 0;
  for (std::size_t i = 0; i < nearest.difference.size(); ++i)
    if (std::abs(nearest.difference[i]) > std::abs(nearest.difference[worst])) worst = i;
  out.push_back({0, "fill",
                 "Nearest to " + options.instead_of->material + " of " +
                     print_length(options.instead_of->thickness, job.region.units) + " is " +
                     what_it_is(job, nearest.choice) + ": at most " +
                     fixed(std::abs(nearest.difference[worst]), 2) + " " +
                     (nearest.difference[worst] < 0 ? "less" : "more") + ", at " +
                     fixed(acoustics::octave_bands()[worst].nominal_hz, 0) + " Hz.",
                 "", ""});
}

}  // namespace

Result<FillReport> fill(const Job& job, const Survey& survey, const Findings& findings,
                        const FillOptions& options, const Watch& watch) {
  FillReport out;
  out.missing_m2 = missing_of(survey, findings);
  design::ChoiceRequest request;
  request.weight = weight_of(out.missing_m2);
  request.deepest = options.deepest;
  auto chosen = design::choose(request, job.shop, survey.air, watch);
  if (!chosen) return chosen.mistakes();
  out.choices = std::move(chosen->choices);
  out.notes = std::move(chosen->notes);
  for (const auto& [key, cloth] : job.shop.cloths)
    if (!cloth.face) out.notes.push_back(cloth.name + " is left out: it is for backs alone.");
  if (options.instead_of) {
    request.doubt = false;
    auto near = design::substitutes(*options.instead_of, request, job.shop, survey.air);
    if (!near) return near.mistakes();
    out.substitutes = std::move(*near);
  }
  say_need(out, out.statements);
  say_best(job, out, out.statements);
  say_substitute(job, options, out, out.statements);
  say_denser(job, out, out.statements);
  say_cloths(job, survey, out, out.statements);
  return out;
}

Result<design::TrapReport> tune(const Job& job, const Survey& survey,
                                const design::TrapTarget& target, const Watch& watch) {
  return design::design_traps(target, job.shop, survey.air, {}, watch);
}

}  // namespace roomwright::job
