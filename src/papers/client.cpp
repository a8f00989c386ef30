// What the client sees: the quote and the findings report.
#include <algorithm>
#include <cmath>

#include "papers/sheets.h"

namespace roomwright::papers {

using drawing::Dash;
using drawing::Ink;

std::string units_name(const job::Job& job) {
  return job.region.units.metric ? "mm" : "inches";
}

std::string band_text(double hz) {
  return hz >= 1000 ? fixed(hz / 1000, 0) + " kHz" : fixed(hz, 0) + " Hz";
}

std::vector<Column> decay_columns() {
  return {{"band", 1, Align::left},      {"Sabine", 1, Align::right},
          {"Eyring", 1, Align::right},   {"Arau", 1, Align::right},
          {"range", 1.4, Align::right},  {"wanted", 1.4, Align::right},
          {"verdict", 1.2, Align::right}};
}

std::vector<Cells> decay_cells(const std::vector<job::DecayRow>& rows) {
  const auto seconds = [](const std::optional<double>& t) {
    return t ? fixed(*t, 2) : std::string("–");
  };
  std::vector<Cells> out;
  for (const auto& row : rows)
    out.push_back({band_text(row.hz), seconds(row.sabine_s), seconds(row.eyring_s),
                   seconds(row.arau_s), fixed(row.low_s, 2) + "–" + fixed(row.high_s, 2),
                   row.target_high_s ? seconds(row.target_low_s) + "–" + seconds(row.target_high_s)
                                     : "none published",
                   row.verdict});
  return out;
}

drawing::Plot decay_plot(const job::Pack& pack) {
  drawing::Plot plot;
  plot.question = "How long does each band ring?";
  plot.x_label = "octave band, Hz";
  plot.y_label = "decay time, s";
  double most = 0.5;
  drawing::Curve today{"today", {}, {Ink::graphite, 0.3, Dash::none}, false, {}, {}};
  drawing::Curve after{"with the treatment", {}, {Ink::chalk_blue, 0.8, Dash::none}, false, {}, {}};
  for (std::size_t i = 0; i < pack.treatment.after.size(); ++i) {
    const auto &before_row = pack.treatment.before[i], &after_row = pack.treatment.after[i];
    plot.x_ticks.push_back(before_row.hz);
    today.points.push_back({before_row.hz, before_row.likely_s});
    after.points.push_back({after_row.hz, after_row.likely_s});
    after.low.push_back({after_row.hz, after_row.low_s});
    after.high.push_back({after_row.hz, after_row.high_s});
    if (after_row.target_high_s) {
      plot.corridor_low.push_back({after_row.hz, after_row.target_low_s.value_or(0)});
      plot.corridor_high.push_back({after_row.hz, *after_row.target_high_s});
    }
    most = std::max({most, before_row.likely_s, after_row.high_s});
  }
  plot.y_step = most > 1.6 ? 0.5 : most > 0.8 ? 0.2 : 0.1;
  plot.y_high = std::ceil(most / plot.y_step - 1e-9) * plot.y_step;
  plot.curves = {today, after};
  return plot;
}

namespace {

void quote_option(Flow& flow, const job::Job& job, const shop::Quote& quote,
                  const shop::QuoteOption& option) {
  flow.heading(option.name.empty() ? "The offer" : "The offer with “" + option.name + "”");
  std::vector<Cells> rows;
  const auto money = [&](Money amount) { return print_money(amount, job.shop.currency); };
  for (const auto& row : option.rows)
    rows.push_back({row.label, row.description, money(row.price)});
  rows.push_back({"", "Before " + quote.tax_name, money(option.net)});
  rows.push_back({"", quote.tax_name + ", " + quote.tax_percent.text() + " %", money(option.tax)});
  rows.push_back({"", "To pay", money(option.total)});
  flow.table(
      {{"piece", 0.7, Align::left}, {"what you get", 5, Align::left}, {"price", 1.4, Align::right}},
      rows, 2.9, true);
}

}  // namespace

Paper quote_paper(const job::Job& job, const job::Pack& pack) {
  const shop::Quote& quote = pack.price.quote;
  Flow flow(job, {"Quote", units_name(job), "", false, true});
  const shop::QuoteOption& base = quote.options.front();
  flow.finding((job.order ? std::to_string(job.pieces.size()) + " pieces for "
                          : std::string("Your room treated for ")) +
               print_money(base.total, job.shop.currency) + ", " + quote.tax_name + " included.");
  flow.paragraph("For " + (job.client.name.empty() ? "you" : job.client.name) +
                 (job.client.site.empty() ? "" : ", " + job.client.site) + ". From " +
                 job.shop.name + ".");
  for (const auto& statement : pack.treatment.statements)
    if (statement.topic == "decay" && statement.weight == 0) flow.paragraph(statement.sentence);
  if (quote.options.size() > 1) {
    flow.heading("Your choices side by side");
    std::vector<Cells> rows;
    for (const auto& option : quote.options)
      rows.push_back({option.name.empty() ? "the offer" : "with “" + option.name + "”",
                      std::to_string(option.rows.size() - 2),
                      print_money(option.net, job.shop.currency),
                      print_money(option.total, job.shop.currency),
                      print_money(option.deposit, job.shop.currency)});
    flow.table({{"choice", 2.4, Align::left},
                {"pieces", 0.8, Align::right},
                {"before " + quote.tax_name, 1.4, Align::right},
                {"to pay", 1.4, Align::right},
                {"deposit", 1.4, Align::right}},
               rows, 2.9);
  }
  for (const auto& option : quote.options) quote_option(flow, job, quote, option);
  flow.heading("Terms");
  for (const std::string& term : quote.terms) flow.bullet(term);
  return {"01-quote", "Quote", flow.finish(), false, {}};
}

namespace {

void sentences(Flow& flow, const std::vector<job::Statement>& statements, bool skip_first) {
  for (std::size_t i = skip_first ? 1 : 0; i < statements.size(); ++i) {
    const job::Statement& one = statements[i];
    std::string text = one.sentence;
    if (!one.cause.empty()) text += " Cause: " + one.cause + ".";
    if (!one.next.empty()) text += " Next: " + one.next + ".";
    flow.bullet(text);
  }
}

void reflection_table(Flow& flow, const job::Pack& pack) {
  std::vector<Cells> rows;
  for (const auto& path : pack.treatment.paths)
    rows.push_back({path.loudspeaker, path.seat, path.surface, fixed(path.delay_ms, 1),
                    fixed(path.level_db, 1), path.counts ? "counts" : "", path.intercepted,
                    path.treated_level_db ? fixed(*path.treated_level_db, 1) : ""});
  flow.table({{"loudspeaker", 1.3, Align::left},
              {"seat", 1.5, Align::left},
              {"by", 1, Align::left},
              {"ms late", 0.9, Align::right},
              {"dB", 0.8, Align::right},
              {"early and loud", 1.3, Align::left},
              {"meets piece", 1.1, Align::left},
              {"then dB", 1, Align::right}},
             rows, 2.6);
}

void mode_plot(drawing::Sheet& sheet, const job::Findings& findings, Vec2 from, Vec2 to) {
  sheet.shapes.push_back(drawing::Text{{from.x, from.y + 4},
                                       "Where are the room's resonances?",
                                       3.6,
                                       true,
                                       drawing::Anchor::left,
                                       0,
                                       Ink::ink});
  const double y0 = from.y + 12, y1 = to.y - 10, low = 20, high = findings.modes_to_hz;
  const auto x = [&](double hz) {
    return from.x + std::log(hz / low) / std::log(high / low) * (to.x - from.x - 4);
  };
  for (const double hz : {20., 25., 31.5, 40., 50., 63., 80., 100., 125., 160., 200.}) {
    if (hz > high) break;
    sheet.shapes.push_back(
        drawing::Line{{x(hz), y1}, {x(hz), y1 + 1.5}, {Ink::graphite, 0.15, Dash::none}});
    sheet.shapes.push_back(drawing::Text{{x(hz), y1 + 4.6},
                                         fixed(hz, hz == 31.5 ? 1 : 0),
                                         2.5,
                                         false,
                                         drawing::Anchor::centre,
                                         0,
                                         Ink::graphite});
  }
  sheet.shapes.push_back(
      drawing::Line{{from.x, y1}, {to.x - 4, y1}, {Ink::graphite, 0.2, Dash::none}});
  sheet.shapes.push_back(drawing::Text{{from.x, y1 + 8.6},
                                       "frequency, Hz; long strokes: axial or height alone, "
                                       "middle: plan or tangential, short: the rest",
                                       2.5,
                                       false,
                                       drawing::Anchor::left,
                                       0,
                                       Ink::graphite});
  for (const auto& mode : findings.modes) {
    if (mode.hz < low) continue;
    const double share = mode.kind == acoustics::ModeKind::axial ? 1
                         : mode.kind == acoustics::ModeKind::oblique ||
                                 (!mode.order && mode.kind == acoustics::ModeKind::tangential)
                             ? 0.4
                             : 0.7;
    sheet.shapes.push_back(drawing::Line{{x(mode.hz), y1},
                                         {x(mode.hz), y1 - (y1 - y0) * share},
                                         {Ink::chalk_blue, share == 1 ? 0.5 : 0.25, Dash::none}});
  }
}

/// What one product absorbs, with its range; the place of the first piece of it.
drawing::Plot absorption_plot(const job::PieceRow& piece) {
  drawing::Plot plot;
  plot.question = piece.product + ", " + piece.kind;
  plot.x_label = "octave band, Hz";
  plot.y_label = "absorption of its face";
  drawing::Curve curve{"", {}, {Ink::chalk_blue, 0.6, Dash::none}, false, {}, {}};
  double most = 1;
  for (std::size_t i = 0; i < piece.likely_m2.size(); ++i) {
    const double hz = acoustics::octave_bands()[i].nominal_hz;
    plot.x_ticks.push_back(hz);
    curve.points.push_back({hz, piece.likely_m2[i] / piece.face_m2});
    curve.low.push_back({hz, piece.low_m2[i] / piece.face_m2});
    curve.high.push_back({hz, piece.high_m2[i] / piece.face_m2});
    most = std::max(most, piece.high_m2[i] / piece.face_m2);
  }
  plot.y_step = most > 2 ? 1.0 : 0.5;
  plot.y_high = std::ceil(most / plot.y_step - 1e-9) * plot.y_step;
  plot.curves = {curve};
  return plot;
}

void absorption_plots(Flow& flow, const job::Pack& pack) {
  std::vector<const job::PieceRow*> firsts;
  for (const auto& piece : pack.treatment.pieces)
    if (std::none_of(firsts.begin(), firsts.end(),
                     [&](const job::PieceRow* one) { return one->product == piece.product; }))
      firsts.push_back(&piece);
  if (firsts.empty()) return;
  flow.keep_together(75);
  flow.heading("What each product absorbs");
  flow.paragraph(
      "Hatched: where eight of ten lie, by what is not known of the wool and of the build. A face "
      "of "
      "finite size may absorb more than falls on it: sound bends in at its edges.",
      2.6, Ink::graphite);
  for (std::size_t i = 0; i < firsts.size(); i += 2)
    flow.picture(46, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
      const double middle = (from.x + to.x) / 2;
      drawing::draw_plot(sheet, absorption_plot(*firsts[i]), from, {middle - 3, to.y});
      if (i + 1 < firsts.size())
        drawing::draw_plot(sheet, absorption_plot(*firsts[i + 1]), {middle + 3, from.y}, to);
    });
}

}  // namespace

