// What `listen` wrote; see summary.h.
#include <algorithm>

#include "app/cli/summary.h"

namespace roomwright::app {

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
