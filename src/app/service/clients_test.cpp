// A client's data, alternatives, the calendar, time standards.
#include "app/api/api.h"
#include "app/service/tar.h"
#include "app/service/trial.h"

namespace roomwright::app {
namespace {

TEST_F(ServiceTest, a_client_is_known_by_the_jobs_that_name_them) {
  bring_in("one");
  bring_in("two");
  send("DELETE", "/api/documents/two", {{"base", 1}, {"token", word()}});
  const Json clients = tree(ask("GET", "/api/clients"));
  ASSERT_EQ(clients.size(), 1u);
  EXPECT_EQ(clients[0]["name"], "a client");
  ASSERT_EQ(clients[0]["jobs"].size(), 2u);
  EXPECT_EQ(clients[0]["jobs"][1]["removed"], true) << "out of the way is still kept";
  EXPECT_EQ(ask("GET", "/api/clients", "", {pair("bench")}).status, 403);
}

TEST_F(ServiceTest, all_of_a_client_comes_as_one_archive_that_others_can_open) {
  bring_in();
  From from;
  from.kind = "application/octet-stream";
  const std::string photo = "photo \xff bytes";
  ask("POST", "/api/files?name=%C3%BCber%20alles.jpg&kind=photo&document=room", photo, from);
  const PageAnswer out = ask("GET", "/api/clients/a%20client/export");
  ASSERT_EQ(out.status, 200) << out.body;
  EXPECT_EQ(out.content_type, "application/x-tar");
  EXPECT_EQ(header(out, "Content-Disposition"), "attachment; filename=\"a-client.tar\"");
  EXPECT_EQ(out.body, ask("GET", "/api/clients/a%20client/export").body);
  const std::string tar = (folder_ / "a.tar").string();
  std::ofstream(tar, std::ios::binary) << out.body;
  const std::string folder = (folder_ / "out").string();
  std::filesystem::create_directories(folder);
  ASSERT_EQ(std::system(("tar -xf '" + tar + "' -C '" + folder + "'").c_str()), 0);
  const auto bytes = [&](const std::string& path) {
    std::ifstream in(folder + "/" + path, std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
  };
  EXPECT_EQ(bytes("room/room.toml"), small_job());
  EXPECT_EQ(bytes("room/files/1-\xc3\xbc"
                  "ber alles.jpg"),
            photo);
  EXPECT_NE(bytes("READ-ME.txt"), "");
  EXPECT_EQ(ask("GET", "/api/clients/nobody/export").status, 404);
}

TEST_F(ServiceTest, a_client_is_erased_with_alternatives_ticks_photos_and_what_was_worked_out) {
  bring_in();
  const Json made =
      tree(post("/api/jobs/room/alternatives", {{"name", "more"}, {"token", word()}}));
  const std::string other = made["id"];
  const Json tick = {{"subject", ""},
                     {"document", "room"},
                     {"body", {{"step", "frame.W1"}, {"done", true}, {"at", now_}}},
                     {"token", "a"}};
  post("/api/journals/ticks", {{"expected", nullptr}, {"entries", Json::array({tick})}});
  ask("GET", "/api/jobs/room/stages/price");
  ask("GET", "/api/jobs/room/papers");
  ASSERT_TRUE(store_->backup((folder_ / "shop.store.backups" / "by-hand.store").string()).ok() ||
              store_->daily_backup("2026-11-27").ok());
  const std::string erase = "/api/clients/a%20client/erase";
  EXPECT_EQ(post(erase, {{"confirm", "another"}}).status, 400);
  EXPECT_EQ(post(erase, {{"confirm", "a client"}}, {pair("bench")}).status, 403);
  const PageAnswer out = post(erase, {{"confirm", "a client"}});
  ASSERT_EQ(out.status, 200) << out.body;
  const Json told = tree(out);
  EXPECT_EQ(told["jobs"], (Json{"room", other}));
  EXPECT_EQ(told["kept"].size(), 2u);
  const Json kept = Json::parse(told["kept"][0]["text"].get<std::string>());
  EXPECT_EQ(kept["number"], "D-1");
  EXPECT_TRUE(kept.contains("totals"));
  EXPECT_GE(told["entries"], 2);
  EXPECT_EQ(told["backups"].size(), 1u);
  EXPECT_EQ(post(erase, {{"confirm", "a client"}}).status, 404);
  EXPECT_EQ(ask("GET", "/api/jobs/room/stages/price").status, 404);
  EXPECT_EQ(tree(ask("GET", "/api/jobs")).size(), 0u);
  EXPECT_EQ(tree(ask("GET", "/api/clients")).size(), 0u);
  service_.reset();
  store_.reset();
  for (const auto& file : std::filesystem::recursive_directory_iterator(folder_)) {
    if (!file.is_regular_file() || file.path().string().find("backups") != std::string::npos)
      continue;
    std::ifstream in(file.path(), std::ios::binary);
    std::ostringstream bytes;
    bytes << in.rdbuf();
    EXPECT_EQ(bytes.str().find("a client"), std::string::npos) << file.path();
  }
}

TEST(Tar, long_names_and_large_files_come_back) {
  const std::string name = std::string(150, 'a') + "/" + std::string(120, 'b');
  const auto archive = tar_bytes({{name, std::string(100'000, 'x')}, {"empty", ""}}, 1'700'000'000);
  ASSERT_TRUE(archive.ok());
  EXPECT_EQ(archive->size() % 512, 0u);
  EXPECT_NE(archive->find(std::string(120, 'b')), std::string::npos);
}

// ---- alternatives -------------------------------------------------------------------------------

TEST_F(ServiceTest, an_alternative_works_like_a_job_and_is_no_job_of_the_list) {
  bring_in();
  const Json wish = {{"name", "higher up"}, {"token", "t"}};
  const PageAnswer made = post("/api/jobs/room/alternatives", wish);
  ASSERT_EQ(made.status, 201) << made.body;
  const std::string id = tree(made)["id"];
  EXPECT_EQ(tree(post("/api/jobs/room/alternatives", wish))["id"], id) << "sent again";
  const Json all = tree(ask("GET", "/api/jobs/room/alternatives"));
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0]["name"], "higher up");
  EXPECT_EQ(all[0]["of"], 1);
  EXPECT_EQ(tree(ask("GET", "/api/jobs")).size(), 1u);
  const Json edits = Json::array({{{"at", "pieces[0].from[1]"}, {"from", 600}, {"to", 900}}});
  EXPECT_EQ(
      post("/api/documents/" + id + "/edits", {{"base", 1}, {"edits", edits}, {"token", word()}})
          .status,
      200);
  const auto height = [&](const std::string& job) {
    return tree(ask("GET", "/api/jobs/" + job + "/stages/hang"))["result"]["pieces"][0]["bottom_m"]
        .get<double>();
  };
  EXPECT_DOUBLE_EQ(height("room"), 0.6);
  EXPECT_DOUBLE_EQ(height(id), 0.9);
  Json draft = {{"page", "p"}, {"number", 1}, {"base", 2}, {"edits", Json::array()}};
  EXPECT_EQ(post("/api/jobs/" + id + "/draft", draft).status, 200);
  EXPECT_EQ(post("/api/jobs/" + id + "/alternatives", {{"name", "x"}, {"token", "u"}}).status, 404)
      << "an alternative has none of its own";
  EXPECT_EQ(ask("GET", "/api/jobs/none/alternatives").status, 404);
}

TEST_F(ServiceTest, the_better_alternative_becomes_the_job_in_one_step) {
  bring_in();
  const std::string id =
      tree(post("/api/jobs/room/alternatives", {{"name", "higher"}, {"token", "t"}}))["id"];
  const Json edits = Json::array({{{"at", "pieces[0].from[1]"}, {"from", 600}, {"to", 900}}});
  post("/api/documents/" + id + "/edits", {{"base", 1}, {"edits", edits}, {"token", word()}});
  const std::string take = "/api/jobs/room/alternatives/" + id + "/take";
  EXPECT_EQ(post("/api/jobs/room/alternatives/room/take", {{"base", 1}, {"token", "x"}}).status,
            404);
  const Json saved = tree(post(take, {{"base", 1}, {"token", "take"}}));
  EXPECT_EQ(saved["version"], 2);
  EXPECT_EQ(tree(post(take, {{"base", 1}, {"token", "take"}}))["version"], 2) << "sent again";
  EXPECT_EQ(tree(ask("GET", "/api/documents/room"))["tree"]["pieces"][0]["from"][1], 900);
  post("/api/documents/room/undo", {{"base", 2}, {"token", word()}});
  EXPECT_EQ(post(take, {{"base", 1}, {"token", "late"}}).status, 409);
  EXPECT_EQ(ask("GET", "/api/documents/room/text").body, small_job());
  EXPECT_EQ(ask("DELETE", "/api/jobs/room/alternatives/" + id).status, 200);
  EXPECT_EQ(tree(ask("GET", "/api/jobs/room/alternatives")).size(), 0u);
  EXPECT_EQ(ask("DELETE", "/api/jobs/room/alternatives/room").status, 404)
      << "the job itself is no alternative";
}

// ---- calendar, times ----------------------------------------------------------------------------

TEST_F(ServiceTest, the_calendar_says_when_each_job_is_built_or_why_it_cannot_be) {
  bring_in("good");
  bring_in("bad");
  const Json edits =
      Json::array({{{"at", "products[0].timber"}, {"from", "batten_27x68"}, {"to", "none"}}});
  post("/api/documents/bad/edits", {{"base", 1}, {"edits", edits}, {"token", word()}});
  const Json rows = tree(ask("GET", "/api/calendar", "", {pair("bench")}));
  ASSERT_EQ(rows.size(), 2u);
  for (const Json& row : rows) {
    const bool good = row["job"] == "good";
    EXPECT_EQ(row["calendar"].is_object(), good) << row;
    EXPECT_EQ(row["reason"] == "", good) << row;
    if (good) {
      EXPECT_GE(row["calendar"]["start"], "2026-11-20");
      EXPECT_EQ(row["calendar"],
                tree(ask("GET", "/api/jobs/good/stages/build"))["result"]["calendar"]);
    }
  }
  EXPECT_EQ(ask("GET", "/api/calendar", "", {pair("site")}).status, 403);
}

class TimesTest : public ServiceTest {
 protected:
  /// A day on which the panel was put together in so many minutes.
  void note(int day, double minutes, const std::string& step = "frame.W1", double count = 0) {
    const std::string date = "2026-11-" + std::to_string(10 + day);
    Json entry = {{"subject", "W1"},
                  {"document", "room"},
                  {"body",
                   {{"station", "bench"},
                    {"step", step},
                    {"started", date + "T09:00:00Z"},
                    {"stopped", date + "T10:00:00Z"},
                    {"minutes", minutes}}},
                  {"token", step + date}};
    if (count > 0) entry["body"]["count"] = count;
    ASSERT_EQ(post("/api/journals/time", {{"expected", nullptr}, {"entries", Json::array({entry})}})
                  .status,
              200);
  }
  Json row(const std::string& key) {
    const Json all = tree(ask("GET", "/api/times"));
    for (const Json& one : all.at(0)["rows"])
      if (one["key"] == key) return one;
    return nullptr;
  }
};

TEST_F(TimesTest, what_the_bench_took_moves_the_standards_of_what_was_done) {
  bring_in();
  const Json before = tree(ask("GET", "/api/times"));
  ASSERT_EQ(before.size(), 1u);
  EXPECT_EQ(before[0]["shop"], "shop_metric.toml");
  EXPECT_EQ(before[0]["rows"].size(), 0u);
  for (int day = 0; day < 5; ++day) note(day, 90);
  const Json corner = row("each.corner");
  ASSERT_TRUE(corner.is_object());
  EXPECT_EQ(corner["station"], "drill_screw");
  EXPECT_EQ(corner["feature"], "corner");
  EXPECT_EQ(corner["standard_min"], 2.5);
  EXPECT_EQ(corner["logs"], 5);
  EXPECT_EQ(corner["days"], 5);
  EXPECT_EQ(corner["moves"], true);
  EXPECT_GT(corner["estimate_min"], 2.6);
  EXPECT_LT(corner["low_min"], corner["high_min"]);
  EXPECT_TRUE(row("each.cut").is_null()) << "the saw was another step";
}

TEST_F(TimesTest, the_steps_of_the_page_are_found_in_the_plan) {
  bring_in();
  const Json build = tree(ask("GET", "/api/jobs/room/stages/build"))["result"];
  const Json& sticks = build["sticks"][0];
  std::string key = "saw." + sticks["section"].get<std::string>() + ".";
  const Json& pattern = sticks["patterns"][0];
  key += shortest(pattern["stock_length_m"].get<double>()) + ".";
  for (std::size_t i = 0; i < pattern["marks"].size(); ++i)
    key += (i ? "+" : "") + shortest(pattern["marks"][i]["length_m"].get<double>());
  note(0, 12, key);
  const Json& cloth = build["cloths"][0];
  note(1, 4,
       "cloth." + cloth["cloth"].get<std::string>() + "." +
           cloth["pieces"][0]["piece"].get<std::string>() + "." +
           cloth["pieces"][0]["name"].get<std::string>());
  note(2, 30, "hang.W1");
  note(3, 0, "frame.W1");
  EXPECT_EQ(row("each.cut")["logs"], 1);
  EXPECT_EQ(row("each.stop_setting")["logs"], 1);
  EXPECT_EQ(row("each.cloth_cut")["logs"], 1);
  EXPECT_EQ(row("each.cut")["moves"], false) << "one day moves nothing";
  const Json all = tree(ask("GET", "/api/times"));
  EXPECT_EQ(all[0]["logs"], 2);
  ASSERT_EQ(all[0]["passed_over"].size(), 2u) << all[0]["passed_over"];
}

TEST_F(TimesTest, set_up_and_stops_that_are_noted_apart_move_their_own_standards) {
  bring_in();
  for (int day = 0; day < 5; ++day) {
    note(day, 24, "set_up.saw");
    note(day, 9, "feature.stop_setting", 6);
  }
  EXPECT_EQ(row("set_up.saw")["logs"], 5);
  EXPECT_EQ(row("set_up.saw")["station"], "saw");
  EXPECT_GT(row("set_up.saw")["estimate_min"], 18) << "24 were taken, 15 are the standard";
  EXPECT_LT(row("each.stop_setting")["estimate_min"], 1.8) << "1.5 were taken, 2 are the standard";
  EXPECT_TRUE(row("each.cut").is_null());
  note(5, 9, "feature.carving");
  note(6, 9, "set_up.lathe");
  const Json all = tree(ask("GET", "/api/times"));
  ASSERT_EQ(all[0]["passed_over"].size(), 1u) << all[0]["passed_over"];
  EXPECT_EQ(all[0]["passed_over"][0]["entries"], 2);
}

TEST_F(TimesTest, standards_that_move_are_one_step_of_the_price_book) {
  bring_in();
  const Json body = {{"shop", "shop_metric.toml"}, {"base", 1}, {"token", "w"}};
  EXPECT_EQ(post("/api/times", body).status, 422) << "nothing was noted";
  for (int day = 0; day < 5; ++day) note(day, 90);
  const double proposal = row("each.corner")["proposal_min"];
  const std::string book = ask("GET", "/api/documents/shop_metric.toml/text").body;
  const PageAnswer out = post("/api/times", body);
  ASSERT_EQ(out.status, 200) << out.body;
  EXPECT_EQ(tree(out)["version"], 2);
  EXPECT_EQ(tree(post("/api/times", body))["version"], 2) << "sent again";
  EXPECT_EQ(tree(ask("GET", "/api/documents/shop_metric.toml"))["tree"]["times"]["each"]["corner"],
            proposal);
  EXPECT_EQ(row("each.corner")["standard_min"], proposal);
  post("/api/documents/shop_metric.toml/undo", {{"base", 2}, {"token", word()}});
  EXPECT_EQ(ask("GET", "/api/documents/shop_metric.toml/text").body, book);
  Json late = body;
  late["token"] = "other";
  EXPECT_EQ(post("/api/times", late).status, 409);
  EXPECT_EQ(post("/api/times", {{"shop", "none"}, {"base", 1}, {"token", "x"}}).status, 404);
  EXPECT_EQ(post("/api/times", body, {pair("bench")}).status, 403);
}

}  // namespace
}  // namespace roomwright::app