Paper findings_paper(const job::Job& job, const job::Pack& pack) {
  Flow flow(job, {"Findings and treatment", units_name(job), "", false, true});
  flow.finding(pack.findings.statements.front().sentence);
  flow.paragraph(pack.survey.statements.front().sentence + " Used for " +
                 acoustics::use_title(job.use) + ".");
  flow.picture(78, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
    drawing::draw_plot(sheet, decay_plot(pack), from, to);
  });
  flow.paragraph("Hatched: the range that formulas and materials leave open. Target: " +
                     pack.findings.corridor.source + ".",
                 2.6, Ink::graphite);
  flow.heading("What is wrong, worst first");
  sentences(flow, pack.findings.statements, false);
  flow.heading("What the treatment does");
  sentences(flow, pack.treatment.statements, false);
  flow.heading("Today, band by band (s)");
  flow.table(decay_columns(), decay_cells(pack.treatment.before), 2.7);
  flow.heading("With the treatment, band by band (s)");
  flow.table(decay_columns(), decay_cells(pack.treatment.after), 2.7);
  flow.paragraph(pack.findings.decay_rule, 2.6, Ink::graphite);
  flow.heading("The pieces");
  std::vector<Cells> pieces;
  for (const auto& piece : pack.treatment.pieces)
    pieces.push_back({piece.label, piece.product, piece.place, fixed(piece.likely_m2[1], 2),
                      fixed(piece.likely_m2[3], 2),
                      fixed(piece.low_m2[3], 2) + "–" + fixed(piece.high_m2[3], 2),
                      piece.placement.ok() ? "fits" : piece.placement.faults[0].what});
  flow.table({{"piece", 0.7, Align::left},
              {"product", 2, Align::left},
              {"place", 1.1, Align::left},
              {"m² at 125 Hz", 1.1, Align::right},
              {"m² at 500 Hz", 1.1, Align::right},
              {"range", 1.2, Align::right},
              {"fit", 1.6, Align::left}},
             pieces, 2.7);
  for (const auto& product : pack.treatment.products)
    if (!product.sound.approximation.empty())
      flow.paragraph(product.spec.name + ": computed as " + product.sound.approximation + ", ±" +
                         fixed(product.sound.approximation_doubt * 100, 0) +
                         " % until a field solution replaces it.",
                     2.6, Ink::graphite);
  absorption_plots(flow, pack);
  flow.heading("First reflections");
  reflection_table(flow, pack);
  if (flow.room_mm() < 80) flow.new_page();
  flow.heading("Resonances");
  flow.paragraph(pack.findings.modes_note);
  if (!pack.findings.modes.empty())
    flow.picture(52, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
      mode_plot(sheet, pack.findings, from, to);
    });
  ringing_section(flow, pack);
  seat_section(flow, pack);
  bass_section(flow, job, pack);
  flow.heading("What treatment does not do");
  for (const auto& line : pack.findings.not_done) flow.bullet(line);
  return {"02-findings", "Findings and treatment", flow.finish(), false, {}};
}

}  // namespace roomwright::papers
