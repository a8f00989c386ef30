// How the shop's time standards have moved: the journal `time` against the plans of the jobs, and
// the standards that move written into the price book. A step of the bench says what was cut or put
// together; the job's plan says how often each feature of the shop's times came up in it. What
// cannot be told apart so is passed over, and said.
#include <algorithm>
#include <cmath>
#include <optional>

#include "app/service/parts.h"
#include "design/products/products.h"
#include "job/document/document.h"
#include "shop/learning/learning.h"
#include "shop/parts/parts.h"

namespace roomwright::app {

namespace {

using FeatureCounts = std::vector<std::pair<std::string, double>>;

/// What one step of a job's plan takes: at which station, and how often each feature.
struct StepWork {
  std::string station;
  FeatureCounts work;
};

struct JobPlan {
  std::string shop;  ///< id of its price book
  std::map<std::string, StepWork> steps;
  std::map<std::string, std::string> station_of;  ///< by feature
  std::string fault;                              ///< why there is no plan
  bool stops_apart = false;                       ///< the settings of its stops are noted apart
};

std::string station_name(shop::Station station) {
  return shop::station_names[std::size_t(station)];
}

double count_of(const Json& build, const std::string& station, const std::string& feature) {
  for (const Json& row : build["stations"])
    if (row["station"] == station)
      for (const Json& line : row["lines"])
        if (line["feature"] == feature) return line["count"].get<double>();
  return 0;
}

/// One pattern of sticks: its cuts, and its share of the stops that are set in the whole plan.
void add_saw_steps(const Json& build, JobPlan& plan) {
  const double stops = count_of(build, "saw", "stop_setting");
  double all = 0;
  for (const Json& sticks : build["sticks"])
    for (const Json& pattern : sticks["patterns"])
      all += double(pattern["marks"].size()) * pattern["sticks"].get<double>();
  for (const Json& sticks : build["sticks"])
    for (const Json& pattern : sticks["patterns"]) {
      std::string lengths;
      for (const Json& mark : pattern["marks"])
        lengths += (lengths.empty() ? "" : "+") + shortest(mark["length_m"].get<double>());
      const double cuts = double(pattern["marks"].size()) * pattern["sticks"].get<double>();
      StepWork work{"saw", {{"cut", cuts}}};
      if (stops > 0 && all > 0) work.work.emplace_back("stop_setting", stops * cuts / all);
      plan.steps["saw." + sticks["section"].get<std::string>() + "." +
                 shortest(pattern["stock_length_m"].get<double>()) + "." + lengths] = work;
    }
}

void add_cloth_and_sheet_steps(const Json& build, JobPlan& plan) {
  for (const Json& cloth : build["cloths"])
    for (const Json& piece : cloth["pieces"])
      plan.steps["cloth." + cloth["cloth"].get<std::string>() + "." +
                 piece["piece"].get<std::string>() + "." + piece["name"].get<std::string>()] = {
          "face_cloth", {{"cloth_cut", 1}}};
  for (const Json& sheets : build["sheets"])
    for (const Json& sheet : sheets["sheets"]) {
      std::string sizes;
      for (const Json& one : sheet["pieces"])
        sizes += (sizes.empty() ? "" : "+") + shortest(one["width_m"].get<double>()) + "x" +
                 shortest(one["height_m"].get<double>());
      const bool wool = sheets["wool"].get<bool>();
      const double count = double(sheet["pieces"].size()) * sheet["repeat"].get<double>();
      plan.steps["sheet." + sheets["key"].get<std::string>() + "." + sizes] = {
          wool ? "boards" : "saw", {{wool ? "board_cut" : "plate", count}}};
    }
}

/// A piece put together and covered: all of its features but those of cutting.
void add_frame_step(const std::string& label, const design::Product& product, JobPlan& plan) {
  StepWork work{"drill_screw", {}};
  for (const shop::Operation& one : product.parts.operations) {
    plan.station_of[one.feature] = station_name(one.station);
    const bool cutting = one.station == shop::Station::saw || one.feature == "cloth_cut" ||
                         one.feature == "board_cut";
    if (!cutting && one.count > 0) work.work.emplace_back(one.feature, one.count);
  }
  if (!work.work.empty()) plan.steps["frame." + label] = std::move(work);
}

void add_frame_steps(const job::Job& job, JobPlan& plan) {
  const auto placed = job::placed(job);
  if (!placed) return;
  const auto product_of = [&](const std::string& key) -> const design::Product* {
    for (std::size_t i = 0; i < job.products.size() && i < placed->products.size(); ++i)
      if (job.products[i].key == key) return &placed->products[i];
    return nullptr;
  };
  for (const job::Piece& piece : job.pieces)
    if (const auto* product = product_of(piece.product))
      add_frame_step(piece.label, *product, plan);
  if (!job.order) return;
  for (const job::OrderItem& item : job.order->items)
    if (const auto* product = product_of(item.product))
      for (int k = 1; k <= item.count; ++k)
        add_frame_step(item.label + std::to_string(k), *product, plan);
}

JobPlan plan_of(Desk& desk, const Asked& asked, const std::string& id) {
  JobPlan plan;
  const auto texts = job_texts(desk.store, id, 0);
  const auto job = texts ? read_texts(*texts) : Result<job::Job>(texts.mistakes());
  const auto shop =
      texts ? job::shop_file_of(texts->sources.job_text) : Result<std::string>(texts.mistakes());
  if (!job || !shop) {
    plan.fault = "the job has mistakes, or is gone";
    return plan;
  }
  plan.shop = *shop;
  const auto worked = desk.stages.ask(*texts, Work::parts, asked.gone);
  const auto build = worked->texts.find("build");
  if (worked->end != Worked::End::done || build == worked->texts.end()) {
    plan.fault = "the job cannot be built";
    return plan;
  }
  const Json tree = Json::parse(build->second, nullptr, false);
  add_saw_steps(tree, plan);
  add_cloth_and_sheet_steps(tree, plan);
  add_frame_steps(*job, plan);
  return plan;
}

/// The logs of each price book, and what was passed over.
struct Gathered {
  std::map<std::string, std::vector<shop::TimeLog>> logs;
  std::map<std::string, std::map<std::string, int>> passed_over;  ///< by book (empty: none), reason
  std::map<std::string, std::string> station_of;                  ///< by feature
};

constexpr double most_count = 10'000;

/// A station made ready, `set_up.saw`, or one feature by itself, `feature.stop_setting`, with the
/// `count` of the entry (1 where it has none): noted apart from the steps of the plan, so that
/// set-up and single pieces can be told from each other.
std::optional<StepWork> apart_work(const std::string& step, const Json& body, const Gathered& out) {
  const auto dot = step.find('.');
  const std::string kind = step.substr(0, dot), word = dot == step.npos ? "" : step.substr(dot + 1);
  const auto given = body.find("count");
  const double count = given == body.end() ? 1 : given->is_number() ? given->get<double>() : 0;
  if (!(count > 0 && count <= most_count)) return std::nullopt;
  const auto& names = shop::station_names;
  if (kind == "set_up" && std::find(names.begin(), names.end(), word) != names.end())
    return StepWork{word, {{"set_up", count}}};
  const auto at = out.station_of.find(word);
  if (kind == "feature" && at != out.station_of.end()) return StepWork{at->second, {{word, count}}};
  return std::nullopt;
}

/// What an entry's step took: of the plan, or noted apart. Where a job's stops are noted apart, its
/// saw steps are cuts alone.
std::optional<StepWork> step_work(const std::string& step, const Json& body, const JobPlan& plan,
                                  const Gathered& out) {
  if (auto apart = apart_work(step, body, out)) return apart;
  const auto found = plan.steps.find(step);
  if (found == plan.steps.end()) return std::nullopt;
  StepWork work = found->second;
  if (plan.stops_apart && work.work.size() > 1)
    std::erase_if(work.work, [](const auto& one) { return one.first == "stop_setting"; });
  return work;
}

void gather_entry(const Entry& entry, const JobPlan& plan, Gathered& out) {
  const Json body = Json::parse(entry.body, nullptr, false);
  const auto pass = [&](const char* reason) { ++out.passed_over[plan.shop][reason]; };
  if (!body.is_object()) return pass("not written by the page");
  if (body.value("rework", Json()) == true) return pass("rework, which is counted apart");
  if (!plan.fault.empty()) return pass(plan.fault.c_str());
  const auto step = body.find("step"), minutes = body.find("minutes");
  if (step == body.end() || !step->is_string() || minutes == body.end() || !minutes->is_number())
    return pass("not written by the page");
  if (!(minutes->get<double>() > 0)) return pass("no time was taken");
  const auto found = step_work(step->get<std::string>(), body, plan, out);
  if (!found) return pass("a step that the plan of today does not have, or one on site");
  const auto started = body.find("started");
  const std::string when =
      started != body.end() && started->is_string() ? started->get<std::string>() : entry.when;
  out.logs[plan.shop].push_back(
      {when.substr(0, 10), entry.who, found->station, found->work, minutes->get<double>(), 0});
}

Result<Gathered> gather_times(Desk& desk, const Asked& asked) {
  EntryFilter filter;
  filter.most = 10'000'000;
  const auto entries = desk.store.entries("time", filter);
  if (!entries) return entries.mistakes();
  std::map<std::string, JobPlan> plans;
  Gathered out;
  out.station_of = {{"cut", "saw"},
                    {"stop_setting", "saw"},
                    {"plate", "saw"},
                    {"cloth_cut", "face_cloth"},
                    {"board_cut", "boards"}};
  for (const Entry& entry : *entries) {
    if (asked.gone || desk.closing) return Complaint{"", "was not waited for", {}, "ask again", 0};
    if (entry.document.empty()) {
      ++out.passed_over[""]["of no job, or of one that was erased"];
      continue;
    }
    if (!plans.contains(entry.document)) {
      plans[entry.document] = plan_of(desk, asked, entry.document);
      for (const auto& [feature, station] : plans[entry.document].station_of)
        out.station_of[feature] = station;
    }
    const Json body = Json::parse(entry.body, nullptr, false);
    if (body.is_object() && body.value("step", Json()) == "feature.stop_setting")
      plans[entry.document].stops_apart = true;
  }
  for (const Entry& entry : *entries)
    if (!entry.document.empty()) gather_entry(entry, plans[entry.document], out);
  return out;
}

Json row_json(const shop::TimeEstimate& one, const std::map<std::string, std::string>& station_of) {
  const auto dot = one.key.find('.');
  const bool set_up = one.key.substr(0, dot) == "set_up";
  const std::string word = one.key.substr(dot + 1);
  const auto at = station_of.find(word);
  const auto four = [](double value) { return std::round(value * 1e4) / 1e4; };
  return {{"key", one.key},
          {"station", set_up                   ? word
                      : at == station_of.end() ? std::string()
                                               : at->second},
          {"feature", set_up ? "set_up" : word},
          {"standard_min", one.standard_min},
          {"estimate_min", four(one.estimate_min)},
          {"low_min", four(one.low_min)},
          {"high_min", four(one.high_min)},
          {"logs", one.logs},
          {"days", one.days},
          {"moves", one.moves},
          {"proposal_min", four(one.proposal_min)},
          {"sentence", one.sentence}};
}

Json passed_json(const Gathered& gathered, const std::string& shop) {
  std::map<std::string, int> all;
  for (const std::string& key : {shop, std::string()})
    if (const auto found = gathered.passed_over.find(key); found != gathered.passed_over.end())
      for (const auto& [reason, count] : found->second) all[reason] += count;
  Json out = Json::array();
  for (const auto& [reason, count] : all) out.push_back({{"entries", count}, {"reason", reason}});
  return out;
}

}  // namespace

PageAnswer answer_times(Desk& desk, const Asked& asked) {
  const auto books = shop_books(desk.store);
  if (!books) return refused(500, books.mistakes());
  const auto gathered = gather_times(desk, asked);
  if (!gathered) return refused(499, gathered.mistakes());
  Json out = Json::array();
  for (const ShopBook& book : *books) {
    const auto found = gathered->logs.find(book.id);
    const auto logs = found == gathered->logs.end() ? std::vector<shop::TimeLog>() : found->second;
    const auto estimates = shop::learn_times(book.shop.times, logs);
    if (!estimates) return refused(500, estimates.mistakes());
    Json rows = Json::array();
    for (const auto& one : *estimates) rows.push_back(row_json(one, gathered->station_of));
    out.push_back({{"shop", book.id},
                   {"version", book.version},
                   {"logs", logs.size()},
                   {"rows", rows},
                   {"passed_over", passed_json(*gathered, book.id)}});
  }
  return json_answer(out);
}

PageAnswer answer_write_times(Desk& desk, const Asked& asked) {
  Body body(asked);
  std::string shop, token;
  int base = 0;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    shop = in.text("shop", "the id of a price book", 80);
    base = int(in.whole("base", 1, 1'000'000'000));
    token = read_token(in);
    in.finish();
  }
  if (!body.found.empty()) return refused(400, body.found);
  const auto books = shop_books(desk.store);
  if (!books) return refused(500, books.mistakes());
  const auto book = std::find_if(books->begin(), books->end(),
                                 [&](const ShopBook& one) { return one.id == shop; });
  if (book == books->end()) return refused(404, shop, "is no price book that can be read", "");
  const auto gathered = gather_times(desk, asked);
  if (!gathered) return refused(499, gathered.mistakes());
  const auto logs = gathered->logs.find(shop);
  const auto estimates = shop::learn_times(
      book->shop.times, logs == gathered->logs.end() ? std::vector<shop::TimeLog>() : logs->second);
  if (!estimates) return refused(500, estimates.mistakes());
  const auto text = with_times(book->text, *estimates);
  if (!text) return refused(422, text.mistakes());
  const Stamp stamp = desk.stamp(asked, token);
  // Sent again, the standards stand already: the store knows the token and answers as before.
  const auto saved = desk.store.replace(shop, base, *text, stamp, "times as the bench takes them");
  if (!saved) return refused(422, saved.mistakes());
  if (saved->sequence == 0 && saved->conflicts.empty())
    return refused(422, shop, "has no standard that moves", "note more days first");
  return saved_answer(*saved);
}

}  // namespace roomwright::app
