// How long each resonance rings, and what rays tell of the seats: two sections of the findings.
#include <algorithm>
#include <cmath>

#include "papers/sheets.h"

namespace roomwright::papers {

namespace {

constexpr std::size_t first_octave = 1;  ///< below it waves rule

std::string figure(const acoustics::TracedValue& value, int digits) {
  return value.value ? fixed(*value.value, digits) : std::string("–");
}

double greatest_error(const job::SeatSound& sound, acoustics::TracedValue job::SeatSoundRow::*of) {
  double most = 0;
  for (const auto& seat : sound.seats)
    for (const auto* rows : {&seat.today, &seat.treated})
      for (std::size_t i = first_octave; i < rows->size(); ++i)
        if (((*rows)[i].*of).value) most = std::max(most, ((*rows)[i].*of).standard_error);
  return most;
}

void seat_table(Flow& flow, const job::SeatSoundAt& at) {
  std::vector<Cells> rows;
  for (std::size_t i = first_octave; i < at.today.size(); ++i) {
    const auto &today = at.today[i], &after = at.treated[i];
    rows.push_back({band_text(acoustics::octave_bands()[i].nominal_hz), figure(today.edt_s, 2),
                    figure(after.edt_s, 2), figure(today.t20_s, 2), figure(after.t20_s, 2),
                    figure(today.c50_db, 0), figure(after.c50_db, 0), figure(today.c80_db, 0),
                    figure(after.c80_db, 0)});
  }
  flow.keep_together(52);
  flow.paragraph("At " + at.seat + ": the mean of its loudspeakers", 3);
  flow.table({{"band", 1, Align::left},
              {"EDT today", 1, Align::right},
              {"treated, s", 1, Align::right},
              {"T20 today", 1, Align::right},
              {"treated, s", 1, Align::right},
              {"C50 today", 1, Align::right},
              {"treated, dB", 1, Align::right},
              {"C80 today", 1, Align::right},
              {"treated, dB", 1, Align::right}},
             rows, 2.7);
}

constexpr std::size_t most_resonances = 12;

/// Modes that ring longest today, by frequency.
std::vector<const job::ModeRing*> longest_modes(const job::Ringing& ringing) {
  std::vector<const job::ModeRing*> out;
  for (const auto& mode : ringing.modes)
    if (mode.decay_s) out.push_back(&mode);
  std::stable_sort(out.begin(), out.end(),
                   [](const auto* a, const auto* b) { return *a->decay_s > *b->decay_s; });
  if (out.size() > most_resonances) out.resize(most_resonances);
  std::stable_sort(out.begin(), out.end(),
                   [](const auto* a, const auto* b) { return a->hz < b->hz; });
  return out;
}

std::string treated_decay(const job::Ringing& treated, const job::ModeRing& today) {
  for (const auto& mode : treated.modes)
    // Rigid modes are found by another solver where bodies hang.
    if (std::abs(mode.rigid_hz - today.rigid_hz) < 1e-3 && mode.decay_s)
      return fixed(*mode.decay_s, 2);
  return "–";
}

}  // namespace

void ringing_section(Flow& flow, const job::Pack& pack) {
  const auto &today = pack.findings.ringing, &treated = pack.treatment.ringing;
  const auto modes = longest_modes(today);
  if (modes.empty()) {
    flow.paragraph(today.note, 2.6, Ink::graphite);
    return;
  }
  const bool both = !treated.modes.empty() && !pack.treatment.pieces.empty();
  // In blocks side by side, read downward.
  constexpr std::size_t blocks = 3;
  const std::size_t height = (modes.size() + blocks - 1) / blocks;
  std::vector<Column> columns;
  std::vector<Cells> rows(height);
  for (std::size_t block = 0; block < blocks && block * height < modes.size(); ++block) {
    columns.push_back({"Hz", 1, Align::right});
    columns.push_back({"today, s", 1, Align::right});
    if (both) columns.push_back({"treated, s", 1, Align::right});
    for (std::size_t i = 0; i < height; ++i) {
      const std::size_t at = block * height + i;
      const bool there = at < modes.size();
      rows[i].push_back(there ? fixed(modes[at]->hz, 1) : "");
      rows[i].push_back(there ? fixed(*modes[at]->decay_s, 2) : "");
      if (both) rows[i].push_back(there ? treated_decay(treated, *modes[at]) : "");
    }
  }
  flow.keep_together(40);
  flow.paragraph("The " + std::to_string(modes.size()) + " resonances that ring longest (T60):", 3);
  flow.table(columns, rows, 2.7);
  flow.paragraph(both ? treated.note : today.note + " " + treated.note, 2.6, Ink::graphite);
}

void seat_section(Flow& flow, const job::Pack& pack) {
  const job::SeatSound& sound = pack.seat_sound;
  flow.keep_together(70);
  flow.heading("Decay and clarity at the seats");
  if (sound.seats.empty()) {
    flow.paragraph(sound.note, 2.6, Ink::graphite);
    return;
  }
  for (const auto& at : sound.seats) seat_table(flow, at);
  flow.paragraph("By " + std::to_string(sound.rays) +
                     " rays from each loudspeaker (ISO 3382-1); chance adds at most ±" +
                     fixed(greatest_error(sound, &job::SeatSoundRow::edt_s), 2) + " s to EDT, ±" +
                     fixed(greatest_error(sound, &job::SeatSoundRow::t20_s), 2) +
                     " s to T20 and ±" +
                     fixed(std::max(greatest_error(sound, &job::SeatSoundRow::c50_db),
                                    greatest_error(sound, &job::SeatSoundRow::c80_db)),
                           1) +
                     " dB to clarity (one standard error). What is not known of the materials "
                     "counts for more.",
                 2.6, Ink::graphite);
  for (const std::string& note : sound.notes) flow.paragraph(note, 2.6, Ink::graphite);
}

}  // namespace roomwright::papers
