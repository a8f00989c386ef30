// Several jobs in one run: parts of all, each by its job's mark, through one schedule; and who pays
// what. Material is shared by what each coalition of jobs would have to buy, key by key, with an
// empty rack (the rack belongs to all); labour by the minutes that each coalition would take, one
// set-up a station and one setting of the stop a length. What the rack saves is shared in
// proportion to what each takes of material.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "job/stages/pieces.h"
#include "job/stages/stages.h"
#include "shop/sharing/sharing.h"

namespace roomwright::job {

namespace {

using shop::Parts;

std::string mark_of(std::size_t index) {
  return std::string(1, static_cast<char>('A' + index));
}

/// One job's parts, every piece by mark and label.
struct Taken {
  Parts parts;
  std::vector<shop::RunPiece> pieces;
};

template <class T>
void mark_all(std::vector<T>& list, const std::string& mark) {
  for (T& one : list) one.piece = mark + "-" + one.piece;
}

Taken taken_of(const Job& job, const Treatment& treatment, const std::string& mark) {
  Taken out;
  for (std::size_t i = 0; i < job.pieces.size(); ++i) {
    out.parts.append(parts_of_piece(job, treatment, i));
    shop::RunPiece piece = run_piece(job.pieces[i], product_of(job, treatment, job.pieces[i]));
    piece.label = mark + "-" + piece.label;
    piece.product = mark + "-" + piece.product;
    out.pieces.push_back(piece);
  }
  mark_all(out.parts.sticks, mark);
  mark_all(out.parts.cloths, mark);
  mark_all(out.parts.boards, mark);
  mark_all(out.parts.sheets, mark);
  mark_all(out.parts.hardware, mark);
  mark_all(out.parts.operations, mark);
  return out;
}

shop::Shop without_rack(shop::Shop shop) {
  for (auto& [key, one] : shop.timber)
    for (auto& stick : one.sticks) stick.in_hand = 0;
  for (auto& [key, one] : shop.cloths) one.in_hand = Length();
  for (auto& [key, one] : shop.boards) one.in_hand = 0;
  for (auto& [key, one] : shop.sheets) one.in_hand = 0;
  for (auto& [key, one] : shop.hardware) one.in_hand = 0;
  return shop;
}

// ---- what a coalition would buy ---------------------------------------------------------------

/// The parts that one key of the shop is bought for.
enum class Group { timber, cloth, boards, sheets, hardware };

template <class T, class Key>
void take_parts(const std::vector<T>& from, Key key, const std::string& wanted,
                std::vector<T>& to) {
  for (const T& one : from)
    if (one.*key == wanted) to.push_back(one);
}

Parts parts_of_key(const Parts& parts, Group group, const std::string& key) {
  Parts out;
  if (group == Group::timber) take_parts(parts.sticks, &shop::StickPart::section, key, out.sticks);
  if (group == Group::cloth) take_parts(parts.cloths, &shop::ClothPart::cloth, key, out.cloths);
  if (group == Group::boards) take_parts(parts.boards, &shop::BoardPart::board, key, out.boards);
  if (group == Group::sheets) take_parts(parts.sheets, &shop::SheetPart::sheet, key, out.sheets);
  if (group == Group::hardware)
    take_parts(parts.hardware, &shop::HardwarePart::hardware, key, out.hardware);
  return out;
}

Money bought(const shop::Schedule& schedule) {
  Money sum;
  for (const auto& one : schedule.sticks) sum += one.cost;
  for (const auto& one : schedule.cloths) sum += one.cost;
  for (const auto& one : schedule.sheets) sum += one.cost;
  for (const auto& one : schedule.hardware) sum += one.cost;
  return sum;
}

/// Sorts by size, so that groups with equal parts are one question with one answer, and writes them
/// down without their owners.
std::string sorted_content(Parts& parts, const std::string& key) {
  std::string out = key + "|";
  const auto write = [&out](const char* group, auto& list, auto sizes) {
    std::stable_sort(list.begin(), list.end(),
                     [&](const auto& a, const auto& b) { return sizes(a) > sizes(b); });
    for (const auto& one : list) {
      out += group;
      std::apply([&out](const auto&... size) { ((out += std::to_string(size) + " "), ...); },
                 sizes(one));
    }
  };
  write("s", parts.sticks,
        [](const shop::StickPart& one) { return std::tuple(one.length.nanometres(), one.count); });
  write("c", parts.cloths, [](const shop::ClothPart& one) {
    return std::tuple(one.along.nanometres(), one.across.nanometres(), one.count);
  });
  write("b", parts.boards, [](const shop::BoardPart& one) {
    return std::tuple(one.height.nanometres(), one.width.nanometres(), one.count, one.triangle);
  });
  write("p", parts.sheets, [](const shop::SheetPart& one) {
    return std::tuple(one.height.nanometres(), one.width.nanometres(), one.count, one.triangle);
  });
  write("h", parts.hardware, [](const shop::HardwarePart& one) { return std::tuple(one.count); });
  return out;
}

/// What goes wrong in a coalition is kept for the end: a cost must be given all the same.
struct Game {
  const std::vector<Taken>& taken;
  shop::Shop shop;  ///< with an empty rack
  Diagnostics found;
  std::map<std::tuple<Group, std::string, std::uint32_t>, std::int64_t> known;
  std::map<std::string, std::int64_t> known_parts;  ///< by what is asked for, whoever asks

