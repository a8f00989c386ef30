// What rays tell of the seats, and what `listen` wrote; see summary.h.
#include <algorithm>

#include "app/cli/summary.h"

namespace roomwright::app {

namespace {

std::string with_doubt(const acoustics::TracedValue& value, int decimals) {
  if (!value.value) return "–";
  const std::string middle = fixed(*value.value, decimals);
  return value.standard_error > 0 ? middle + " ±" + fixed(value.standard_error, decimals) : middle;
}

}  // namespace

std::string seat_rays_summary(const job::RaysAtSeats& rays, const Style& style) {
  std::string out;
  for (const auto& pair : rays.pairs) {
    out += "\n" + style.strong("Rays from " + pair.loudspeaker + " to " + pair.seat) +
           (pair.direct_clear ? "" : " (something stands between)") + "\n";
    std::vector<std::vector<std::string>> rows = {
        {"Hz", "EDT s", "T20 s", "C50 dB", "C80 dB", "D50", ""}};
    for (const auto& row : pair.rows)
      rows.push_back({fixed(row.hz, 0), with_doubt(row.edt_s, 2), with_doubt(row.t20_s, 2),
                      with_doubt(row.c50_db, 1), with_doubt(row.c80_db, 1), with_doubt(row.d50, 2),
                      row.from_waves ? "EDT, T20 by waves" : ""});
    out += table(rows, style);
  }
  out += "\n" +
         wrapped(rays.method + " Behind ±: one standard error of " + std::to_string(rays.rays) +
                     " rays from each loudspeaker" +
                     (rays.rays_to_halve_error
                          ? "; " + std::to_string(*rays.rays_to_halve_error) + " would halve it."
                          : "."),
                 "  ", "  ");
  for (const std::string& note : rays.notes)
    out += wrapped(note + (note.back() == '.' ? "" : "."), "  - ", "    ");
  return out;
}

std::string listen_summary(const ListenReport& report, const std::string& folder,
                           const Style& style) {
  std::string out = style.strong(report.caution) + "\n\n";
  std::vector<std::vector<std::string>> rows = {
      {"seat", "today", "treated", "loudness", "today's gain", "treated's gain"}};
  for (const HeardSeat& seat : report.seats)
    rows.push_back({seat.seat, seat.today_file, seat.treated_file,
                    fixed(seat.level, 1) + (seat.by_loudness ? " LKFS" : " dB of full scale"),
                    fixed(seat.today_gain_db, 1) + " dB", fixed(seat.treated_gain_db, 1) + " dB"});
  out += table(rows, style) + "\n";
  std::string plays;
  for (const std::string& one : report.plays) plays += (plays.empty() ? "" : ", ") + one;
  const auto impulses = report.files.size() - 2 * report.seats.size();
  out +=
      wrapped("Heard is " + plays + ". Beside it " + std::to_string(impulses) +
                  " impulse responses (IR_…, floats; 1 is the direct sound of 1 m). All files: " +
                  "two channels, 48 kHz, in " + folder + ".",
              "  ", "  ");
  for (const std::string& limit : report.limits) out += wrapped(limit, "  - ", "    ");
  for (const std::string& note : report.notes)
    out += wrapped(note + (note.back() == '.' ? "" : "."), "  - ", "    ");
  return out;
}

}  // namespace roomwright::app
