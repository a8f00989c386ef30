// What takes its time: changes as they happen, progress, long work and who no longer waits for it.
#include <chrono>
#include <thread>

#include "server/serving.h"

namespace roomwright::served {
namespace {

using Clock = std::chrono::steady_clock;

std::string listen_text(const std::string& host, const Fields& fields = {}) {
  return request_text(host, "GET", "/api/events", "", fields);
}

std::int64_t sequence_in(const std::string& text) {
  const std::size_t at = text.rfind("\nid: ");
  return at == std::string::npos ? 0 : std::atoll(text.c_str() + at + 5);
}

TEST_F(Serving, a_change_is_heard_by_all_who_listen_and_one_who_was_away_is_told) {
  auto served = serve();
  const std::string job = demo(*served);
  Line one(served->port()), two(served->port());
  for (Line* line : {&one, &two}) {
    line->send(listen_text(host(*served)));
    ASSERT_NE(line->until("retry:").find("text/event-stream"), std::string::npos);
  }
  const auto post = [&](const std::string& text) {
    return served->ask("POST", "/api/journals/notes", note_body(fresh_token(), job, text)).status;
  };
  ASSERT_EQ(post("first"), 200);
  for (Line* line : {&one, &two})
    EXPECT_NE(line->until("event: change").find("notes"), std::string::npos) << line->waiting();
  const std::int64_t heard = sequence_in(one.until("\n\n\r\n"));
  EXPECT_GT(heard, 0);
  one.close();
  ASSERT_EQ(post("second"), 200);
  ASSERT_EQ(post("third"), 200);
  Line back(served->port());
  back.send(listen_text(host(*served), {{"Last-Event-ID", std::to_string(heard)}}));
  const std::string missed = back.until("id: " + std::to_string(heard + 2));
  EXPECT_NE(missed.find("id: " + std::to_string(heard + 1) + "\n"), std::string::npos) << missed;
  EXPECT_NE(missed.find("id: " + std::to_string(heard + 2) + "\n"), std::string::npos) << missed;
  EXPECT_EQ(missed.find("id: " + std::to_string(heard) + "\n"), std::string::npos) << "not twice";
}

TEST_F(Serving, a_listener_that_takes_nothing_costs_little) {
  auto served = serve();
  const std::string job = demo(*served);
  Line deaf(served->port());
  deaf.send(listen_text(host(*served)));
  deaf.until("retry:");
  const std::string text(100, 'n');
  Line line(served->port());
  // Some hundred bytes an event: more than the line and the queue hold.
  const double before = served->memory_mb();
  for (int i = 0; i < 3000; ++i) {
    line.send(request_text(host(*served), "POST", "/api/journals/notes",
                           note_body(fresh_token(), job, text),
                           {{"Content-Type", "application/json"}}));
    ASSERT_EQ(line.read().status, 200);
  }
  EXPECT_LT(served->memory_mb(), before + 60);
  EXPECT_TRUE(healthy(*served));
}

TEST_F(Serving, progress_of_long_work_is_heard_while_its_answer_is_waited_for) {
  auto served = serve();
  const std::string job = demo(*served);
  Line listener(served->port());
  listener.send(listen_text(host(*served)));
  listener.until("retry:");
  Line line(served->port());
  line.send(request_text(host(*served), "GET", "/api/jobs/" + job + "/stages/findings?version=1"));
  const std::string heard = listener.until("event: progress", 60);
  EXPECT_NE(heard.find("event: progress"), std::string::npos);
  const auto before = Clock::now();
  EXPECT_EQ(served->ask("GET", "/api/state").status, 200);
  EXPECT_LT(std::chrono::duration<double>(Clock::now() - before).count(), 1.5)
      << "others are served meanwhile";
}

TEST_F(Serving, callers_who_have_gone_take_no_place_from_those_who_wait) {
  auto served = serve();
  const std::string job = demo(*served);
  std::vector<std::unique_ptr<Line>> gone;
  for (int i = 0; i < 60; ++i) {
    gone.push_back(std::make_unique<Line>(served->port()));
    gone.back()->send(
        request_text(host(*served), "GET", "/api/jobs/" + job + "/stages/treatment?version=1"));
  }
  Answer refused;
  for (int tries = 0; tries < 400 && refused.status == 0; ++tries)
    refused = gone[std::size_t(tries) % gone.size()]->read(0.05);
  EXPECT_EQ(refused.status, 503) << "all places are taken, and that is told at once";
  EXPECT_FALSE(refused.header("retry-after").empty());
  EXPECT_EQ(served->ask("GET", "/api/state").status, 200) << "what is quick has places of its own";
  gone.clear();
  std::this_thread::sleep_for(std::chrono::milliseconds(700));
  const auto before = Clock::now();
  EXPECT_EQ(served->ask("GET", "/api/files/1").status, 404);
  EXPECT_LT(std::chrono::duration<double>(Clock::now() - before).count(), 5);
}

TEST_F(Serving, ends_in_the_midst_of_long_work) {
  auto served = serve();
  const std::string job = demo(*served);
  Line line(served->port());
  line.send(request_text(host(*served), "GET", "/api/jobs/" + job + "/stages/treatment?version=1"));
  std::this_thread::sleep_for(std::chrono::milliseconds(500));
  EXPECT_EQ(served->stop(), 0);
  const Answer answer = line.read(2);
  EXPECT_TRUE(answer.status == 503 || answer.status == 499 || answer.status == 0) << answer.status;
}

TEST_F(Serving, a_draft_comes_in_parts_and_writes_nothing) {
  auto served = serve();
  const std::string job = demo(*served);
  const Json tree = json(served->ask("GET", "/api/documents/" + job))["tree"];
  const Json edit = {{"at", "room.height"}, {"from", tree["room"]["height"]}, {"to", 2400}};
  const Json draft = {{"page", "p"}, {"number", 1}, {"base", 1}, {"edits", Json::array({edit})}};
  Line line(served->port());
  line.send(request_text(host(*served), "POST", "/api/jobs/" + job + "/draft", draft.dump(),
                         {{"Content-Type", "application/json"}}));
  const std::string first = line.until("\"part\"", 20);
  EXPECT_NE(first.find("HTTP/1.1 200"), std::string::npos) << first;
  EXPECT_NE(first.find("application/x-ndjson"), std::string::npos) << first;
  EXPECT_NE(first.find("Transfer-Encoding: chunked"), std::string::npos) << first;
  const Answer wrong = served->ask("POST", "/api/jobs/" + job + "/draft", "{}");
  EXPECT_GE(wrong.status, 400) << "a draft that is refused has an answer of its own";
  EXPECT_EQ(json(served->ask("GET", "/api/documents/" + job)).value("version", 0), 1);
}

}  // namespace
}  // namespace roomwright::served
