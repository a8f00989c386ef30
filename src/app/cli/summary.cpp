// Stage results as terminal text; see summary.h. It prints what the stages found and computes
// nothing of its own.
#include "app/cli/summary.h"

#include <cmath>

#include "app/api/api.h"

namespace roomwright::app {

namespace {

using Rows = std::vector<std::vector<std::string>>;

std::string seconds(const std::optional<double>& value) {
  return value ? fixed(*value, 2) : "–";
}

std::string hz_text(double hz) {
  return hz >= 1000 ? fixed(hz / 1000, 0) + " kHz" : fixed(hz, 0) + " Hz";
}

std::string heading(const std::string& text, const Style& style) {
  return "\n" + style.strong(text) + "\n";
}

std::string sentences(const std::vector<job::Statement>& statements, const Style& style,
                      std::size_t most = 99) {
  std::string out;
  for (std::size_t i = 0; i < statements.size() && i < most; ++i) {
    const job::Statement& one = statements[i];
    out += wrapped(one.sentence, one.weight > 0 ? "  ! " : "  - ", "    ");
    if (!one.cause.empty()) out += wrapped("Cause: " + one.cause, "    ", "      ");
    if (!one.next.empty()) out += wrapped("Next: " + one.next, "    ", "      ");
  }
  if (statements.size() > most)
    out += style.quiet("  … and " + std::to_string(statements.size() - most) + " more\n");
  return out;
}

Rows decay_rows(const std::vector<job::DecayRow>& decay) {
  Rows rows{{"band", "Sabine s", "Eyring s", "Arau s", "range s", "wanted s", "verdict"}};
  for (const auto& row : decay)
    rows.push_back({hz_text(row.hz), seconds(row.sabine_s), seconds(row.eyring_s),
                    seconds(row.arau_s), fixed(row.low_s, 2) + "–" + fixed(row.high_s, 2),
                    row.target_low_s || row.target_high_s
                        ? seconds(row.target_low_s) + "–" + seconds(row.target_high_s)
                        : "none published",
                    row.verdict});
  return rows;
}

std::string survey_text(const job::Job& job, const job::Survey& survey, const Style& style) {
  std::string out = sentences(survey.statements, style);
  out += heading("Surfaces", style);
  Rows rows{{"surface", "material", "m²", "125 Hz", "500 Hz", "2 kHz"}};
  for (const auto& row : survey.surfaces)
    rows.push_back({row.surface, row.material, fixed(row.area_m2, 2), fixed(row.absorption[1], 2),
                    fixed(row.absorption[3], 2), fixed(row.absorption[5], 2)});
  out += table(rows, style);
  if (survey.tape.empty()) return out;
  out += heading("The tape", style);
  Rows tape{{"measured", "tape", "plan", "difference"}};
  for (const auto& check : survey.tape)
    tape.push_back({check.what, print_length(check.measured, job.region.units),
                    print_length(check.expected, job.region.units),
                    print_length(check.difference, job.region.units)});
  return out + table(tape, style);
}

std::string findings_text(const job::Findings& findings, const Style& style) {
  std::string out = sentences(findings.statements, style);
  out += heading("How long does each band ring?", style) + table(decay_rows(findings.decay), style);
  out += wrapped("Target: " + findings.corridor.source, "  ", "  ");
  out += wrapped(findings.decay_rule, "  ", "  ");
  out += heading("First reflections", style);
  Rows paths{{"loudspeaker", "seat", "by", "ms", "dB", ""}};
  for (const auto& path : findings.paths)
    paths.push_back({path.loudspeaker, path.seat, path.surface, fixed(path.delay_ms, 1),
                     fixed(path.level_db, 1), path.counts ? "counts" : ""});
  out += table(paths, style);
  out += heading("Modes", style) + wrapped(findings.modes_note, "  ", "  ");
  Rows modes{{"Hz", "kind"}};
  for (std::size_t i = 0; i < findings.modes.size() && i < 20; ++i)
    modes.push_back({fixed(findings.modes[i].hz, 1), acoustics::mode_kind_name(findings.modes[i])});
  out += table(modes, style);
  out += heading("What treatment does not do", style);
  for (const auto& line : findings.not_done) out += wrapped(line, "  - ", "    ");
  return out;
}

std::string treatment_text(const job::Treatment& treatment, const Style& style) {
  std::string out = sentences(treatment.statements, style);
  out += heading("Pieces", style);
  Rows rows{{"piece", "product", "place", "m² at 125 Hz", "m² at 500 Hz", "fits"}};
  for (const auto& piece : treatment.pieces)
    rows.push_back({piece.label, piece.product, piece.place,
                    fixed(piece.low_m2[1], 2) + "–" + fixed(piece.high_m2[1], 2),
                    fixed(piece.low_m2[3], 2) + "–" + fixed(piece.high_m2[3], 2),
                    piece.placement.ok() ? "yes" : "no: " + piece.placement.faults[0].what});
  out += table(rows, style);
  out += heading("How long does each band ring with the treatment?", style);
  return out + table(decay_rows(treatment.after), style);
}

std::string build_text(const job::Job& job, const job::BuildSheet& build, const Style& style) {
  const Units& units = job.region.units;
  const shop::Schedule& schedule = build.schedule;
  std::string out = sentences(build.statements, style);
  for (const auto& plan : schedule.sticks) {
    out += heading("Sticks: " + plan.name, style);
    Rows rows{{"stop at", "parts", "which"}};
    for (const auto& stop : plan.stops) {
      std::string which;
      for (const auto& part : stop.parts) which += (which.empty() ? "" : "; ") + part;
      rows.push_back({print_length(stop.stop, units), std::to_string(stop.count), which});
    }
    out += table(rows, style);
  }
  out += heading("Stations", style);
  Rows stations{{"station", "min"}};
  for (const auto& station : schedule.stations)
    stations.push_back({shop::station_title(station.station), fixed(station.total_min(), 0)});
  stations.push_back({"all", fixed(schedule.shop_min(), 0)});
  return out + table(stations, style) + run_tables(build, style);
}

std::string price_text(const job::Job& job, const job::PriceSheet& price, const Style& style) {
  const Currency& currency = job.shop.currency;
  std::string out = sentences(price.statements, style);
  out += heading("To buy", style);
  Rows buy{{"what", "needed", "in hand", "buy", "cost"}};
  for (const auto& row : price.purchase.rows)
    buy.push_back({row.name, row.needed, row.in_hand, row.buy, print_money(row.cost, currency)});
  out += table(buy, style) + heading("What it costs the shop", style);
  Rows cost{{"group", "what", "how much", "cost"}};
  for (const auto& row : price.costing.rows)
    cost.push_back({row.group, row.name, row.quantity, print_money(row.cost, currency)});
  out += table(cost, style) + heading("What the client is asked", style);
  for (const auto& option : price.quote.options)
    out += table({{option.name.empty() ? "the offer" : "with " + option.name, "amount"},
                  {"before tax", print_money(option.net, currency)},
                  {price.quote.tax_name, print_money(option.tax, currency)},
                  {"to pay", print_money(option.total, currency)},
                  {"deposit", print_money(option.deposit, currency)}},
                 style);
  return out;
}

std::string hang_text(const job::Job& job, const job::HangSheet& hang, const Style& style) {
  const Units& units = job.region.units;
  std::string out = sentences(hang.statements, style);
  out += heading("Places, from the left-hand wall and the floor", style);
  Rows rows{{"piece", "on", "left", "bottom", "weight", "load a point", "factor"}};
  for (const auto& piece : hang.pieces)
    rows.push_back(
        {piece.label, piece.place, print_length(piece.left, units),
         print_length(piece.bottom, units), print_mass(piece.mass_kg, units),
         fixed(piece.fixing.load_n, 0) + " N",
         piece.fixing.safety_factor ? fixed(*piece.fixing.safety_factor, 1) : "not published"});
  out += table(rows, style) + heading("Cautions", style);
  for (const auto& caution : hang.cautions) out += wrapped(caution, "  - ", "    ");
  return out;
}

/// What the recordings prove: sentences, verdicts, the octaves of both sides.
std::string proven_text(const job::ProofSheet& proof, const Style& style) {
  const job::MeasuredProof& measured = *proof.measured;
  std::string out = sentences(measured.statements, style) + heading("Promise by promise", style);
  for (const job::Verdict& one : measured.verdicts) out += wrapped(one.sentence, "  - ", "    ");
  const auto t20 = [](const std::optional<job::MeasuredSide>& side, double hz) -> std::string {
    if (side)
      for (const job::MeasuredOctave& one : side->octaves)
        if (one.hz == hz) return one.t20_s.value ? fixed(*one.t20_s.value, 2) : "not told";
    return "–";
  };
  Rows rows{{"band", "before", "after", "promised"}};
  for (const job::DecayRow& row : proof.predicted)
    rows.push_back({shortest(row.hz) + " Hz", t20(measured.before, row.hz),
                    t20(measured.after, row.hz), fixed(row.low_s, 2) + "–" + fixed(row.high_s, 2)});
  return out + heading("Rings for (T20, s)", style) + table(rows, style);
}

std::string proof_text(const job::ProofSheet& proof, const Style& style) {
  std::string out = proof.measured ? proven_text(proof, style) : sentences(proof.statements, style);
  Rows rows{{"measure", "where", "against"}};
  for (const auto& point : proof.points) rows.push_back({point.what, point.where, point.target});
  out += heading("After hanging", style) + table(rows, style);
  for (const auto& line : proof.how) out += wrapped(line, "  - ", "    ");
  return out;
}

}  // namespace

std::string stage_summary(const job::Job& job, const job::Pack& pack, std::string_view stage,
                          const Style& style) {
  std::string title(stage);
  title[0] = static_cast<char>(title[0] - 'a' + 'A');
  std::string out = style.strong(title + ": " + job.title) + "\n\n";
  if (stage == "survey") return out + survey_text(job, pack.survey, style);
  if (stage == "findings") return out + findings_text(pack.findings, style);
  if (stage == "treatment") return out + treatment_text(pack.treatment, style);
  if (stage == "build") return out + build_text(job, pack.build, style);
  if (stage == "price") return out + price_text(job, pack.price, style);
  if (stage == "hang") return out + hang_text(job, pack.hang, style);
  return out + proof_text(pack.proof, style);
}

namespace {

std::vector<std::string> choice_row(const job::Job& job, const design::Choice& choice) {
  const Units& units = job.region.units;
  const int digits = job.shop.currency.digits;
  return {(choice.layers > 1 ? std::to_string(choice.layers) + " × " : "") +
              job.shop.boards.at(choice.board).name,
          print_length(choice.gap, units),
          print_length(choice.depth, units),
          job.shop.cloths.at(choice.cloth).name,
          fixed(choice.absorption[1], 2),
          fixed(choice.absorption[3], 2),
          fixed(choice.absorption[5], 2),
          fixed(choice.cost_per_m2, digits),
          fixed(choice.cost, digits) + " (" + fixed(choice.cost_low, digits) + "–" +
              fixed(choice.cost_high, digits) + ")"};
}

Rows choice_rows(const job::Job& job) {
  return {{"boards", "gap", "depth", "cloth", "125 Hz", "500 Hz", "2 kHz",
           job.shop.currency.code + " a m²", job.shop.currency.code + " a m² of absorption"}};
}

}  // namespace

std::string fill_summary(const job::Job& job, const job::FillReport& report, const Style& style) {
  std::string out =
      style.strong("Fill: " + job.title) + "\n\n" + sentences(report.statements, style);
  out += heading("Nothing else is both cheaper and shallower", style);
  Rows best = choice_rows(job), cheapest = choice_rows(job);
  for (const auto& choice : report.choices) {
    if (choice.best) best.push_back(choice_row(job, choice));
    if (!choice.best && cheapest.size() <= 8) cheapest.push_back(choice_row(job, choice));
  }
  out += table(best, style) + heading("The next cheapest", style) + table(cheapest, style);
  if (!report.substitutes.empty()) {
    out += heading("In place of the board that is not sold", style);
    Rows rows{{"boards", "gap", "125 Hz", "250 Hz", "500 Hz", "1 kHz", "2 kHz", "4 kHz"}};
    for (const auto& one : report.substitutes) {
      std::vector<std::string> row{choice_row(job, one.choice)[0],
                                   print_length(one.choice.gap, job.region.units)};
      for (std::size_t i = 1; i < 7; ++i)
        row.push_back((one.difference[i] >= 0 ? "+" : "−") + fixed(std::abs(one.difference[i]), 2));
      rows.push_back(row);
    }
    out += table(rows, style);
  }
  for (const auto& note : report.notes) out += "\n" + wrapped(note, "", "");
  return out;
}

namespace {

Rows place_rows(const job::Job& job, const job::PlaceChoice& today,
                const std::vector<job::PlaceChoice>& best) {
  Rows rows{{""}};
  for (const auto& label : today.labels) rows[0].push_back(label);
  for (const char* title : {"strays dB", "highest", "lowest"}) rows[0].push_back(title);
  const auto add = [&](const std::string& name, const job::PlaceChoice& one) {
    std::vector<std::string> row{name};
    for (const auto& at : one.at_m)
      row.push_back(print_room_length(at.x, job.region.units) + ", " +
                    print_room_length(at.y, job.region.units));
    row.push_back(fixed(one.unevenness_db, 1));
    row.push_back(fixed(one.highest_db, 0) + " dB, " + fixed(one.highest_hz, 0) + " Hz");
    row.push_back(fixed(one.lowest_db, 0) + " dB, " + fixed(one.lowest_hz, 0) + " Hz");
    rows.push_back(row);
  };
  add("now", today);
  for (std::size_t i = 0; i < best.size(); ++i) add(std::to_string(i + 1), best[i]);
  return rows;
}

}  // namespace

std::string places_summary(const job::Job& job, const job::PlacesReport& report,
                           const Style& style) {
  std::string out =
      style.strong("Places: " + job.title) + "\n\n" + sentences(report.statements, style);
  out += heading("The evenest of " + std::to_string(report.tried) + " sets of places", style);
  out += table(place_rows(job, report.today, report.best), style);
  for (const auto& sub : report.subs)
    out += heading("Subwoofer " + sub.label + ", for all seats", style) +
           table(place_rows(job, sub.today, sub.best), style);
  for (const auto& note : report.notes) out += "\n" + wrapped(note, "", "");
  return out;
}

std::string tune_summary(const job::Job& job, const design::TrapReport& report,
                         const Style& style) {
  const design::TrapAnswer& best = report.answers.front();
  std::string out = style.strong("Tuned traps: " + job.title) + "\n\n";
  out += wrapped(best.sentence, "  - ", "    ");
  for (const auto& warning : best.warnings) out += wrapped(warning, "  ! ", "    ");
  out += heading("All, best first", style);
  Rows rows{{"trap", "peak Hz", "drift Hz", "half width Hz", "absorption", "depth", "weight",
             job.shop.currency.code + " of material"}};
  for (const auto& one : report.answers)
    rows.push_back({one.spec.name, fixed(one.peak.hz, 1),
                    fixed(one.drift_hz.low, 1) + "–" + fixed(one.drift_hz.high, 1),
                    fixed(one.peak.half_width_hz, 1), fixed(one.peak.absorption, 2),
                    print_length(one.depth, job.region.units),
                    print_mass(one.mass_kg, job.region.units),
                    print_money(one.material, job.shop.currency)});
  out += table(rows, style);
  out += heading("For the job file (the first; --json has all)", style);
  out += design::product_toml(best.spec, job.region.units);
  for (const auto& caution : best.cautions) out += "\n" + wrapped("Caution: " + caution, "", "");
  return out;
}

std::string order_summary(const job::Job& job, const job::Pack& pack, const Style& style) {
  const auto money = [&](Money amount) { return print_money(amount, job.shop.currency); };
  const shop::QuoteOption& offer = pack.price.quote.options.front();
  std::string out = style.strong(job.title) + "\n";
  Rows rows{{"line", "what", "price"}};
  for (const auto& row : offer.rows) rows.push_back({row.label, row.description, money(row.price)});
  rows.push_back({"", "before " + pack.price.quote.tax_name, money(offer.net)});
  rows.push_back({"", pack.price.quote.tax_name + ", " + pack.price.quote.tax_percent.text() + " %",
                  money(offer.tax)});
  rows.push_back({"", "to pay", money(offer.total)});
  out += table(rows, style);
  out += heading("Cartons", style) + sentences(pack.packing.statements, style);
  Rows cartons{{"cartons", "line", "in each", "outside", "weight", "charged", "goes as", "each"}};
  for (const auto& one : pack.packing.cartons.cartons)
    cartons.push_back({std::to_string(one.cartons), pack.packing.items[one.item].label,
                       std::to_string(one.pieces),
                       print_dimension(one.width, job.region.units) + " × " +
                           print_dimension(one.height, job.region.units) + " × " +
                           print_length(one.depth, job.region.units),
                       print_mass(one.mass_kg, job.region.units),
                       one.rate.empty() ? "–" : print_mass(one.charged_kg, job.region.units),
                       one.rate.empty() ? "–" : one.rate,
                       one.rate.empty() ? "–" : money(one.price)});
  return out + table(cartons, style);
}

std::string pack_summary(const job::Job& job, const job::Pack& pack, const Style& style) {
  if (job.order)
    return order_summary(job, pack, style) + heading("Build", style) +
           sentences(pack.build.statements, style, 4);
  std::string out = style.strong(job.title) + "\n";
  out += heading("Survey", style) + sentences(pack.survey.statements, style, 2);
  out += heading("Findings", style) + sentences(pack.findings.statements, style, 4);
  out += heading("Treatment", style) + sentences(pack.treatment.statements, style, 4);
  out += heading("Build", style) + sentences(pack.build.statements, style, 4);
  out += heading("Price", style) + sentences(pack.price.statements, style, 3);
  out += heading("Hang", style) + sentences(pack.hang.statements, style, 3);
  out += heading("Packing", style) + sentences(pack.packing.statements, style, 3);
  return out + heading("Proof", style) + sentences(pack.proof.statements, style, 2);
}

}  // namespace roomwright::app