  Parts joined(std::uint32_t coalition, Group group, const std::string& key) const {
    Parts out;
    for (std::size_t i = 0; i < taken.size(); ++i)
      if (coalition >> i & 1) out.append(parts_of_key(taken[i].parts, group, key));
    return out;
  }
  std::int64_t material(std::uint32_t coalition, Group group, const std::string& key) {
    const auto [at, unknown] = known.try_emplace({group, key, coalition}, 0);
    if (!unknown) return at->second;
    Parts parts = joined(coalition, group, key);
    const std::string content = sorted_content(parts, key);
    const auto [same, fresh] = known_parts.try_emplace(content, 0);
    if (fresh) same->second = planned(parts);
    return at->second = same->second;
  }
  std::int64_t planned(const Parts& parts) {
    shop::ScheduleOptions options;
    options.setup_rounds = 0;
    options.layout_nodes = 1'000'000;  // there may be hundreds of coalitions
    options.cost_only = true;
    const auto schedule = shop::make_schedule(parts, shop, options);
    if (schedule) return bought(*schedule).minor_units();
    if (found.empty()) found.add_all(schedule.mistakes());
    return 0;
  }
  /// Every station's set-up once, every stop once, everything done.
  double minutes(std::uint32_t coalition) const {
    std::set<shop::Station> stations;
    std::set<std::pair<std::string, Length>> stops;
    double sum = 0;
    const auto time = [](const std::map<std::string, double>& table, const std::string& key) {
      const auto at = table.find(key);
      return at == table.end() ? 0.0 : at->second;
    };
    for (std::size_t i = 0; i < taken.size(); ++i) {
      if (!(coalition >> i & 1)) continue;
      for (const auto& one : taken[i].parts.operations) {
        stations.insert(one.station);
        sum += one.count * time(shop.times.each_min, one.feature);
      }
      for (const auto& one : taken[i].parts.sticks) stops.insert({one.section, one.length});
    }
    for (const shop::Station one : stations)
      sum += time(shop.times.set_up_min, shop::station_names[static_cast<std::size_t>(one)]);
    return sum + double(stops.size()) * time(shop.times.each_min, "stop_setting");
  }
  std::int64_t labour(std::uint32_t coalition) const {
    const double unit = std::pow(10.0, shop.currency.digits);
    return std::llround(minutes(coalition) / 60 * shop.terms.labour_per_hour.value() * unit);
  }
};

struct Keyed {
  Group group;
  std::string key, name;
};

std::vector<Keyed> keys_of(const shop::Shop& shop) {
  std::vector<Keyed> out;
  for (const auto& [key, one] : shop.timber) out.push_back({Group::timber, key, one.name});
  for (const auto& [key, one] : shop.cloths) out.push_back({Group::cloth, key, one.name});
  for (const auto& [key, one] : shop.boards) out.push_back({Group::boards, key, one.name});
  for (const auto& [key, one] : shop.sheets) out.push_back({Group::sheets, key, one.name});
  for (const auto& [key, one] : shop.hardware) out.push_back({Group::hardware, key, one.name});
  return out;
}

bool takes_any(const Parts& parts) {
  return !parts.sticks.empty() || !parts.cloths.empty() || !parts.boards.empty() ||
         !parts.sheets.empty() || !parts.hardware.empty();
}

std::vector<shop::SharedCost> costs_of(Game& game) {
  std::vector<shop::SharedCost> out;
  for (const Keyed& one : keys_of(game.shop)) {
    shop::SharedCost cost;
    cost.name = one.name;
    for (std::size_t i = 0; i < game.taken.size(); ++i)
      if (takes_any(parts_of_key(game.taken[i].parts, one.group, one.key))) cost.players |= 1u << i;
    if (cost.players == 0) continue;
    cost.cost = [&game, one](std::uint32_t coalition) {
      return game.material(coalition, one.group, one.key);
    };
    out.push_back(cost);
  }
  shop::SharedCost labour;
  labour.name = "labour in the shop";
  labour.players = (1u << game.taken.size()) - 1;
  labour.cost = [&game](std::uint32_t coalition) { return game.labour(coalition); };
  out.push_back(labour);
  return out;
}

// ---- the sheet --------------------------------------------------------------------------------

Diagnostics faults_of(const std::vector<const Job*>& jobs) {
  Diagnostics found;
  if (jobs.size() < 2) found.add("jobs", "must be two or more", {}, "name another job file");
  if (jobs.size() > std::size_t(shop::most_players))
    found.add("jobs", "are more than 24", double(jobs.size()), "make two runs of them");
  for (const Job* job : jobs)
    if (job->shop.name != jobs[0]->shop.name ||
        job->shop.currency.code != jobs[0]->shop.currency.code)
      found.add(job->title, "has another shop than " + jobs[0]->title, {},
                "jobs that are cut together name the same shop file");
  return found;
}

/// The heads of the papers: the first job's region and shop, all pieces, the latest date and
/// start, the earliest promise.
Job joint_job(const std::vector<const Job*>& jobs) {
  Job joint = *jobs[0];
  joint.pieces.clear();
  joint.reference.clear();
  joint.revision = "A";
  joint.client = {};
  joint.title = std::to_string(jobs.size()) + " jobs in one run";
  for (std::size_t i = 0; i < jobs.size(); ++i) {
    for (Piece piece : jobs[i]->pieces) {
      piece.label = mark_of(i) + "-" + piece.label;
      piece.product = mark_of(i) + "-" + piece.product;
      joint.pieces.push_back(piece);
    }
    joint.date = std::max(joint.date, jobs[i]->date);
    joint.start = std::max(joint.start, jobs[i]->start);
    if (!jobs[i]->due.empty())
      joint.due = joint.due.empty() ? jobs[i]->due : std::min(joint.due, jobs[i]->due);
  }
  return joint;
}

/// A job's own run, as if it were alone in the shop.
Result<double> alone_minutes(const Job& job, const Taken& taken) {
  shop::ScheduleOptions options;
  options.setup_rounds = 0;
  Parts timed;  // what the run asks of a schedule: stops and stations
  timed.sticks = taken.parts.sticks;
  timed.operations = taken.parts.operations;
  auto schedule = shop::make_schedule(timed, job.shop, options);
  if (!schedule) return schedule.mistakes();
  shop::RunRequest request;
  request.parts = &taken.parts;
  request.shop = &job.shop;
  request.schedule = &*schedule;
  request.pieces = taken.pieces;
  request.people = job.shop.line.people;
  request.max_nodes = 6'000;
  const auto plan = shop::plan_run(request);
  if (!plan) return plan.mistakes();
  return plan->finish_min;
}

/// What each takes of material alone, as weights for what the rack saves.
std::vector<std::int64_t> material_alone(Game& game, std::size_t jobs) {
  std::vector<std::int64_t> out(jobs, 0);
  for (std::size_t i = 0; i < jobs; ++i)
    for (const Keyed& one : keys_of(game.shop))
      if (takes_any(parts_of_key(game.taken[i].parts, one.group, one.key)))
        out[i] += game.material(1u << i, one.group, one.key);
  return out;
}

void fill_shares(const shop::Sharing& sharing, Game& game, TogetherSheet& sheet) {
  sheet.together = Money::minor(sharing.together);
  sheet.apart = Money::minor(sharing.apart);
  sheet.exact = sharing.exact;
  sheet.mended = sharing.mended;
  sheet.standard_error = sharing.standard_error;
  sheet.method = sharing.method;
  Money material;
  for (std::size_t i = 0; i < sharing.parts.size(); ++i) {
    const shop::SharedPart& part = sharing.parts[i];
    sheet.parts.push_back({part.name, Money::minor(part.apart), Money::minor(part.together)});
    if (i + 1 < sharing.parts.size()) material += Money::minor(part.together);
  }
  const Money rack = std::max(Money(), material - bought(sheet.build.schedule));
  const auto weights = material_alone(game, sheet.jobs.size());
  const std::vector<Money> saved = allocate(rack, weights);
  for (std::size_t i = 0; i < sheet.jobs.size(); ++i) {
    TogetherJob& job = sheet.jobs[i];
    job.alone = Money::minor(sharing.alone[i]);
    job.share = Money::minor(sharing.shares[i]);
    job.from_rack = saved[i];
    job.pays = job.share - job.from_rack;
  }
}

void say_together(TogetherSheet& sheet) {
  const Currency& currency = sheet.job.shop.currency;
  const Money saved = sheet.apart - sheet.together;
  sheet.statements.push_back({0, "together",
                              "Cut together, material and labour come to " +
                                  print_money(sheet.together, currency) + ", " +
                                  print_money(saved, currency) + " less than apart.",
                              "", ""});
  const double sooner = sheet.apart_min - sheet.build.run.plan.finish_min;
  sheet.statements.push_back(
      {0, "together",
       "The run takes " + hours_text(sheet.build.run.plan.finish_min) +
           (sooner >= 0.5 ? ", " + hours_text(sooner) + " less than one job after another."
                          : ", no less than one job after another."),
       "", ""});
  sheet.statements.push_back(
      {0, "together",
       std::string("Each pays what its coming adds, on average over all orders of coming") +
           (sheet.exact
                ? "; nobody pays more than alone."
                : ", drawn by lot: right within " +
                      print_money(Money::minor(std::llround(2 * sheet.standard_error)), currency) +
                      " in 95 of 100."),
       "", ""});
  if (sheet.mended > 0)
    sheet.statements.push_back(
        {0, "together",
         std::to_string(sheet.mended) + (sheet.mended == 1 ? " group of jobs" : " groups of jobs") +
             " came out dearer in one plan than in two; there the two plans are counted.",
         "", ""});
}

}  // namespace

Result<TogetherSheet> together(const std::vector<const Job*>& jobs, const Watch& watch) {
  if (Diagnostics found = faults_of(jobs); !found.empty()) return found;
  TogetherSheet sheet;
  sheet.job = joint_job(jobs);
  std::vector<Taken> taken;
  std::vector<shop::RunPiece> pieces;
  for (std::size_t i = 0; i < jobs.size(); ++i) {
    const auto treatment = placed(*jobs[i]);
    if (!treatment) return treatment.mistakes();
    taken.push_back(taken_of(*jobs[i], *treatment, mark_of(i)));
    sheet.build.parts.append(taken[i].parts);
    pieces.insert(pieces.end(), taken[i].pieces.begin(), taken[i].pieces.end());
    const auto alone = alone_minutes(*jobs[i], taken[i]);
    if (!alone) return alone.mistakes();
    sheet.jobs.push_back({mark_of(i),
                          jobs[i]->title,
                          jobs[i]->reference,
                          jobs[i]->pieces.size(),
                          {},
                          {},
                          {},
                          {},
                          *alone});
    sheet.apart_min += *alone;
  }
  auto schedule = shop::make_schedule(sheet.build.parts, sheet.job.shop, watch.part(0, 0.3));
  if (!schedule) return schedule.mistakes();
  sheet.build.schedule = std::move(*schedule);
  if (const auto timed = plan_time(sheet.job, pieces, sheet.build, watch); !timed)
    return timed.mistakes();
  Game game{taken, without_rack(sheet.job.shop), {}, {}, {}};
  const auto sharing =
      shop::share_costs(static_cast<int>(jobs.size()), costs_of(game), watch.part(0.4, 0.9));
  if (!sharing) return sharing.mistakes();
  if (!game.found.empty()) return game.found;
  fill_shares(*sharing, game, sheet);
  if (!game.found.empty()) return game.found;
  say_together(sheet);
  sheet.statements.insert(sheet.statements.end(), sheet.build.statements.begin(),
                          sheet.build.statements.end());
  return sheet;
}

}  // namespace roomwright::job
