// The server is killed while several clients write. What it had answered is there afterwards, once.
#include <atomic>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <set>
#include <thread>

#include "core/base/base.h"
#include "server/serving.h"

namespace roomwright::served {
namespace {

struct Written {
  std::set<std::string> tokens;  ///< of entries that were acknowledged
  int version = 0;               ///< newest of a document that was acknowledged
  int count = 0;                 ///< what the document then said
};

/// Posts entries until the program is gone. One whose answer was lost is sent again next time.
void write_entries(int port, const std::string& host, const std::string& job,
                   std::string& open_token, std::set<std::string>& acknowledged) {
  Line line(port);
  for (;;) {
    if (open_token.empty()) open_token = fresh_token();
    const Json entry = {{"subject", open_token},
                        {"document", job},
                        {"token", open_token},
                        {"body", {{"text", open_token}, {"at", "2026-11-27T15:04:05Z"}}}};
    const std::string body =
        Json({{"expected", nullptr}, {"entries", Json::array({entry})}}).dump();
    if (!line.send(request_text(host, "POST", "/api/journals/notes", body,
                                {{"Content-Type", "application/json"}})))
      return;
    const Answer answer = line.read();
    if (answer.status != 200) return;
    acknowledged.insert(open_token);
    open_token.clear();
  }
}

/// Edits its own document, one count on with each edit.
void write_edits(int port, const std::string& host, const std::string& id, Json& open_edit,
                 Written& written) {
  Line line(port);
  for (;;) {
    if (open_edit.is_null())
      open_edit = {{"base", written.version},
                   {"token", fresh_token()},
                   {"edits",
                    {{{"at", "revision"},
                      {"from", std::to_string(written.count)},
                      {"to", std::to_string(written.count + 1)}}}}};
    if (!line.send(request_text(host, "POST", "/api/documents/" + id + "/edits", open_edit.dump(),
                                {{"Content-Type", "application/json"}})))
      return;
    const Answer answer = line.read();
    if (answer.status != 200) return;
    const Json saved = Json::parse(answer.body, nullptr, false);
    written.version = saved.value("version", 0);
    ++written.count;
    open_edit = nullptr;
  }
}

TEST_F(Serving, killed_while_clients_write_it_loses_nothing_that_it_answered) {
  const int kills = std::getenv("ROOMWRIGHT_LONG") ? 200 : 25;
  constexpr int clients = 3;
  Random random(20261);
  std::set<std::string> acknowledged[clients];
  std::string open_tokens[clients];
  Json open_edits[clients];
  Written edited[clients];
  std::string ids[clients], job;
  int lost_answers = 0;
  for (int round = 0; round < kills; ++round) {
    auto served = serve();
    ASSERT_TRUE(served->up()) << "round " << round << ": " << served->said();
    if (round == 0) {
      job = demo(*served);
      for (int i = 0; i < clients; ++i) {
        ids[i] = demo(*served);
        const Json document = json(served->ask("GET", "/api/documents/" + ids[i]));
        const Json edit = {{"at", "revision"}, {"from", document["tree"]["revision"]}, {"to", "0"}};
        const Answer answer = served->ask(
            "POST", "/api/documents/" + ids[i] + "/edits",
            Json({{"base", 1}, {"token", fresh_token()}, {"edits", Json::array({edit})}}).dump());
        ASSERT_EQ(answer.status, 200) << answer.body;
        edited[i].version = json(answer).value("version", 0);
      }
    }
    std::vector<std::thread> writers;
    const std::string at = host(*served);
    for (int i = 0; i < clients; ++i) {
      writers.emplace_back(
          [&, i] { write_entries(served->port(), at, job, open_tokens[i], acknowledged[i]); });
      writers.emplace_back(
          [&, i] { write_edits(served->port(), at, ids[i], open_edits[i], edited[i]); });
    }
    std::this_thread::sleep_for(std::chrono::microseconds(random.between(5'000, 250'000)));
    served->signal(SIGKILL);
    for (std::thread& one : writers) one.join();
    ASSERT_EQ(served->wait(), -SIGKILL);
    for (int i = 0; i < clients; ++i)
      lost_answers += !open_tokens[i].empty() + !open_edits[i].is_null();

    // Every few rounds, and at the end, all of it is looked at by another start of the program.
    if (round % 5 != 4 && round != kills - 1) continue;
    auto after = serve();
    ASSERT_TRUE(after->up()) << after->said();
    const Json entries = json(after->ask("GET", "/api/journals/notes?after=0&document=" + job));
    std::multiset<std::string> there;
    for (const Json& entry : entries) there.insert(entry.value("subject", ""));
    for (int i = 0; i < clients; ++i) {
      for (const std::string& token : acknowledged[i]) ASSERT_EQ(there.count(token), 1u) << token;
      const Json document = json(after->ask("GET", "/api/documents/" + ids[i]));
      const int count = std::stoi(document["tree"].value("revision", "-1"));
      const bool one_open = !open_edits[i].is_null();
      EXPECT_GE(document.value("version", 0), edited[i].version);
      EXPECT_GE(count, edited[i].count);
      EXPECT_LE(count, edited[i].count + one_open) << "an edit was made twice";
    }
    for (const std::string& token : there) ASSERT_EQ(there.count(token), 1u) << "written twice";
    EXPECT_EQ(after->stop(), 0);
  }
  std::size_t entries = 0;
  int edits = 0;
  for (int i = 0; i < clients; ++i) {
    entries += acknowledged[i].size();
    edits += edited[i].count;
  }
  const std::string check = std::string(ROOMWRIGHT_PROGRAM) + " store check --store " + store() +
                            " >" + (folder_ / "check").string() + " 2>&1";
  EXPECT_EQ(std::system(check.c_str()), 0);
  std::printf(
      "%d kills: %zu entries and %d edits were acknowledged, none lost; %d answers were lost\n",
      kills, entries, edits, lost_answers);
  EXPECT_GT(entries, std::size_t(kills));
  EXPECT_GT(edits, kills);
}

}  // namespace
}  // namespace roomwright::served
