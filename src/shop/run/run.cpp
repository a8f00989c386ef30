// Parts to lots, lots to the line, and the plan back into the bench's words; see run.h.
#include "shop/run/run.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

namespace roomwright::shop {

namespace {

constexpr double ticks_a_minute = 60;
/// Stations of the line behind those of the shop.
constexpr int cloth_table = station_count, board_table = station_count + 1;

std::int64_t ticks(double minutes) {
  return std::llround(minutes * ticks_a_minute);
}

std::size_t index_of(Station station) {
  return static_cast<std::size_t>(station);
}

/// Pieces of one product, with what one of them takes at each station.
struct Product {
  std::string key;
  std::vector<std::string> pieces;
  std::array<double, station_count> each_min{};
  double cloth_min = 0, board_min = 0;  ///< of all, cut to size ahead
  double sheet_min = 0;                 ///< of all, at the saw, besides sticks
  std::set<std::pair<std::string, Length>> lengths;
  std::int64_t router_set = 0;
  bool two_people = false;
  int saw_step = -1;  ///< of the saw's lot: then its parts are cut
};

struct Work {
  std::vector<Product> products;
  std::map<std::string, std::size_t> product_of;  ///< by piece
};

double minutes_of(const RunRequest& in, const std::string& feature) {
  const auto at = in.shop->times.each_min.find(feature);
  return at == in.shop->times.each_min.end() ? 0 : at->second;
}

void count_operations(const RunRequest& in, Work& work) {
  for (const Operation& operation : in.parts->operations) {
    const auto at = work.product_of.find(operation.piece);
    if (at == work.product_of.end()) continue;
    Product& product = work.products[at->second];
    const double minutes = operation.count * minutes_of(in, operation.feature);
    if (operation.feature == "cloth_cut")
      product.cloth_min += minutes;
    else if (operation.feature == "board_cut")
      product.board_min += minutes;
    else if (operation.station == Station::saw)
      product.sheet_min += operation.feature == "cut" ? 0 : minutes;
    else
      product.each_min[index_of(operation.station)] += minutes;
  }
  for (Product& product : work.products)
    for (double& minutes : product.each_min) minutes /= double(product.pieces.size());
}

Work work_of(const RunRequest& in) {
  Work work;
  for (const RunPiece& piece : in.pieces) {
    std::size_t p = 0;
    while (p < work.products.size() && (work.products[p].key != piece.product ||
                                        work.products[p].two_people != piece.two_people))
      ++p;
    if (p == work.products.size()) {
      work.products.emplace_back();
      work.products[p].key = piece.product;
      work.products[p].router_set = piece.router_set;
      work.products[p].two_people = piece.two_people;
    }
    work.products[p].pieces.push_back(piece.label);
    work.product_of[piece.label] = p;
  }
  count_operations(in, work);
  for (const StickPart& stick : in.parts->sticks)
    if (const auto at = work.product_of.find(stick.piece); at != work.product_of.end())
      work.products[at->second].lengths.insert({stick.section, stick.length});
  return work;
}

double set_up_min(const RunRequest& in, std::size_t station) {
  for (const StationRow& row : in.schedule->stations)
    if (index_of(row.station) == station) return row.set_up_min;
  return 0;
}

LineStep step_at(const RunRequest& in, int station, double minutes) {
  LineStep step;
  step.station = station;
  step.work = ticks(minutes);
  if (station < station_count) {
    step.set_up = ticks(set_up_min(in, std::size_t(station)));
    const auto wait = in.shop->line.wait_min.find(station_names[std::size_t(station)]);
    if (wait != in.shop->line.wait_min.end()) step.wait = ticks(wait->second);
  }
  return step;
}

/// What each step of a lot is, beside the line's own numbers.
struct LotNote {
  Station station = Station::saw;
  bool ahead = false;
  std::vector<std::string> pieces;
  std::string what;
};
struct Made {
  LineOrder order;
  std::vector<std::vector<LotNote>> notes;  ///< by lot and step
  bool two_wanted = false;
};

struct Stop {
  std::string section;
  Length length;
  int count = 0;
};

std::vector<Stop> stops_of(const Schedule& schedule) {
  std::vector<Stop> stops;
  for (const StickPlan& plan : schedule.sticks)
    for (const StopSetting& stop : plan.stops)
      stops.push_back({plan.section, stop.stop, stop.count});
  return stops;
}

/// Minutes for cutting sticks, without set-up and settings.
double cut_minutes(const RunRequest& in) {
  double minutes = 0;
  for (const Operation& operation : in.parts->operations)
    if (operation.station == Station::saw && operation.feature == "cut")
      minutes += operation.count * minutes_of(in, "cut");
  return minutes;
}

/// The saw's lot: one step for as many lengths as it takes until some product has all of its own;
/// then what is sawn of sheets, product by product.
void add_saw(const RunRequest& in, Work& work, Made& made) {
  const std::vector<Stop> stops = stops_of(*in.schedule);
  int parts = 0;
  for (const Stop& stop : stops) parts += stop.count;
  const double each = parts > 0 ? cut_minutes(in) / parts : 0;
  LineLot lot;
  lot.name = "saw";
  std::vector<LotNote> notes;
  double minutes = 0;
  int lengths = 0;
  std::vector<std::string> ready;
  const auto close = [&](const std::string& what) {
    if (minutes <= 0) return;
    lot.steps.push_back(step_at(in, int(Station::saw), minutes));
    notes.push_back({Station::saw, false, ready, what});
    minutes = 0;
    lengths = 0;
  };
  const auto length_text = [&] {
    return std::to_string(lengths) + (lengths == 1 ? " length" : " lengths") + ", then " +
           label_list(ready);
  };
  std::set<std::pair<std::string, Length>> done;
  for (const Stop& stop : stops) {
    minutes += minutes_of(in, "stop_setting") + stop.count * each;
    ++lengths;
    done.insert({stop.section, stop.length});
    ready.clear();
    for (Product& product : work.products) {
      const bool whole =
          std::includes(done.begin(), done.end(), product.lengths.begin(), product.lengths.end());
      if (!whole || product.lengths.empty() || product.saw_step >= 0) continue;
      product.saw_step = int(lot.steps.size());
      ready.insert(ready.end(), product.pieces.begin(), product.pieces.end());
    }
    if (!ready.empty()) close(length_text());
  }
  close("sticks");
  for (Product& product : work.products) {
    if (product.sheet_min <= 0) continue;
    minutes = product.sheet_min;
    ready = product.pieces;
    product.saw_step = int(lot.steps.size());
    close("sheets for " + label_list(ready));
  }
  made.order.lots.push_back(lot);
  made.notes.push_back(notes);
}

/// A lot of one step at a table ahead of the frames; -1 where there is nothing to cut.
int add_ahead(const RunRequest& in, const Product& product, int table, double minutes,
              Station station, Made& made) {
  if (minutes <= 0) return -1;
  LineLot lot;
  lot.name = (table == cloth_table ? "cloth for " : "boards for ") + product.key;
  lot.steps.push_back(step_at(in, table, minutes));
  made.order.lots.push_back(lot);
  made.notes.push_back({{station, true, product.pieces, label_list(product.pieces)}});
  return int(made.order.lots.size()) - 1;
}

struct Ahead {
  int cloth = -1, boards = -1;
};

void add_lot(const RunRequest& in, const Product& product, std::size_t from, std::size_t count,
             int router_family, const Ahead& ahead, Made& made) {
  LineLot lot;
  const std::vector<std::string> pieces(product.pieces.begin() + std::ptrdiff_t(from),
                                        product.pieces.begin() + std::ptrdiff_t(from + count));
  lot.name = label_list(pieces);
  std::vector<LotNote> notes;
  bool cloth_asked = false;
  for (int s = 1; s < station_count; ++s) {
    const double minutes = product.each_min[std::size_t(s)] * double(count);
    if (minutes <= 0) continue;
    const auto station = static_cast<Station>(s);
    LineStep step = step_at(in, s, minutes);
    step.first = step.last = (step.work + std::int64_t(count) - 1) / std::int64_t(count);
    if (station == Station::rout) step.family = router_family;
    if (product.two_people && (station == Station::finish || station == Station::pack)) {
      made.two_wanted = made.two_wanted || in.people < 2;
      step.people = std::min(2, in.people);
    }
    if (lot.steps.empty() && product.saw_step >= 0) step.needs.push_back({0, product.saw_step});
    const bool takes_cloth = station == Station::back_cloth || station == Station::face_cloth;
    if (takes_cloth && !cloth_asked && ahead.cloth >= 0) {
      step.needs.push_back({ahead.cloth, 0});
      cloth_asked = true;
    }
    if (station == Station::boards && ahead.boards >= 0) step.needs.push_back({ahead.boards, 0});
    lot.steps.push_back(step);
    notes.push_back({station, false, pieces, lot.name});
  }
  if (lot.steps.empty()) return;
  made.order.lots.push_back(lot);
  made.notes.push_back(notes);
}

Made make_order(const RunRequest& in, Work work, std::size_t most_in_lot) {
  Made made;
  made.order.people = in.people;
  for (int s = 0; s < station_count; ++s) {
    const auto at = in.shop->line.machines.find(station_names[std::size_t(s)]);
    made.order.stations.push_back(
        {station_names[std::size_t(s)], at == in.shop->line.machines.end() ? 1 : at->second});
  }
  made.order.stations.push_back({"cloth table", 1});
  made.order.stations.push_back({"board table", 1});
  add_saw(in, work, made);
  std::map<std::int64_t, int> families;
  for (const Product& product : work.products)
    if (product.each_min[index_of(Station::rout)] > 0)
      families.emplace(product.router_set, int(families.size()));
  for (const Product& product : work.products) {
    const Ahead ahead{
        add_ahead(in, product, cloth_table, product.cloth_min, Station::face_cloth, made),
        add_ahead(in, product, board_table, product.board_min, Station::boards, made)};
    const auto family = families.find(product.router_set);
    const std::size_t pieces = product.pieces.size();
    const std::size_t lots = (pieces + most_in_lot - 1) / most_in_lot;
    for (std::size_t l = 0, from = 0; l < lots; ++l) {
      const std::size_t count = pieces / lots + (l < pieces % lots ? 1 : 0);
      add_lot(in, product, from, count, family == families.end() ? 0 : family->second, ahead, made);
      from += count;
    }
  }
  return made;
}

std::string title_of(const LotNote& note) {
  if (note.ahead) return note.station == Station::boards ? "Cut boards to size" : "Cut the cloth";
  return station_title(note.station);
}

RunPlan plan_in_words(const RunRequest& in, const Made& made, const LinePlan& line,
                      std::size_t most_in_lot) {
  RunPlan plan;
  plan.people = in.people;
  plan.busy_min.assign(std::size_t(in.people), 0);
  for (const LineTask& task : line.tasks) {
    const LotNote& note = made.notes[std::size_t(task.lot)][std::size_t(task.step)];
    RunTask out;
    out.station = note.station;
    out.station_title = title_of(note);
    out.ahead = note.ahead;
    out.what = note.what;
    out.pieces = note.pieces;
    out.people = task.people;
    out.begin_min = double(task.begin) / ticks_a_minute;
    out.start_min = double(task.start) / ticks_a_minute;
    out.end_min = double(task.end) / ticks_a_minute;
    for (const int who : task.people)
      plan.busy_min[std::size_t(who)] += out.end_min - out.begin_min;
    plan.work_min += (out.end_min - out.begin_min) * double(task.people.size());
    if (note.station == Station::rout && task.start > task.begin) ++plan.router_set_ups;
    plan.tasks.push_back(std::move(out));
  }
  plan.finish_min = double(line.finish) / ticks_a_minute;
  plan.bound_min = double(line.bound) / ticks_a_minute;
  plan.least_min = double(line.work_bound) / ticks_a_minute;
  plan.proven = line.proven;
  plan.lots = int(made.order.lots.size());
  plan.most_in_lot = int(most_in_lot);
  plan.two_wanted = made.two_wanted;
  plan.method = line.method;
  plan.nodes = line.nodes;
  return plan;
}

}  // namespace

std::string label_list(const std::vector<std::string>& labels) {
  std::string out;
  const auto number_of = [](const std::string& label) {
    const auto digit = label.find_last_not_of("0123456789");
    const std::size_t from = digit == std::string::npos ? 0 : digit + 1;
    const bool numbered = from < label.size() && label.size() - from < 7 && label[from] != '0';
    return std::pair(label.substr(0, from), numbered ? std::stoi(label.substr(from)) : -1);
  };
  for (std::size_t i = 0; i < labels.size();) {
    std::size_t j = i + 1;
    const auto [stem, number] = number_of(labels[i]);
    while (j < labels.size() && number >= 0 &&
           number_of(labels[j]) == std::pair(stem, number + int(j - i)))
      ++j;
    out += (out.empty() ? "" : ", ") + labels[i];
    if (j - i == 2) out += ", " + labels[j - 1];
    if (j - i > 2) out += " to " + labels[j - 1];
    i = j;
  }
  return out;
}

Result<RunPlan> plan_run(const RunRequest& request) {
  const Work work = work_of(request);
  std::size_t most = 1;
  for (const Product& product : work.products) most = std::max(most, product.pieces.size());
  RunPlan best;
  bool any = false;
  std::int64_t nodes = 0;
  std::set<std::size_t> tried;
  for (const std::size_t size : {most, std::size_t{4}, std::size_t{2}, std::size_t{1}}) {
    const std::size_t in_lot = std::min(size, most);
    if (!tried.insert(in_lot).second) continue;
    const Made made = make_order(request, work, in_lot);
    std::size_t steps = 0;
    for (const LineLot& lot : made.order.lots) steps += lot.steps.size();
    if (any && steps > 800) break;
    LineOptions options;
    options.max_nodes =
        std::max<std::int64_t>(200, request.max_nodes / std::int64_t(1 + steps / 200));
    options.watch = request.watch;
    const auto line = solve_line(made.order, options);
    if (!line) return line.mistakes();
    nodes += line->nodes;
    const double finish = double(line->finish) / ticks_a_minute;
    if (any && finish >= best.finish_min) continue;
    best = plan_in_words(request, made, *line, in_lot);
    any = true;
    if (finish <= best.least_min) break;
  }
  best.nodes = nodes;
  return best;
}

}  // namespace roomwright::shop
