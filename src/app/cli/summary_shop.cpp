// What the shop asks beside the stages: several jobs in one run, and its times against the bench's
// log; see summary.h.
#include "app/cli/summary.h"

namespace roomwright::app {

namespace {

std::string statement_lines(const std::vector<job::Statement>& statements) {
  std::string out;
  for (const job::Statement& one : statements) {
    out += wrapped(one.sentence, one.weight > 0 ? "  ! " : "  - ", "    ");
    if (!one.next.empty()) out += wrapped("Next: " + one.next, "    ", "      ");
  }
  return out;
}

}  // namespace

std::string run_tables(const job::BuildSheet& build, const Style& style) {
  std::string out = "\n" + style.strong("The run") + "\n";
  std::vector<std::vector<std::string>> rows{
      {"people", "through in h", "at least h", "done in the shop", "hung"}};
  for (const auto& row : build.run.crew)
    rows.push_back({std::to_string(row.people), fixed(row.finish_min / 60, 2),
                    row.proven ? "proven" : fixed(row.bound_min / 60, 2), row.finished, row.hung});
  out += table(rows, style);
  if (build.calendar.materials.empty()) return out;
  rows = {{"to order", "days", "needed", "order by"}};
  for (const auto& one : build.calendar.materials)
    rows.push_back({one.name, std::to_string(one.lead_days), one.needed,
                    one.order_by + (one.late ? " (too late)" : "")});
  return out + table(rows, style);
}

std::string together_summary(const job::TogetherSheet& sheet, const Style& style) {
  const auto money = [&](Money amount) { return print_money(amount, sheet.job.shop.currency); };
  std::string out =
      style.strong("Together: " + sheet.job.title) + "\n\n" + statement_lines(sheet.statements);
  out += "\n" + style.strong("Who pays what") + "\n";
  std::vector<std::vector<std::string>> rows{
      {"", "job", "pieces", "alone", "share", "from the rack", "pays"}};
  for (const auto& one : sheet.jobs)
    rows.push_back({one.mark, one.title, std::to_string(one.pieces), money(one.alone),
                    money(one.share), money(one.from_rack), money(one.pays)});
  out += table(rows, style) + "\n" + style.strong("Where the saving comes from") + "\n";
  rows = {{"what", "apart", "together", "saved"}};
  for (const auto& part : sheet.parts)
    rows.push_back(
        {part.name, money(part.apart), money(part.together), money(part.apart - part.together)});
  return out + table(rows, style) + run_tables(sheet.build, style);
}

std::string times_summary(const TimesReport& report, const Style& style) {
  std::string out = style.strong("Times: " + report.shop_path) + "\n";
  out += wrapped(std::to_string(report.logs) + (report.logs == 1 ? " session" : " sessions") +
                     " in " + report.log_path + ".",
                 "  ", "  ");
  std::size_t moving = 0;
  std::vector<std::vector<std::string>> rows{
      {"what", "standard min", "found min", "10 to 90 in 100", "days", "proposal"}};
  for (const auto& one : report.estimates) {
    moving += one.moves ? 1 : 0;
    rows.push_back({one.key, fixed(one.standard_min, 2), fixed(one.estimate_min, 2),
                    fixed(one.low_min, 2) + "–" + fixed(one.high_min, 2), std::to_string(one.days),
                    one.moves ? "move to " + shortest(one.proposal_min) : "stays"});
  }
  out += "\n" + table(rows, style);
  if (report.written)
    out += "\n" + std::to_string(moving) + " written into " + report.shop_path + ".\n";
  else if (moving > 0)
    out += "\nNothing is changed; --write writes the proposals into the shop file.\n";
  return out;
}

}  // namespace roomwright::app
