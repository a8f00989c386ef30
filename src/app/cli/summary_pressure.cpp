// Where sound presses, in a terminal; see summary.h.
#include <cmath>

#include "app/cli/summary.h"

namespace roomwright::app {

std::string pressure_summary(const job::Job& job, const job::PressureReport& report,
                             const Style& style) {
  std::string out = style.strong("Pressure: " + job.title) + "\n\n";
  for (const auto& one : report.statements) out += wrapped(one.sentence, "  - ", "    ");
  for (const auto& at : report.at) {
    out += "\n" +
           style.strong(fixed(at.hz, at.hz == std::round(at.hz) ? 0 : 1) + " Hz, " +
                        report.loudspeaker) +
           (at.resonance.empty() ? "" : "; nearest resonance: " + at.resonance) + "\n";
    const bool both = at.rooms.size() > 1;
    std::vector<std::vector<std::string>> rows{{"surface", "share", "greatest dB", "where"}};
    if (both) rows = {{"surface", "share", "treated", "greatest dB", "treated", "where, today"}};
    const auto add = [&](std::size_t m) {
      const auto& today = at.rooms[0].maps[m];
      rows.push_back({today.name, fixed(today.share, 2)});
      if (both) rows.back().push_back(fixed(at.rooms[1].maps[m].share, 2));
      rows.back().push_back(fixed(today.most.level_db, 1));
      if (both) rows.back().push_back(fixed(at.rooms[1].maps[m].most.level_db, 1));
      rows.back().push_back(today.most.words);
    };
    for (const std::size_t m : at.rooms[0].order) add(m);
    add(at.rooms[0].maps.size() - 1);
    out += table(rows, style);
    out += wrapped("0 dB is " + fixed(at.reference_db, 1) +
                       " dB over one loudspeaker's direct sound at 1 m. " + at.wool,
                   "  ", "  ");
  }
  out += "\n";
  for (const std::string& note : report.notes) out += wrapped(note, "  - ", "    ");
  return out;
}

}  // namespace roomwright::app
