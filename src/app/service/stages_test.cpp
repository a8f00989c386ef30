// Stages, drafts and papers: the same as the command gives, worked out once, cancelled when they
// are out of date.
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>

#include "app/api/api.h"
#include "app/service/stage_desk.h"
#include "app/service/trial.h"

namespace roomwright::app {
namespace {

using namespace std::chrono_literals;

/// What the command would print, for a service without the sound field.
Json by_command(const std::string& job_text, const std::string& shop_text,
                const std::string& stage) {
  const auto job = job::read_job({job_text, shop_text});
  EXPECT_TRUE(job.ok());
  job::Run run;
  run.sound_field = false;
  const auto pack = job::run_all(*job, run);
  EXPECT_TRUE(pack.ok());
  return stage_json(*job, *pack, stage);
}

TEST_F(ServiceTest, each_stage_is_what_the_command_prints) {
  bring_in();
  for (const std::string& stage : stage_names()) {
    const PageAnswer out = ask("GET", "/api/jobs/room/stages/" + stage);
    ASSERT_EQ(out.status, 200) << out.body;
    EXPECT_EQ(tree(out)["result"], by_command(small_job(), example("shop_metric"), stage)) << stage;
    EXPECT_EQ(tree(out)["version"], 1);
    EXPECT_EQ(tree(out)["stage"], stage);
  }
  EXPECT_EQ(ask("GET", "/api/jobs/room/stages/nothing").status, 404);
  EXPECT_EQ(ask("GET", "/api/jobs/none/stages/build").status, 404);
  EXPECT_EQ(ask("GET", "/api/jobs/shop_metric.toml/stages/build").status, 404);
  EXPECT_EQ(ask("GET", "/api/jobs/room/stages/build?version=9").status, 404);
}

TEST_F(ServiceTest, an_order_has_its_build_and_price_and_no_room) {
  From from;
  from.kind = "application/toml";
  ASSERT_EQ(ask("POST", "/api/jobs/import?name=order.toml", example("panel_order"), from).status,
            201);
  EXPECT_EQ(ask("GET", "/api/jobs/order/stages/build").status, 200);
  EXPECT_EQ(ask("GET", "/api/jobs/order/stages/price").status, 200);
  for (const char* stage : {"survey", "findings", "hang"})
    EXPECT_EQ(ask("GET", std::string("/api/jobs/order/stages/") + stage).status, 422) << stage;
  EXPECT_GT(tree(ask("GET", "/api/jobs"))[0]["pieces"], 5);
}

void expect_no_cost(const Json& tree, const std::string& where) {
  for (const auto& [key, value] : tree.items()) {
    EXPECT_NE(key, "cost") << where;
    EXPECT_FALSE(key == "bound" && value.is_string()) << where;
    if (value.is_structured()) expect_no_cost(value, where + "/" + key);
  }
}

TEST_F(ServiceTest, what_is_paid_for_material_is_told_to_the_office_alone) {
  bring_in();
  const PageAnswer whole = ask("GET", "/api/jobs/room/stages/build");
  ASSERT_TRUE(tree(whole)["result"]["sticks"][0].contains("cost"));
  ASSERT_TRUE(tree(whole)["result"]["hardware"][0].contains("cost"));
  EXPECT_EQ(ask("GET", "/api/jobs/room/stages/build", "", {pair("office")}).body, whole.body);
  for (const std::string role : {"bench", "site"}) {
    const std::string secret = pair(role);
    for (const std::string& stage : stage_names()) {
      const PageAnswer out = ask("GET", "/api/jobs/room/stages/" + stage, "", {secret});
      EXPECT_EQ(out.status, stage == "price" ? 403 : 200) << role << stage;
      if (out.status == 200) expect_no_cost(tree(out), role + " " + stage);
    }
    Json build = tree(ask("GET", "/api/jobs/room/stages/build", "", {secret}))["result"];
    EXPECT_EQ(build["sheets"][0]["bound"], tree(whole)["result"]["sheets"][0]["bound"])
        << "a number of sheets is no money";
    EXPECT_EQ(build["run"], tree(whole)["result"]["run"]);
    for (const Json& paper : tree(ask("GET", "/api/jobs/room/papers", "", {secret})))
      for (const char* word : {"quote", "purchase", "costing"})
        EXPECT_EQ(paper["name"].get<std::string>().find(word), std::string::npos) << role;
    for (const char* name : {"01-quote.pdf", "08-purchase.pdf", "09-costing.pdf"})
      EXPECT_EQ(ask("GET", std::string("/api/jobs/room/papers/") + name, "", {secret}).status, 403)
          << role << name;
  }
}

TEST_F(ServiceTest, a_job_with_mistakes_tells_every_one_and_is_right_again_after_undo) {
  bring_in();
  const Json edits = Json::array({{{"at", "use"}, {"from", "mixing"}, {"to", "mixxing"}},
                                  {{"at", "pieces[0].product"}, {"from", "side"}, {"to", "no"}}});
  post("/api/documents/room/edits", {{"base", 1}, {"edits", edits}, {"token", word()}});
  for (const char* stage : {"survey", "build", "treatment"}) {
    const PageAnswer out = ask("GET", std::string("/api/jobs/room/stages/") + stage);
    EXPECT_EQ(out.status, 422);
    EXPECT_EQ(tree(out)["errors"].size(), 2u) << out.body;
  }
  EXPECT_EQ(ask("GET", "/api/jobs/room/stages/build?version=1").status, 200);
  post("/api/documents/room/undo", {{"base", 2}, {"token", word()}});
  EXPECT_EQ(ask("GET", "/api/jobs/room/stages/build").status, 200);
}

TEST_F(ServiceTest, a_new_price_changes_the_stage_of_the_same_version) {
  bring_in();
  const PageAnswer before = ask("GET", "/api/jobs/room/stages/price");
  const Json book = tree(ask("GET", "/api/documents/shop_metric.toml"));
  const double was = book["tree"]["terms"]["labour_per_hour"];
  const Json edits =
      Json::array({{{"at", "terms.labour_per_hour"}, {"from", was}, {"to", was + 10}}});
  ASSERT_EQ(post("/api/documents/shop_metric.toml/edits",
                 {{"base", 1}, {"edits", edits}, {"token", word()}})
                .status,
            200);
  EXPECT_NE(ask("GET", "/api/jobs/room/stages/price").body, before.body);
}

TEST_F(ServiceTest, papers_are_the_bytes_that_the_command_writes) {
  bring_in();
  const auto job = job::read_job({small_job(), example("shop_metric")});
  job::Run run;
  run.sound_field = false;
  const auto pack = job::run_all(*job, run);
  const auto files = pack_files(*job, *pack);
  ASSERT_TRUE(files.ok());
  const Json papers = tree(ask("GET", "/api/jobs/room/papers"));
  ASSERT_GT(papers.size(), 8u);
  std::size_t compared = 0;
  for (const Json& paper : papers) {
    const PageAnswer out = ask("GET", "/api/jobs/room/papers/" + paper["name"].get<std::string>());
    EXPECT_EQ(out.content_type, "application/pdf");
    EXPECT_EQ(out.body.size(), paper["bytes"].get<std::size_t>());
    for (const PackFile& file : *files)
      if (file.path == paper["name"]) {
        EXPECT_TRUE(out.body == file.bytes) << file.path;
        ++compared;
      }
  }
  EXPECT_EQ(compared, papers.size());
  EXPECT_EQ(ask("GET", "/api/jobs/room/papers/none.pdf").status, 404);
  EXPECT_EQ(ask("GET", "/api/jobs/room/papers/job.json").status, 404);
}

TEST_F(ServiceTest, progress_is_told_while_it_works_and_ends_at_one) {
  bring_in();
  std::mutex mutex;
  std::vector<Json> heard;
  service_->listen(-1, Role::bench, [&](const PageEvent& one) {
    const std::lock_guard lock(mutex);
    if (one.name == "progress") heard.push_back(Json::parse(one.data));
  });
  ask("GET", "/api/jobs/room/stages/price");
  const std::lock_guard lock(mutex);
  ASSERT_GE(heard.size(), 2u);
  EXPECT_EQ(heard.back()["share"], 1);
  EXPECT_EQ(heard.back()["job"], "room");
  EXPECT_EQ(heard.back()["stage"], "build");
}

TEST_F(ServiceTest, what_the_office_asks_for_is_what_the_command_prints_and_the_offices_alone) {
  bring_in();
  for (const char* kind : {"fill", "tune"})
    for (const std::string role : {"bench", "site"})
      EXPECT_EQ(ask("GET", std::string("/api/jobs/room/advice/") + kind, "", {pair(role)}).status,
                403);
  const PageAnswer fill = ask("GET", "/api/jobs/room/advice/fill");
  ASSERT_EQ(fill.status, 200) << fill.body;
  EXPECT_GT(tree(fill)["result"]["choices"].size(), 3u);
  EXPECT_EQ(tree(fill)["version"], 1);
  const PageAnswer tuned = ask("GET", "/api/jobs/room/advice/tune?hz=70");
  ASSERT_EQ(tuned.status, 200) << tuned.body;
  const Json answer = tree(tuned)["result"]["answers"][0];
  EXPECT_NEAR(answer["peak_hz"].get<double>(), 70, 7);
  EXPECT_EQ(answer["product"]["key"], answer["key"]) << "its block as a tree, for an edit";
  Json edits = Json::array({{{"at", "products[1]"}, {"to", answer["product"]}}});
  EXPECT_EQ(
      post("/api/documents/room/edits", {{"base", 1}, {"edits", edits}, {"token", word()}}).status,
      200);
  EXPECT_EQ(ask("GET", "/api/jobs/room/stages/build").status, 200) << "and it can be built";
  EXPECT_EQ(ask("GET", "/api/jobs/room/advice/tune?hz=7").status, 422);
  const PageAnswer pressed = ask("GET", "/api/jobs/room/advice/pressure?hz=45&plane_mm=1100");
  ASSERT_EQ(pressed.status, 200) << pressed.body;
  const Json maps = tree(pressed)["result"];
  EXPECT_EQ(maps["plane_m"], 1.1);
  EXPECT_EQ(maps["at"][0]["rooms"][0]["maps"].back()["name"], "plane");
  EXPECT_EQ(ask("GET", "/api/jobs/room/advice/pressure?hz=7").status, 422);
  EXPECT_EQ(ask("GET", "/api/jobs/room/advice/everything").status, 404);
}

TEST_F(ServiceTest, advice_that_nobody_waits_for_ends) {
  bring_in();
  gone_ = true;
  EXPECT_EQ(ask("GET", "/api/jobs/room/advice/places").status, 499);
  gone_ = false;
}

// ---- the desk alone -----------------------------------------------------------------------------

/// Holds work back at its first look for kept solutions, until it is let go or cancelled.
struct Gate {
  std::mutex mutex;
  std::condition_variable moved;
  int arrived = 0;
  bool open = false;
  std::atomic<bool> gone = false;

