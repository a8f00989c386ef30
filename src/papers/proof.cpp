// The proof: what to measure after hanging and the table to fill; where it was measured, verdicts,
// tables and plots of before and after beside what was promised.
#include <algorithm>
#include <cmath>

#include "papers/sheets.h"

namespace roomwright::papers {

using drawing::Dash;
using drawing::Ink;

namespace {

std::string seconds_or(const job::MeasuredMean& mean) {
  return mean.value ? fixed(*mean.value, 2) : "–";
}

const job::MeasuredOctave* octave_of(const std::optional<job::MeasuredSide>& side, double hz) {
  if (side)
    for (const job::MeasuredOctave& one : side->octaves)
      if (one.hz == hz) return &one;
  return nullptr;
}

std::string measured_t20(const std::optional<job::MeasuredSide>& side, double hz) {
  const job::MeasuredOctave* octave = octave_of(side, hz);
  return octave ? seconds_or(octave->t20_s) : side ? "–" : "";
}

// ---- what was measured --------------------------------------------------------------------------

drawing::Curve decay_curve(const std::string& label, const job::MeasuredSide& side,
                           const drawing::Pen& pen, double& most) {
  drawing::Curve out{label, {}, pen, true, {}, {}};
  for (const job::MeasuredOctave& one : side.octaves)
    if (one.t20_s.value) {
      out.points.push_back({one.hz, *one.t20_s.value});
      most = std::max(most, *one.t20_s.value);
    }
  return out;
}

/// Before and after as dots; the promised range hatched; what is wanted behind.
drawing::Plot proven_decay_plot(const job::ProofSheet& sheet) {
  const job::MeasuredProof& measured = *sheet.measured;
  drawing::Plot plot;
  plot.question = "How long does each band ring, and what was promised?";
  plot.x_label = "octave band, Hz";
  plot.y_label = "decay time T20, s";
  double most = 0.5;
  drawing::Curve promised{"promised", {}, {Ink::moss, 0.3, Dash::dashed}, false, {}, {}};
  for (const job::DecayRow& row : sheet.predicted) {
    plot.x_ticks.push_back(row.hz);
    promised.points.push_back({row.hz, row.likely_s});
    promised.low.push_back({row.hz, row.low_s});
    promised.high.push_back({row.hz, row.high_s});
    if (row.target_high_s) {
      plot.corridor_low.push_back({row.hz, row.target_low_s.value_or(0)});
      plot.corridor_high.push_back({row.hz, *row.target_high_s});
    }
    most = std::max(most, row.high_s);
  }
  plot.curves.push_back(promised);
  if (measured.before)
    plot.curves.push_back(
        decay_curve("before", *measured.before, {Ink::graphite, 0.3, Dash::none}, most));
  if (measured.after)
    plot.curves.push_back(
        decay_curve("after", *measured.after, {Ink::chalk_blue, 0.8, Dash::none}, most));
  std::erase_if(plot.curves, [](const drawing::Curve& curve) { return curve.points.empty(); });
  plot.y_step = most > 1.6 ? 0.5 : most > 0.8 ? 0.2 : 0.1;
  plot.y_high = std::ceil(most / plot.y_step - 1e-9) * plot.y_step;
  return plot;
}

drawing::Curve level_curve(const std::string& label, const job::MeasuredSide& side,
                           const drawing::Pen& pen, double& low, double& high) {
  drawing::Curve out{label, {}, pen, false, {}, {}};
  for (const job::MeasuredThird& one : side.thirds) {
    out.points.push_back({one.hz, one.level_db});
    low = std::min(low, one.level_db);
    high = std::max(high, one.level_db);
  }
  return out;
}

drawing::Plot proven_level_plot(const job::MeasuredProof& measured) {
  drawing::Plot plot;
  plot.question = "How even is the level by third octave?";
  plot.x_label = "third octave, Hz";
  plot.y_label = "level against 200 Hz to 4 kHz, dB";
  plot.x_ticks = {63, 125, 250, 500, 1000, 2000, 4000, 8000};
  plot.y_decimals = 0;
  double low = -6, high = 6;
  if (measured.before)
    plot.curves.push_back(
        level_curve("before", *measured.before, {Ink::graphite, 0.3, Dash::none}, low, high));
  if (measured.after)
    plot.curves.push_back(
        level_curve("after", *measured.after, {Ink::chalk_blue, 0.8, Dash::none}, low, high));
  for (const double hz : {50.0, 10000.0}) {
    plot.corridor_low.push_back({hz, -3});
    plot.corridor_high.push_back({hz, 3});
  }
  plot.y_step = high - low > 40 ? 10 : high - low > 20 ? 6 : 3;
  plot.y_low = std::floor(std::max(low, -60.0) / plot.y_step) * plot.y_step;
  plot.y_high = std::ceil(high / plot.y_step) * plot.y_step;
  for (drawing::Curve& curve : plot.curves)
    for (Vec2& point : curve.points) point.y = std::max(point.y, plot.y_low);
  return plot;
}

/// EDT, T20 and T30 of both sides.
void decay_table(Flow& flow, const job::ProofSheet& sheet) {
  const job::MeasuredProof& measured = *sheet.measured;
  std::vector<Cells> rows;
  for (const job::DecayRow& row : sheet.predicted) {
    Cells cells{band_text(row.hz)};
    for (const auto* side : {&measured.before, &measured.after}) {
      const job::MeasuredOctave* octave = octave_of(*side, row.hz);
      for (const auto figure :
           {&job::MeasuredOctave::edt_s, &job::MeasuredOctave::t20_s, &job::MeasuredOctave::t30_s})
        cells.push_back(octave ? seconds_or(octave->*figure) : "–");
    }
    cells.push_back(fixed(row.low_s, 2) + "–" + fixed(row.high_s, 2));
    const auto verdict =
        std::find_if(measured.verdicts.begin(), measured.verdicts.end(),
                     [&](const job::Verdict& one) { return one.of == band_text(row.hz); });
    cells.push_back(verdict == measured.verdicts.end() ? "" : job::proven_word(verdict->proven));
    rows.push_back(std::move(cells));
  }
  flow.table({{"band", 0.9, Align::left},
              {"before: EDT", 1, Align::right},
              {"T20", 0.8, Align::right},
              {"T30", 0.8, Align::right},
              {"after: EDT", 1, Align::right},
              {"T20", 0.8, Align::right},
              {"T30", 0.8, Align::right},
              {"promised", 1.2, Align::right},
              {"T20 is", 1.3, Align::left}},
             rows, 2.7);
}

/// Why a dash stands in the table, the bands of one reason together.
void untold_reasons(Flow& flow, const std::string& which,
                    const std::optional<job::MeasuredSide>& side) {
  if (!side) return;
  struct Named {
    const char* name;
    job::MeasuredMean job::MeasuredOctave::*figure;
  };
  for (const Named& one : {Named{"EDT", &job::MeasuredOctave::edt_s},
                           {"T20", &job::MeasuredOctave::t20_s},
                           {"T30", &job::MeasuredOctave::t30_s}}) {
    std::vector<std::pair<std::string, std::string>> by_reason;
    for (const job::MeasuredOctave& octave : side->octaves) {
      const job::MeasuredMean& mean = octave.*one.figure;
      if (mean.value) continue;
      const auto same = std::find_if(by_reason.begin(), by_reason.end(),
                                     [&](const auto& pair) { return pair.first == mean.reason; });
      if (same == by_reason.end())
        by_reason.emplace_back(mean.reason, band_text(octave.hz));
      else
        same->second += ", " + band_text(octave.hz);
    }
    for (const auto& [reason, bands] : by_reason)
      flow.paragraph("– " + which + ", " + one.name + " at " + bands + ": " + reason + ".", 2.6,
                     Ink::graphite);
  }
}

std::string positions_sentence(const std::string& which,
                               const std::optional<job::MeasuredSide>& side) {
  if (!side) return which + ": not measured. ";
  std::string names;
  for (const std::string& one : side->positions) names += (names.empty() ? "" : ", ") + one;
  const std::size_t count = side->positions.size();
  return which + ": " + std::to_string(count) + (count == 1 ? " position" : " positions") + " (" +
         names + "). ";
}

void measured_section(Flow& flow, const job::ProofSheet& sheet) {
  const job::MeasuredProof& measured = *sheet.measured;
  flow.heading("What was measured proves");
  for (std::size_t i = 1; i < measured.statements.size(); ++i)
    flow.paragraph(
        measured.statements[i].sentence +
        (measured.statements[i].next.empty() ? "" : " Next: " + measured.statements[i].next + "."));
  for (const job::Verdict& verdict : measured.verdicts) flow.bullet(verdict.sentence);
  flow.heading("Measured before and after hanging (s)");
  decay_table(flow, sheet);
  untold_reasons(flow, "before", measured.before);
  untold_reasons(flow, "after", measured.after);
  flow.paragraph(positions_sentence("Before", measured.before) +
                     positions_sentence("After", measured.after) +
                     "Several positions: arithmetic mean of those where a figure can be told "
                     "(spatial averaging, ISO 3382-2); levels as mean energies.",
                 2.6, Ink::graphite);
  flow.picture(70, [&](drawing::Sheet& page, Vec2 from, Vec2 to) {
    drawing::draw_plot(page, proven_decay_plot(sheet), from, to);
  });
  flow.paragraph("Hatched: what was promised. Soft: what is wanted of the room's use.", 2.6,
                 Ink::graphite);
  flow.picture(70, [&](drawing::Sheet& page, Vec2 from, Vec2 to) {
    drawing::draw_plot(page, proven_level_plot(measured), from, to);
  });
  flow.paragraph("The loudspeaker's own response is part of the levels.", 2.6, Ink::graphite);
}

// ---- what is to be measured ---------------------------------------------------------------------

void fill_table(Flow& flow, const job::Pack& pack) {
  const bool done = pack.proof.measured.has_value();
  flow.heading(done ? "Computed and measured (decay time T20, s)" : "To fill in (decay time, s)");
  std::vector<Cells> fill;
  for (std::size_t i = 0; i < pack.proof.predicted.size(); ++i) {
    const auto& row = pack.proof.predicted[i];
    fill.push_back({band_text(row.hz), fixed(pack.treatment.before[i].likely_s, 2),
                    done ? measured_t20(pack.proof.measured->before, row.hz) : "",
                    fixed(row.likely_s, 2), fixed(row.low_s, 2) + "–" + fixed(row.high_s, 2),
                    done ? measured_t20(pack.proof.measured->after, row.hz) : "",
                    row.target_high_s ? fixed(row.target_low_s.value_or(0), 2) + "–" +
                                            fixed(*row.target_high_s, 2)
                                      : "none"});
  }
  flow.table({{"band", 1, Align::left},
              {"today, computed", 1.3, Align::right},
              {"today, measured", 1.4, Align::right},
              {"after, computed", 1.3, Align::right},
              {"its range", 1.2, Align::right},
              {"after, measured", 1.4, Align::right},
              {"wanted", 1.1, Align::right}},
             fill, 3);
}

}  // namespace

Paper proof_paper(const job::Job& job, const job::Pack& pack) {
  const job::ProofSheet& proof = pack.proof;
  Flow flow(job, {"Proof after hanging", units_name(job), "", false, true});
  flow.finding((proof.measured ? proof.measured->statements : proof.statements).front().sentence);
  if (proof.measured) measured_section(flow, proof);
  flow.heading("What is measured, where, against what");
  std::vector<Cells> rows;
  for (const auto& point : proof.points) rows.push_back({point.what, point.where, point.target});
  flow.table({{"measure", 2, Align::left}, {"where", 2, Align::left}, {"against", 2, Align::left}},
             rows, 2.7);
  flow.heading("How");
  for (const auto& line : proof.how) flow.bullet(line);
  fill_table(flow, pack);
  flow.paragraph(
      "Measured by:                                             Date:                              "
      "Microphone:",
      3);
  flow.caution("Sweeps are loud: protect ears, keep others out of the room, begin low.");
  return {"10-proof", "Proof", flow.finish(), false, {}};
}

}  // namespace roomwright::papers
