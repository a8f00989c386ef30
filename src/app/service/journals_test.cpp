// Ticks, times, notes, stock, inspections; files.
#include <cmath>
#include <thread>

#include "app/service/trial.h"

namespace roomwright::app {
namespace {

Json tick_entry(const std::string& step, bool done, const std::string& token,
                const std::string& at = "2026-11-27T10:00:00Z") {
  return {{"subject", ""},
          {"document", "room"},
          {"body", {{"step", step}, {"done", done}, {"at", at}}},
          {"token", token}};
}
Json all_of(const std::vector<Json>& entries) {
  return {{"expected", nullptr}, {"entries", entries}};
}
Json entry_of(const Json& body, const std::string& token, const std::string& subject = "") {
  return {{"subject", subject}, {"document", "room"}, {"body", body}, {"token", token}};
}

TEST_F(ServiceTest, ticks_sent_again_are_written_once_even_after_a_restart) {
  bring_in();
  const std::string bench = pair("bench", "tablet");
  const Json two = all_of({tick_entry("frame.W1", true, "a"), tick_entry("hang.W1", true, "b")});
  EXPECT_EQ(tree(post("/api/journals/ticks", two, {bench}))["last"], 2);
  const Json three = all_of({tick_entry("frame.W1", true, "a"), tick_entry("hang.W1", true, "b"),
                             tick_entry("proof.0", true, "c"), tick_entry("proof.0", true, "c")});
  EXPECT_EQ(tree(post("/api/journals/ticks", three, {bench}))["last"], 3);
  open();
  EXPECT_EQ(tree(post("/api/journals/ticks", three, {bench}))["last"], 3);
  const Json entries = tree(ask("GET", "/api/journals/ticks?after=1&document=room"));
  ASSERT_EQ(entries.size(), 2u);
  EXPECT_EQ(entries[0]["who"], "tablet");
  EXPECT_EQ(entries[0]["body"],
            (Json{{"step", "hang.W1"}, {"done", true}, {"at", "2026-11-27T10:00:00Z"}}));
}

TEST_F(ServiceTest, the_newest_tick_by_the_clock_of_who_ticked_says_how_far_a_job_is) {
  bring_in();
  const auto state = [&] { return tree(ask("GET", "/api/jobs"))[0]["state"].get<std::string>(); };
  EXPECT_EQ(state(), "offered");
  post("/api/journals/ticks", all_of({tick_entry("saw.x", true, "a")}));
  EXPECT_EQ(state(), "building");
  post("/api/journals/ticks", all_of({tick_entry("frame.W1", true, "b", "2026-11-27T11:00:00Z")}));
  EXPECT_EQ(state(), "hanging");
  post("/api/journals/ticks", all_of({tick_entry("frame.W1", false, "c", "2026-11-27T10:30:00Z")}));
  EXPECT_EQ(state(), "hanging") << "came later and was made earlier";
  post("/api/journals/ticks", all_of({tick_entry("frame.W1", false, "d", "2026-11-27T11:30:00Z")}));
  EXPECT_EQ(state(), "building");
  post("/api/journals/ticks", all_of({tick_entry("hang.W1", true, "e")}));
  EXPECT_EQ(state(), "proof");
}

TEST_F(ServiceTest, a_job_is_done_when_every_piece_hangs_and_every_reading_is_taken) {
  bring_in();
  const auto row = [&] { return tree(ask("GET", "/api/jobs"))[0]; };
  const std::size_t readings =
      tree(ask("GET", "/api/jobs/room/stages/proof"))["result"]["points"].size();
  ASSERT_GT(readings, 1u);
  post("/api/journals/ticks", all_of({tick_entry("hang.W9", true, "gone")}));
  EXPECT_EQ(row()["pieces_hung"], 0) << "a piece that the job does not have is not counted";
  post("/api/journals/ticks", all_of({tick_entry("hang.W1", true, "h")}));
  for (std::size_t k = 0; k < readings; ++k) {
    EXPECT_EQ(row()["state"], "proof") << k;
    const std::string step = "proof." + std::to_string(k);
    post("/api/journals/ticks", all_of({tick_entry(step, true, step)}));
  }
  EXPECT_EQ(row()["state"], "done");
  EXPECT_EQ(row()["closed"], false);
  const Json edits =
      Json::array({{{"at", "seats[1]"}, {"to", {{"label", "guest"}, {"at", {2600, 1500, 1200}}}}}});
  ASSERT_EQ(
      post("/api/documents/room/edits", {{"base", 1}, {"edits", edits}, {"token", word()}}).status,
      200);
  EXPECT_EQ(row()["state"], "proof") << "another seat asks for readings of its own";
}

TEST_F(ServiceTest, the_office_closes_a_job_and_takes_it_up_again) {
  bring_in();
  const auto row = [&] { return tree(ask("GET", "/api/jobs"))[0]; };
  const Json close = all_of({tick_entry("job.done", true, "a", "2026-11-27T11:00:00Z")});
  for (const std::string role : {"bench", "site"})
    EXPECT_EQ(post("/api/journals/ticks", close, {pair(role)}).status, 403) << role;
  EXPECT_EQ(post("/api/journals/ticks", close).status, 200);
  EXPECT_EQ(row()["state"], "done");
  EXPECT_EQ(row()["closed"], true);
  EXPECT_EQ(tree(ask("GET", "/api/calendar")).size(), 0u) << "it asks for no day in the shop";
  post("/api/journals/ticks", all_of({tick_entry("job.done", false, "b", "2026-11-27T12:00:00Z")}));
  EXPECT_EQ(row()["state"], "offered");
  EXPECT_EQ(tree(ask("GET", "/api/calendar")).size(), 1u);
}

TEST_F(ServiceTest, a_job_with_mistakes_is_never_proven_but_can_be_closed) {
  bring_in();
  const Json edits = Json::array({{{"at", "use"}, {"from", "mixing"}, {"to", "mixxing"}}});
  post("/api/documents/room/edits", {{"base", 1}, {"edits", edits}, {"token", word()}});
  std::vector<Json> all = {tick_entry("hang.W1", true, "h")};
  for (int k = 0; k < 3; ++k)
    all.push_back(tick_entry("proof." + std::to_string(k), true, std::to_string(k)));
  post("/api/journals/ticks", all_of(all));
  EXPECT_EQ(tree(ask("GET", "/api/jobs"))[0]["state"], "proof");
  EXPECT_EQ(tree(ask("GET", "/api/jobs"))[0]["pieces_hung"], 1);
  post("/api/documents/room/undo", {{"base", 2}, {"token", word()}});
  EXPECT_EQ(tree(ask("GET", "/api/jobs"))[0]["state"], "done");
}

TEST_F(ServiceTest, a_journal_that_has_grown_since_refuses_and_writes_nothing) {
  bring_in();
  Json body = all_of({tick_entry("a", true, "a")});
  body["expected"] = 0;
  EXPECT_EQ(post("/api/journals/ticks", body).status, 200);
  Json late = all_of({tick_entry("b", true, "b")});
  late["expected"] = 0;
  const PageAnswer refused = post("/api/journals/ticks", late);
  EXPECT_EQ(refused.status, 409);
  EXPECT_EQ(tree(refused)["last"], 1);
  EXPECT_EQ(post("/api/journals/ticks", body).status, 200) << "what was written is written";
}

TEST_F(ServiceTest, all_entries_or_none_and_every_mistake_is_told) {
  bring_in();
  Json bad =
      all_of({tick_entry("a", true, "a"), tick_entry("", true, "b"), tick_entry("c", true, "")});
  bad["entries"][0]["body"]["more"] = 1;
  const PageAnswer out = post("/api/journals/ticks", bad);
  EXPECT_EQ(out.status, 400);
  EXPECT_EQ(tree(out)["errors"].size(), 3u) << out.body;
  EXPECT_EQ(tree(ask("GET", "/api/journals/ticks")).size(), 0u);
  Json other = all_of({tick_entry("a", true, "a")});
  other["entries"][0]["document"] = "none";
  EXPECT_EQ(post("/api/journals/ticks", other).status, 422);
  EXPECT_EQ(post("/api/journals/tics", all_of({tick_entry("a", true, "a")})).status, 404);
  EXPECT_EQ(ask("GET", "/api/journals/devices").status, 404) << "who is paired is no open book";
}

TEST_F(ServiceTest, bench_and_site_write_what_is_done_and_decide_no_stock) {
  bring_in();
  const Json note = all_of({entry_of({{"text", "damp"}, {"at", now_}}, "n")});
  const Json time = all_of({entry_of({{"station", "bench"},
                                      {"step", "frame.W1"},
                                      {"started", now_},
                                      {"stopped", now_},
                                      {"minutes", 12.5}},
                                     "t", "W1")});
  const Json move = all_of({entry_of(
      {{"move", "receive"}, {"item", "hardware"}, {"key", "screw_5x80"}, {"amount", 1000}}, "m")});
  for (const std::string role : {"bench", "site"}) {
    const std::string secret = pair(role);
    EXPECT_EQ(post("/api/journals/notes", note, {secret}).status, 200);
    EXPECT_EQ(post("/api/journals/time", time, {secret}).status, 200);
    EXPECT_EQ(post("/api/journals/stock", move, {secret}).status, 403) << role;
    const Json looked = all_of({entry_of({{"cloth", true}}, "i" + role, "W1")});
    const Json paper =
        all_of({entry_of({{"material", "open_weave_grey"}, {"kind", "dye_lot"}, {"says", "lot 7"}},
                         "c" + role, "W1")});
    const int status = role == "bench" ? 200 : 403;
    EXPECT_EQ(post("/api/journals/inspection", looked, {secret}).status, status) << role;
    EXPECT_EQ(post("/api/journals/certificate", paper, {secret}).status, status) << role;
  }
  EXPECT_EQ(tree(ask("GET", "/api/journals/time"))[0]["body"]["minutes"], 12.5);
}

TEST_F(ServiceTest, the_rack_follows_its_moves_and_never_goes_below_nothing) {
  bring_in();
  const Json before = tree(ask("GET", "/api/stock"));
  EXPECT_GT(before.size(), 3u) << "as the price book counts it";
  const auto move = [&](const char* kind, int amount, const std::string& token) {
    Json entry = entry_of({{"move", kind},
                           {"item", "cloth"},
                           {"key", "open_weave_grey"},
                           {"amount", std::int64_t(amount) * 1'000'000'000},
                           {"lot", "7"}},
                          token);
    entry["document"] = "";
    return post("/api/journals/stock", all_of({entry}));
  };
  EXPECT_EQ(move("receive", 12, "a").status, 200);
  EXPECT_EQ(move("receive", 12, "a").status, 200) << "sent again";
  const Json stock = tree(ask("GET", "/api/stock"));
  ASSERT_EQ(stock.size(), 1u);
  EXPECT_EQ(stock[0]["count"], 12);
  EXPECT_EQ(stock[0]["unit"], "m");
  EXPECT_EQ(stock[0]["kind"], "cloth");
  const PageAnswer wrong = move("use", 13, "b");
  EXPECT_EQ(wrong.status, 422);
  EXPECT_EQ(move("use", 5, "c").status, 200);
  EXPECT_EQ(move("use", 5, "c").status, 200);
  EXPECT_EQ(tree(ask("GET", "/api/stock"))[0]["count"], 7);
  EXPECT_EQ(move("count", 6, "d").status, 200);
  EXPECT_EQ(tree(ask("GET", "/api/journals/stock"))[2]["body"]["was"], 7'000'000'000);
  EXPECT_EQ(move("steal", 1, "e").status, 422);
  ASSERT_TRUE(store_->check()->faults.empty());
}

TEST_F(ServiceTest, an_inspection_is_judged_by_the_shops_limits) {
  bring_in();
  const Json body =
      all_of({entry_of({{"diagonal_a_m", 1.417}, {"diagonal_b_m", 1.430}}, "i", "W1")});
  EXPECT_EQ(post("/api/journals/inspection", body).status, 200);
  EXPECT_EQ(post("/api/journals/inspection", body).status, 200);
  const Json entries = tree(ask("GET", "/api/journals/inspection"));
  ASSERT_EQ(entries.size(), 1u);
  EXPECT_EQ(entries[0]["body"]["passed"], false);
  EXPECT_EQ(entries[0]["body"]["faults"][0]["what"], "square");
  EXPECT_EQ(post("/api/journals/inspection", all_of({entry_of(Json::object(), "j", "W9")})).status,
            422);
  const Json paper = all_of({entry_of(
      {{"material", "open_weave_grey"}, {"kind", "fire"}, {"says", "class B"}}, "c", "W1")});
  EXPECT_EQ(post("/api/journals/certificate", paper).status, 200);
  const Json nothing = all_of({entry_of({{"kind", "odd"}}, "d", "W1")});
  EXPECT_EQ(tree(post("/api/journals/certificate", nothing))["errors"].size(), 3u);
}

Json good_piece(const Json& limits) {
  return {{"diagonal_a_m", limits["diagonal_m"]},
          {"diagonal_b_m", limits["diagonal_m"]},
          {"corner_gap_m", 0},
          {"mass_kg", limits["mass_kg"]},
          {"cloth", true},
          {"staples", true},
          {"label", true}};
}

TEST_F(ServiceTest, each_piece_has_a_sheet_and_the_last_word_on_it_is_the_newest_by_the_clock) {
  bring_in();
  const std::string bench = pair("bench", "tablet");
  const auto sheet = [&] { return tree(ask("GET", "/api/jobs/room/inspections", "", {bench})); };
  const Json first = sheet();
  ASSERT_EQ(first["pieces"].size(), 1u);
  EXPECT_EQ(first["waiting"], 1);
  EXPECT_EQ(first["pieces"][0]["open"].size(), 6u);
  EXPECT_EQ(first["pieces"][0]["inspected"], 0);
  const Json limits = first["pieces"][0]["limits"];
  EXPECT_NEAR(limits["diagonal_m"].get<double>(),
              std::hypot(limits["width_m"].get<double>(), limits["height_m"].get<double>()), 0.001);
  Json slack = good_piece(limits), good = slack;
  slack["cloth"] = false;
  slack["at"] = "2026-11-27T10:00:00Z";
  slack["note"] = "slack at the top";
  good["at"] = "2026-11-27T11:00:00Z";
  post("/api/journals/inspection", all_of({entry_of(good, "b", "W1")}), {bench});
  EXPECT_EQ(sheet()["waiting"], 0);
  post("/api/journals/inspection", all_of({entry_of(slack, "a", "W1")}), {bench});
  EXPECT_EQ(sheet()["waiting"], 0) << "came later and was made earlier";
  EXPECT_EQ(sheet()["pieces"][0]["inspected"], 2);
  slack["at"] = "2026-11-27T12:00:00Z";
  post("/api/journals/inspection", all_of({entry_of(slack, "c", "W1")}), {bench});
  const Json last = sheet()["pieces"][0];
  EXPECT_EQ(last["passed"], false);
  EXPECT_EQ(last["back_to"], "face_cloth");
  EXPECT_EQ(last["faults"][0]["what"], "cloth");
  EXPECT_EQ(last["note"], "slack at the top");
  EXPECT_EQ(last["who"], "tablet");
  EXPECT_EQ(last["when"], "2026-11-27T12:00:00Z");
}

TEST_F(ServiceTest, inspections_made_without_a_network_come_together_and_once) {
  bring_in();
  const Json two =
      all_of({entry_of({{"cloth", true}}, "a", "W1"), entry_of({{"cloth", false}}, "b", "W1")});
  EXPECT_EQ(tree(post("/api/journals/inspection", two))["last"], 2);
  open();
  EXPECT_EQ(tree(post("/api/journals/inspection", two))["last"], 2) << "after a restart too";
  const Json mixed =
      all_of({entry_of({{"diagonal_a_m", 3.0}}, "c", "W1"), entry_of({{"cloth", true}}, "d", "W9"),
              entry_of({{"cloth", true}}, "e", "W1")});
  const PageAnswer wrong = post("/api/journals/inspection", mixed);
  EXPECT_EQ(wrong.status, 422) << "the tape was misread; there is no such piece";
  EXPECT_EQ(tree(wrong)["errors"].size(), 2u) << wrong.body;
  EXPECT_EQ(tree(ask("GET", "/api/journals/inspection")).size(), 2u) << "all or none";
}

TEST_F(ServiceTest, rework_is_summed_up_by_cause_and_certificates_go_with_their_piece) {
  bring_in();
  const auto rework = [&](const char* station, double minutes, const std::string& token) {
    return post("/api/journals/time", all_of({entry_of({{"station", station},
                                                        {"step", "leave.W1"},
                                                        {"started", "2026-11-27T10:00:00Z"},
                                                        {"stopped", "2026-11-27T10:12:00Z"},
                                                        {"minutes", minutes},
                                                        {"rework", true},
                                                        {"cause", "square"},
                                                        {"piece", "W1"}},
                                                       token, "W1")}));
  };
  EXPECT_EQ(rework("drill_screw", 12, "a").status, 200);
  EXPECT_EQ(rework("drill_screw", 3, "b").status, 200);
  EXPECT_EQ(rework("the shed", 3, "c").status, 400);
  EXPECT_EQ(rework("saw", 0, "d").status, 400) << "nothing cannot be summed up";
  post("/api/journals/certificate",
       all_of({entry_of({{"material", "open_weave_grey"}, {"kind", "dye_lot"}, {"says", "lot 7"}},
                        "e", "W1"),
               entry_of({{"piece", ""},
                         {"material", "stone_wool_50"},
                         {"kind", "fire"},
                         {"says", "A1, no. 4"}},
                        "f", "")}));
  const Json sheet = tree(ask("GET", "/api/jobs/room/inspections"));
  ASSERT_EQ(sheet["rework"].size(), 1u);
  EXPECT_EQ(sheet["rework"][0],
            (Json{{"cause", "square"}, {"station", "drill_screw"}, {"times", 2}, {"minutes", 15}}));
  EXPECT_EQ(sheet["pieces"][0]["certificates"].size(), 2u) << "its own, and those of every piece";
  std::vector<std::string> keys;
  for (const Json& one : sheet["materials"]) keys.push_back(one["key"]);
  EXPECT_EQ(keys, (std::vector<std::string>{"batten_27x68", "fleece_black", "open_weave_grey",
                                            "stone_wool_50"}));
}

TEST_F(ServiceTest, pieces_of_an_order_are_inspected_too) {
  From from;
  from.kind = "application/toml";
  ask("POST", "/api/jobs/import?name=order.toml", example("panel_order"), from);
  const Json sheet = tree(ask("GET", "/api/jobs/order/inspections"));
  EXPECT_EQ(sheet["pieces"].size(), 15u);
  EXPECT_EQ(sheet["pieces"][0]["label"], "A1");
  Json entry =
      entry_of(good_piece(sheet["pieces"][14]["limits"]), "a", sheet["pieces"][14]["label"]);
  entry["document"] = "order";
  EXPECT_EQ(post("/api/journals/inspection", all_of({entry})).status, 200);
  EXPECT_EQ(tree(ask("GET", "/api/jobs/order/inspections"))["waiting"], 14);
}

TEST_F(ServiceTest, many_at_once_lose_nothing_and_double_nothing) {
  bring_in();
  std::atomic<int> heard = 0;
  service_->listen(-1, Role::office, [&](const PageEvent& one) { heard += one.sequence > 0; });
  constexpr int people = 4, each = 15;
  std::vector<std::thread> threads;
  for (int who = 0; who < people; ++who)
    threads.emplace_back([&, who] {
      const auto send_one = [&](const std::string& target, const Json& body) {
        const RequestHead request = head("POST", target, {});
        return service_->answer(service_->admit(request), request, json_text(body), gone_).status;
      };
      for (int i = 0; i < each; ++i) {
        const std::string step = std::to_string(who) + "." + std::to_string(i);
        const Json body = all_of({tick_entry(step, true, step)});
        EXPECT_EQ(send_one("/api/journals/ticks", body), 200);
        EXPECT_EQ(send_one("/api/journals/ticks", body), 200) << "sent again";
        const Json edits = Json::array({{{"at", "note" + std::to_string(who)}, {"to", i}}});
        const Json change =
            Json::array({{{"at", "note" + std::to_string(who)}, {"from", i - 1}, {"to", i}}});
        const auto newest = store_->document("room")->version;
        EXPECT_EQ(send_one("/api/documents/room/edits",
                           {{"base", newest}, {"edits", i == 0 ? edits : change}, {"token", step}}),
                  200);
      }
    });
  for (auto& one : threads) one.join();
  EXPECT_EQ(tree(ask("GET", "/api/journals/ticks")).size(), std::size_t(people * each));
  const Json room = tree(ask("GET", "/api/documents/room"));
  EXPECT_EQ(room["version"], 1 + people * each);
  for (int who = 0; who < people; ++who)
    EXPECT_EQ(room["tree"]["note" + std::to_string(who)], each - 1);
  EXPECT_EQ(heard, 2 * people * each);
  EXPECT_TRUE(store_->check()->faults.empty());
}

// ---- files --------------------------------------------------------------------------------------

const std::string png = std::string("\x89PNG\r\n\x1a\n", 8) + std::string(92, 'x');

TEST_F(ServiceTest, a_photo_is_kept_once_and_given_back_whole_or_in_part) {
  bring_in();
  From site{pair("site")};
  site.kind = "application/octet-stream";
  const std::string target =
      "/api/files?name=left%20wall.png&kind=photo&document=room&piece=W1&place=wall0&token=t";
  const PageAnswer kept = ask("POST", target, png, site);
  ASSERT_EQ(kept.status, 201) << kept.body;
  EXPECT_EQ(tree(kept)["note"]["name"], "left wall.png");
  EXPECT_EQ(tree(ask("POST", target, png, site))["id"], tree(kept)["id"]);
  EXPECT_EQ(tree(ask("GET", "/api/files?document=room")).size(), 1u);
  EXPECT_EQ(tree(ask("GET", "/api/files")).size(), 0u);
  const PageAnswer whole = ask("GET", "/api/files/1", "", {site.secret});
  EXPECT_EQ(whole.body, png);
  EXPECT_EQ(whole.content_type, "image/png");
  EXPECT_EQ(header(whole, "Content-Disposition"), "inline; filename*=UTF-8''left%20wall.png");
  const auto part = [&](const char* range) {
    From from;
    from.range = range;
    return ask("GET", "/api/files/1", "", from);
  };
  EXPECT_EQ(part("bytes=0-7").body, png.substr(0, 8));
  EXPECT_EQ(header(part("bytes=0-7"), "Content-Range"), "bytes 0-7/100");
  EXPECT_EQ(part("bytes=90-").body, png.substr(90));
  EXPECT_EQ(part("bytes=-10").body, png.substr(90));
  EXPECT_EQ(part("bytes=-1000").body, png);
  EXPECT_EQ(part("bytes=95-1000").body, png.substr(95));
  EXPECT_EQ(part("bytes=100-").status, 416);
  EXPECT_EQ(part("bytes=-0").status, 416);
  for (const char* odd :
       {"bytes=5-2", "bytes=a-b", "bytes=", "bytes=-", "lines=1-2", "bytes=0-1,4-5"})
    EXPECT_EQ(part(odd).status, 200) << odd;
}

TEST_F(ServiceTest, what_a_browser_could_run_is_only_ever_saved) {
  From from;
  from.kind = "application/octet-stream";
  const std::vector<std::string> texts = {"<html><script>1</script>", "<svg onload=1>",
                                          "<?xml version='1.0'?><svg/>", "plain", ""};
  for (std::size_t i = 0; i < texts.size(); ++i) {
    const PageAnswer kept = ask("POST", "/api/files?name=photo.png&kind=photo", texts[i], from);
    ASSERT_EQ(kept.status, 201) << kept.body;
    const PageAnswer out = ask("GET", "/api/files/" + tree(kept)["id"].dump());
    EXPECT_EQ(out.content_type, "application/octet-stream");
    EXPECT_EQ(header(out, "X-Content-Type-Options"), "nosniff");
    EXPECT_TRUE(header(out, "Content-Disposition").starts_with("attachment"));
    EXPECT_EQ(out.body, texts[i]);
  }
  const PageAnswer odd =
      ask("POST", "/api/files?name=a%22%3B%C3%A9.html&kind=plan_picture", "x", from);
  ASSERT_EQ(odd.status, 201);
  EXPECT_EQ(header(ask("GET", "/api/files/" + tree(odd)["id"].dump()), "Content-Disposition"),
            "attachment; filename*=UTF-8''a%22%3B%C3%A9.html");
}

TEST_F(ServiceTest, a_file_is_put_away_by_the_office_and_its_bytes_stay) {
  From from;
  from.kind = "application/octet-stream";
  EXPECT_EQ(ask("POST", "/api/files?name=a.png&kind=photo", png, from).status, 201);
  EXPECT_EQ(ask("DELETE", "/api/files/1", "", {pair("bench")}).status, 403);
  EXPECT_EQ(tree(ask("DELETE", "/api/files/1"))["removed"], true);
  EXPECT_EQ(tree(ask("GET", "/api/files")).size(), 0u);
  EXPECT_EQ(ask("GET", "/api/files/1").body, png);
  for (const char* id :
       {"/api/files/2", "/api/files/x", "/api/files/-1", "/api/files/99999999999999999999"})
    EXPECT_EQ(ask("GET", id).status, 404) << id;
  EXPECT_EQ(ask("POST", "/api/files?name=a&kind=photo&document=none", png, from).status, 404);
  EXPECT_EQ(ask("POST", "/api/files?kind=photo", png, from).status, 400);
  From bench{pair("bench")};
  bench.kind = from.kind;
  EXPECT_EQ(ask("POST", "/api/files?name=a&kind=certificate", png, bench).status, 403);
}

}  // namespace
}  // namespace roomwright::app