  StageDeskOptions options() {
    StageDeskOptions out;
    out.sound_field = false;
    out.tell = [this](const StageProgress&) {
      std::unique_lock lock(mutex);
      ++arrived;
      moved.notify_all();
      moved.wait(lock, [&] { return open; });
    };
    return out;
  }
  void wait_for(int count) {
    std::unique_lock lock(mutex);
    ASSERT_TRUE(moved.wait_for(lock, 20s, [&] { return arrived >= count; }));
  }
  void let_go() {
    const std::lock_guard lock(mutex);
    open = true;
    moved.notify_all();
  }
};

JobTexts texts_of(const std::string& id, int version, const std::string& job,
                  const std::string& shop) {
  return {id, version, version, {job, shop}, sha256_hex(job + shop)};
}

class StageDeskTest : public ServiceTest {
 protected:
  JobTexts version(int number, const std::string& id = "room") {
    return texts_of(id, number, small_job() + "# " + std::to_string(number) + "\n",
                    example("shop_metric"));
  }
};

TEST_F(StageDeskTest, all_who_ask_for_the_same_wait_for_one_computation) {
  Gate gate;
  StageDesk desk(gate.options());
  std::vector<std::thread> askers;
  std::atomic<int> done = 0;
  for (int i = 0; i < 4; ++i)
    askers.emplace_back([&] {
      if (desk.ask(version(1), Work::parts, gate.gone)->end == Worked::End::done) ++done;
    });
  gate.wait_for(1);
  gate.let_go();
  for (auto& one : askers) one.join();
  EXPECT_EQ(done, 4);
  EXPECT_EQ(desk.worked_out(), 1);
  desk.ask(version(1), Work::parts, gate.gone);
  EXPECT_EQ(desk.worked_out(), 1) << "held in memory";
}

TEST_F(StageDeskTest, a_newer_version_ends_the_work_on_the_older) {
  Gate gate;
  StageDesk desk(gate.options());
  WorkedPointer older, newer;
  std::thread first([&] { older = desk.ask(version(1), Work::parts, gate.gone); });
  gate.wait_for(1);
  std::thread second([&] { newer = desk.ask(version(2), Work::parts, gate.gone); });
  first.join();
  EXPECT_EQ(older->end, Worked::End::superseded) << "told at once, while it is still being stopped";
  gate.let_go();
  second.join();
  EXPECT_EQ(newer->end, Worked::End::done);
}

TEST_F(StageDeskTest, another_job_is_no_newer_version) {
  Gate gate;
  StageDesk desk(gate.options());
  WorkedPointer mine, theirs;
  std::thread first([&] { mine = desk.ask(version(1), Work::parts, gate.gone); });
  gate.wait_for(1);
  std::thread second([&] { theirs = desk.ask(version(2, "other"), Work::parts, gate.gone); });
  gate.let_go();
  first.join();
  second.join();
  EXPECT_EQ(mine->end, Worked::End::done);
  EXPECT_EQ(theirs->end, Worked::End::done);
}

TEST_F(StageDeskTest, parts_do_not_wait_for_a_sound_field) {
  Gate gate;
  StageDesk desk(gate.options());
  std::thread slow([&] { desk.ask(version(1), Work::sound, gate.gone); });
  gate.wait_for(1);
  std::thread quick([&] { desk.ask(version(1), Work::parts, gate.gone); });
  gate.wait_for(2);
  gate.let_go();
  slow.join();
  quick.join();
}

TEST_F(StageDeskTest, who_is_gone_waits_no_longer_and_work_for_nobody_gives_way) {
  Gate gate;
  StageDesk desk(gate.options());
  std::atomic<bool> gone = false;
  WorkedPointer left;
  std::thread first([&] { left = desk.ask(version(1), Work::parts, gone); });
  gate.wait_for(1);
  gone = true;
  first.join();
  EXPECT_EQ(left->end, Worked::End::cancelled);
  WorkedPointer other, again;
  std::thread second([&] { other = desk.ask(version(1, "other"), Work::parts, gate.gone); });
  std::thread third([&] { again = desk.ask(version(1), Work::parts, gate.gone); });
  gate.let_go();
  second.join();
  third.join();
  EXPECT_EQ(other->end, Worked::End::done);
  EXPECT_EQ(again->end, Worked::End::done) << "asked anew, worked out anew";
}

TEST_F(StageDeskTest, closing_ends_everything_and_everyone_is_told) {
  Gate gate;
  StageDesk desk(gate.options());
  WorkedPointer mine, waiting;
  std::thread first([&] { mine = desk.ask(version(1), Work::parts, gate.gone); });
  gate.wait_for(1);
  std::thread second([&] { waiting = desk.ask(version(1, "other"), Work::parts, gate.gone); });
  std::this_thread::sleep_for(20ms);
  desk.close();
  first.join();
  second.join();
  EXPECT_EQ(mine->end, Worked::End::closing);
  EXPECT_EQ(waiting->end, Worked::End::closing);
  gate.let_go();
}

TEST_F(StageDeskTest, a_kept_answer_is_given_back_by_the_same_build_alone) {
  std::map<std::string, std::string> kept;
  const auto options = [&](const std::string& build) {
    StageDeskOptions out;
    out.sound_field = false;
    out.build = build;
    out.answers = {[&](const std::string& key) {
                     const auto found = kept.find(key);
                     return found == kept.end() ? std::nullopt : std::optional(found->second);
                   },
                   [&](const std::string& key, const std::string& value) { kept[key] = value; }};
    return out;
  };
  const std::atomic<bool> gone = false;
  WorkedPointer first;
  {
    StageDesk desk(options("a"));
    first = desk.ask(version(1), Work::parts, gone);
  }
  ASSERT_EQ(kept.size(), 1u);
  StageDesk same(options("a")), other(options("b"));
  EXPECT_EQ(same.ask(version(1), Work::parts, gone)->texts, first->texts);
  EXPECT_EQ(same.worked_out(), 0);
  other.ask(version(1), Work::parts, gone);
  EXPECT_EQ(other.worked_out(), 1);
  kept.begin()->second.resize(kept.begin()->second.size() / 2);
  StageDesk third(options("a"));
  EXPECT_EQ(third.ask(version(1), Work::parts, gone)->texts, first->texts) << "broken: made anew";
}

TEST(BuildOfProgram, is_the_linkers_own_mark) {
  const std::string build = build_of_program();
  EXPECT_EQ(build.size(), 40u);
  EXPECT_EQ(build.find_first_not_of("0123456789abcdef"), std::string::npos);
}

// ---- drafts -------------------------------------------------------------------------------------

Json draft_of(const std::string& page, int number, const Json& to) {
  return {{"page", page},
          {"number", number},
          {"base", 1},
          {"edits", Json::array({{{"at", "pieces[0].from"}, {"from", {1200, 600}}, {"to", to}}})}};
}

TEST_F(ServiceTest, a_draft_comes_in_parts_and_writes_nothing) {
  bring_in();
  const auto before = *store_->sequence();
  const PageAnswer out = post("/api/jobs/room/draft", draft_of("p", 7, {1500, 600}));
  EXPECT_EQ(out.status, 200);
  EXPECT_EQ(out.body, "");
  ASSERT_EQ(parts_.size(), 4u);
  const Json& schema = Contract::read().tree()["components"]["schemas"]["DraftPart"];
  std::vector<std::string> names;
  for (const std::string& line : parts_) {
    EXPECT_EQ(line.find('\n'), line.size() - 1);
    const Json part = Json::parse(line);
    EXPECT_EQ(part["number"], 7);
    for (const auto& [key, value] : part.items())
      EXPECT_TRUE(schema["properties"].contains(key)) << key;
    names.push_back(part["part"]);
  }
  EXPECT_EQ(names, (std::vector<std::string>{"fit", "decay", "response", "done"}));
  EXPECT_EQ(Json::parse(parts_[0])["pieces"][0]["label"], "W1");
  EXPECT_EQ(Json::parse(parts_[0])["provisional"], false) << "where it hangs is exact";
  EXPECT_EQ(Json::parse(parts_[1])["decay"].size(), 8u);
  const Json response = Json::parse(parts_[2]);
  EXPECT_TRUE(response.contains("bass") || response.value("note", "") != "")
      << "a curve, or why there is none";
  EXPECT_EQ(*store_->sequence(), before);
}

TEST_F(ServiceTest, a_draft_with_mistakes_tells_them_and_ends) {
  bring_in();
  post("/api/jobs/room/draft", draft_of("p", 1, "nowhere"));
  ASSERT_EQ(parts_.size(), 2u);
  EXPECT_EQ(Json::parse(parts_[0])["part"], "errors");
  EXPECT_GE(Json::parse(parts_[0])["errors"].size(), 1u);
  EXPECT_EQ(Json::parse(parts_[1])["part"], "done");
  EXPECT_EQ(post("/api/jobs/none/draft", draft_of("p", 1, {1, 2})).status, 404);
  Json late = draft_of("p", 1, {1, 2});
  late["base"] = 9;
  EXPECT_EQ(post("/api/jobs/room/draft", late).status, 404);
  EXPECT_EQ(post("/api/jobs/room/draft", Json{{"page", ""}}).status, 400);
}

TEST_F(ServiceTest, a_newer_draft_of_the_same_page_ends_the_older) {
  bring_in();
  std::mutex mutex;
  std::condition_variable moved;
  bool wrote = false, go_on = false;
  std::vector<std::string> older;
  const auto request = head("POST", "/api/jobs/room/draft", {});
  const Admission admission = service_->admit(request);
  EXPECT_EQ(admission.pace, Pace::stream);
  const std::string body = json_text(draft_of("p", 1, {1500, 600}));
  std::thread first([&] {
    service_->answer(admission, request, body, gone_, [&](std::string_view part) {
      std::unique_lock lock(mutex);
      older.emplace_back(part);
      wrote = true;
      moved.notify_all();
      moved.wait(lock, [&] { return go_on; });
      return true;
    });
  });
  {
    std::unique_lock lock(mutex);
    ASSERT_TRUE(moved.wait_for(lock, 20s, [&] { return wrote; }));
  }
  post("/api/jobs/room/draft", draft_of("other", 1, {1500, 600}));
  EXPECT_EQ(parts_.size(), 4u) << "another page's draft is its own";
  post("/api/jobs/room/draft", draft_of("p", 2, {1600, 600}));
  EXPECT_EQ(parts_.size(), 4u);
  {
    const std::lock_guard lock(mutex);
    go_on = true;
    moved.notify_all();
  }
  first.join();
  EXPECT_LT(older.size(), 4u);
  EXPECT_EQ(older.back().find("\"done\""), std::string::npos);
}

TEST_F(ServiceTest, a_draft_ends_when_nobody_reads_it) {
  bring_in();
  const auto request = head("POST", "/api/jobs/room/draft", {});
  int written = 0;
  service_->answer(service_->admit(request), request, json_text(draft_of("p", 1, {1500, 600})),
                   gone_, [&](std::string_view) {
                     ++written;
                     return false;
                   });
  EXPECT_EQ(written, 1);
}

}  // namespace
}  // namespace roomwright::app
