// Jobs and documents: made, changed by several people, taken back, brought in and out.
#include "app/service/trial.h"

namespace roomwright::app {
namespace {

Json edits_body(int base, const Json& edits, const std::string& token) {
  return {{"base", base}, {"edits", edits}, {"token", token}};
}

TEST_F(ServiceTest, a_new_shop_is_empty_and_says_who_asks) {
  const Json state = tree(ask("GET", "/api/state"));
  EXPECT_EQ(state["empty"], true);
  EXPECT_EQ(state["role"], "office");
  EXPECT_EQ(state["lan"], true);
  bring_in();
  EXPECT_EQ(tree(ask("GET", "/api/state"))["empty"], false);
  const Json site = tree(ask("GET", "/api/state", "", {pair("site", "van")}));
  EXPECT_EQ(site["role"], "site");
  EXPECT_EQ(site["who"], "van");
}

TEST_F(ServiceTest, the_demo_and_its_price_book_come_out_of_the_program) {
  const PageAnswer made = post("/api/jobs", {{"start", "demo"}});
  ASSERT_EQ(made.status, 201) << made.body;
  const std::string id = tree(made)["id"];
  EXPECT_EQ(id, "mixing-room-under-the-stairs");
  EXPECT_EQ(ask("GET", "/api/jobs/" + id + "/export").body, example("control_room"));
  EXPECT_EQ(ask("GET", "/api/documents/shop_metric.toml/text").body, example("shop_metric"));
  const Json jobs = tree(ask("GET", "/api/jobs"));
  ASSERT_EQ(jobs.size(), 1u);
  EXPECT_EQ(jobs[0]["client"], "the client of the demo");
  EXPECT_EQ(jobs[0]["state"], "offered");
  EXPECT_GT(jobs[0]["pieces"], 10);
}

TEST_F(ServiceTest, a_room_of_ones_own_is_a_job_without_mistakes_in_every_unit) {
  const std::vector<std::pair<std::string, Json>> rooms = {{"mm", {4800, 3600, 2500}},
                                                           {"cm", {480, 360, 250}},
                                                           {"m", {4.8, "3.6", "2500 mm"}},
                                                           {"in", {"189", 141.75, "8' 2 1/2\""}},
                                                           {"ft", {"15' 9\"", 12, 8.2}}};
  for (const auto& [units, size] : rooms) {
    const PageAnswer made =
        post("/api/jobs",
             {{"start", "room"}, {"title", "Room in " + units}, {"units", units}, {"size", size}});
    ASSERT_EQ(made.status, 201) << units << made.body;
    const std::string id = tree(made)["id"];
    const PageAnswer survey = ask("GET", "/api/jobs/" + id + "/stages/survey");
    ASSERT_EQ(survey.status, 200) << survey.body;
    EXPECT_NEAR(tree(survey)["result"]["volume_m3"].get<double>(), 43.2, 1.5) << units;
    EXPECT_EQ(tree(ask("GET", "/api/documents/" + id))["tree"]["region"]["units"], units);
  }
  EXPECT_EQ(tree(ask("GET", "/api/documents?kind=shop")).size(), 2u);
  for (const std::string units : {"mm", "in"})
    EXPECT_EQ(post("/api/jobs", {{"start", "room"}, {"units", units}}).status, 201);
}

TEST_F(ServiceTest, a_room_that_cannot_be_is_refused_with_its_mistakes) {
  const auto status = [&](const Json& size) {
    return post("/api/jobs", {{"start", "room"}, {"size", size}}).status;
  };
  EXPECT_EQ(status({1, 2}), 400);
  EXPECT_EQ(status({"a", "b", "c"}), 400);
  EXPECT_EQ(status({0, 3000, 2400}), 422);
  EXPECT_EQ(status({1e300, 3000, 2400}), 400);
  EXPECT_EQ(post("/api/jobs", {{"start", "nothing"}}).status, 400);
  EXPECT_EQ(post("/api/jobs", {{"start", "room"}, {"units", "ell"}}).status, 400);
  EXPECT_EQ(tree(ask("GET", "/api/jobs")).size(), 0u);
}

TEST_F(ServiceTest, an_order_of_every_kind_is_built_and_priced_in_every_unit) {
  for (const std::string units : {"mm", "cm", "m", "in", "ft"}) {
    Json items = Json::array();
    const bool metric = units != "in" && units != "ft";
    for (const char* kind : {"wall_panel", "ceiling_cloud", "straddling_trap", "solid_trap"})
      if (metric || kind != std::string("solid_trap"))  // the inch book has no sheets
        items.push_back({{"kind", kind},
                         {"count", 2},
                         {"cloth", metric ? "open_weave_grey" : "open_weave_sand"}});
    const PageAnswer made =
        post("/api/jobs", {{"start", "order"}, {"units", units}, {"items", items}});
    ASSERT_EQ(made.status, 201) << units << made.body;
    const std::string id = tree(made)["id"];
    for (const char* stage : {"build", "price"}) {
      const PageAnswer out = ask("GET", "/api/jobs/" + id + "/stages/" + stage);
      EXPECT_EQ(out.status, 200) << units << stage << out.body;
    }
    EXPECT_EQ(tree(ask("GET", "/api/jobs/" + id + "/inspections"))["pieces"].size(),
              2 * items.size())
        << units;
  }
}

TEST_F(ServiceTest, an_order_has_its_customer_its_sizes_its_cloths_and_its_way_there) {
  const Json lines = Json::array(
      {{{"kind", "wall_panel"},
        {"width", "1' 11 1/2\""},
        {"height", 40},
        {"count", 9},
        {"cloth", "open_weave_sand"}},
       {{"kind", "wall_panel"}, {"width", 23.5}, {"height", 24}, {"count", 4}, {"cloth", ""}}});
  Json order = {{"start", "order"},  {"title", "Panels for a practice room"},
                {"units", "in"},     {"customer", "someone"},
                {"collected", true}, {"items", lines}};
  const Json library = tree(ask("GET", "/api/library"));
  ASSERT_EQ(library["books"].size(), 2u) << "those that come with the program";
  for (const Json& book : library["books"])
    if (book["metric"] == false) order["items"][1]["cloth"] = book["cloths"].front()["key"];
  const PageAnswer made = post("/api/jobs", order);
  ASSERT_EQ(made.status, 201) << made.body;
  const std::string id = tree(made)["id"];
  EXPECT_EQ(id, "panels-for-a-practice-room");
  const Json document = tree(ask("GET", "/api/documents/" + id))["tree"];
  EXPECT_EQ(document["client"]["name"], "someone");
  EXPECT_EQ(document["shop"], "shop_inch.toml");
  EXPECT_EQ(document["order"]["collected"], true);
  EXPECT_EQ(document["products"].size(), 1u) << "one product, two sizes of it";
  EXPECT_EQ(document["order"]["items"][0]["width"], "1' 11 1/2\"") << "as it was written";
  EXPECT_EQ(order["items"][1]["cloth"], "open_weave_sand") << "no book offers a cloth for backs";
  EXPECT_FALSE(document["order"]["items"][1].contains("cloth")) << "the product's own";
  const Json row = tree(ask("GET", "/api/jobs"))[0];
  EXPECT_EQ(row["pieces"], 13);
  EXPECT_EQ(row["order"], true);
  EXPECT_EQ(row["state"], "offered");
  const Json price = tree(ask("GET", "/api/jobs/" + id + "/stages/price"))["result"];
  EXPECT_GT(std::stod(price["costing"]["price"].get<std::string>()), 0);
}

TEST_F(ServiceTest, an_order_of_two_cloths_has_one_product_and_names_the_second) {
  const Json lines =
      Json::array({{{"kind", "wall_panel"}, {"count", 1}, {"cloth", "open_weave_grey"}},
                   {{"kind", "wall_panel"}, {"count", 1}, {"cloth", "heavy_wool_felt"}}});
  const PageAnswer made = post("/api/jobs", {{"start", "order"}, {"items", lines}});
  ASSERT_EQ(made.status, 201) << made.body;
  const Json document =
      tree(ask("GET", "/api/documents/" + tree(made)["id"].get<std::string>()))["tree"];
  EXPECT_EQ(document["products"].size(), 1u);
  EXPECT_EQ(document["order"]["items"][1]["cloth"], "heavy_wool_felt");
}

TEST_F(ServiceTest, an_order_that_cannot_be_names_the_line_and_its_field) {
  const auto wrong = [&](Json line) {
    const Json good = {{"kind", "wall_panel"}, {"count", 1}, {"cloth", "open_weave_grey"}};
    if (!line.contains("cloth")) line["cloth"] = "open_weave_grey";
    const PageAnswer out =
        post("/api/jobs", {{"start", "order"}, {"items", Json::array({good, line})}});
    EXPECT_TRUE(out.status == 400 || out.status == 422) << out.body;
    return tree(out)["errors"][0]["where"].get<std::string>();
  };
  EXPECT_EQ(wrong({{"kind", "door"}, {"count", 1}}), "items[1].kind");
  EXPECT_EQ(wrong({{"kind", "wall_panel"}, {"count", 0}}), "items[1].count");
  EXPECT_EQ(wrong({{"kind", "wall_panel"}, {"count", 1}, {"width", true}}), "items[1].width");
  EXPECT_EQ(wrong({{"kind", "wall_panel"}, {"count", 1}, {"width", 5000}}), "order.items[1].width");
  EXPECT_EQ(wrong({{"kind", "wall_panel"}, {"count", 1}, {"cloth", "silk"}}),
            "order.items[1].cloth");
  EXPECT_EQ(wrong({{"kind", "wall_panel"}, {"count", 1}, {"cloth", "fleece_black"}}),
            "order.items[1].cloth")
      << "for backs alone";
  EXPECT_EQ(wrong({{"kind", "wall_panel"}, {"count", 1}, {"cloth", ""}}), "items[1].cloth");
  EXPECT_EQ(post("/api/jobs", {{"start", "order"}}).status, 400) << "of nothing";
  const Json solid =
      Json::array({{{"kind", "solid_trap"}, {"count", 1}, {"cloth", "open_weave_sand"}}});
  const PageAnswer out = post("/api/jobs", {{"start", "order"}, {"units", "in"}, {"items", solid}});
  EXPECT_EQ(tree(out)["errors"][0]["where"], "items[0].kind") << "the inch book has no sheets";
  EXPECT_EQ(tree(ask("GET", "/api/jobs")).size(), 0u);
}

TEST_F(ServiceTest, a_job_that_is_begun_twice_with_one_token_is_one_job) {
  const Json body = {{"start", "room"}, {"title", "One"}, {"token", "t"}};
  const Json first = tree(post("/api/jobs", body)), again = tree(post("/api/jobs", body));
  EXPECT_EQ(first["id"], again["id"]);
  EXPECT_EQ(tree(ask("GET", "/api/jobs")).size(), 1u);
  const Json other = tree(post("/api/jobs", {{"start", "room"}, {"title", "One"}}));
  EXPECT_EQ(other["id"], "one-2");
}

TEST_F(ServiceTest, a_job_file_comes_in_and_goes_out_byte_for_byte) {
  const std::string odd = "\xef\xbb\xbf# Größe\r\n" + small_job() + "\r\n\t# end";
  From from;
  from.kind = "application/toml";
  const PageAnswer made = ask("POST", "/api/jobs/import?name=x%2Fy%5Codd.toml", odd, from);
  ASSERT_EQ(made.status, 201) << made.body;
  EXPECT_EQ(tree(made)["id"], "odd");
  const PageAnswer out = ask("GET", "/api/jobs/odd/export");
  EXPECT_EQ(out.body, odd);
  EXPECT_EQ(header(out, "Content-Disposition"), "attachment; filename=\"odd.toml\"");
  const PageAnswer again = ask("POST", "/api/jobs/import?name=odd.toml&token=t", odd, from);
  EXPECT_EQ(tree(again)["id"], "odd-2");
  EXPECT_EQ(tree(ask("POST", "/api/jobs/import?name=odd.toml&token=t", odd, from))["id"], "odd-2");
}

TEST_F(ServiceTest, a_file_with_mistakes_is_refused_with_all_of_them) {
  From from;
  from.kind = "application/toml";
  std::string text = small_job();
  text.replace(text.find("mixing"), 6, "mixxing");
  text.replace(text.find("2400]"), 5, "-1]");
  const PageAnswer out = ask("POST", "/api/jobs/import?name=a.toml", text, from);
  EXPECT_EQ(out.status, 422);
  EXPECT_GE(tree(out)["errors"].size(), 2u) << out.body;
  EXPECT_EQ(tree(out)["errors"][0]["where"].get<std::string>().find("job file"), std::string::npos);
  EXPECT_EQ(ask("POST", "/api/jobs/import?name=a.toml", std::string("a = "), from).status, 422);
  std::string other = small_job();
  other.replace(other.find("shop_metric"), 11, "shop_of_own");
  EXPECT_NE(ask("POST", "/api/jobs/import?name=a.toml", other, from).body.find("not here"),
            std::string::npos);
  EXPECT_EQ(
      ask("POST", "/api/jobs/import?name=shop_of_own.toml", example("shop_metric"), from).status,
      201);
  EXPECT_EQ(ask("POST", "/api/jobs/import?name=a.toml", other, from).status, 201);
  EXPECT_EQ(ask("POST", "/api/jobs/import?name=a", example("shop_metric"), from).status, 422)
      << "a price book never takes a job's place";
}

TEST_F(ServiceTest, an_edit_is_a_step_and_undo_gives_every_byte_back) {
  bring_in();
  const Json first = tree(ask("GET", "/api/documents/room"));
  EXPECT_EQ(first["format"], "toml");
  EXPECT_EQ(first["tree"]["room"]["size"][2], 2400);
  const Json edit = {{"at", "room.size[2]"}, {"from", 2400}, {"to", 2350}};
  const Json saved =
      tree(post("/api/documents/room/edits", edits_body(1, Json::array({edit}), word())));
  EXPECT_EQ(saved["version"], 2);
  EXPECT_NE(ask("GET", "/api/documents/room/text").body.find("2350] # by tape"), std::string::npos);
  EXPECT_EQ(tree(ask("GET", "/api/documents/room?version=1"))["tree"]["room"]["size"][2], 2400);
  EXPECT_EQ(post("/api/documents/room/undo", {{"base", 2}, {"token", word()}}).status, 200);
  EXPECT_EQ(ask("GET", "/api/documents/room/text").body, small_job());
  EXPECT_EQ(post("/api/documents/room/redo", {{"base", 3}, {"token", word()}}).status, 200);
  EXPECT_EQ(post("/api/documents/room/redo", {{"base", 4}, {"token", word()}}).status, 422);
  EXPECT_EQ(post("/api/documents/room/undo", {{"base", 1}, {"token", word()}}).status, 409);
  const Json steps = tree(ask("GET", "/api/documents/room/history?after=1"));
  ASSERT_EQ(steps.size(), 3u);
  EXPECT_EQ(steps[0]["edits"][0]["to"], 2350);
  EXPECT_EQ(steps[1]["kind"], "undone");
  EXPECT_EQ(ask("GET", "/api/documents/none").status, 404);
  EXPECT_EQ(ask("GET", "/api/documents/none/history").status, 404);
  EXPECT_EQ(post("/api/documents/none/undo", {{"base", 1}, {"token", word()}}).status, 404);
  EXPECT_EQ(ask("GET", "/api/documents/room?version=99").status, 404);
}

TEST_F(ServiceTest, two_people_at_one_job_are_merged_or_told_both_values) {
  bring_in();
  const auto send_edit = [&](const char* at, const Json& from, const Json& to) {
    return post("/api/documents/room/edits",
                edits_body(1, Json::array({{{"at", at}, {"from", from}, {"to", to}}}), word()));
  };
  EXPECT_EQ(send_edit("room.size[2]", 2400, 2350).status, 200);
  const Json merged = tree(send_edit("pieces[0].from[0]", 1200, 1300));
  EXPECT_EQ(merged["merged"], true);
  EXPECT_EQ(merged["version"], 3);
  EXPECT_EQ(merged["since"].size(), 1u);
  const PageAnswer refused = send_edit("room.size[2]", 2400, 2500);
  EXPECT_EQ(refused.status, 409);
  const Json conflict = tree(refused)["conflicts"][0];
  EXPECT_EQ(conflict["was"], 2400);
  EXPECT_EQ(conflict["now"], 2350);
  EXPECT_EQ(conflict["mine"], 2500);
  EXPECT_EQ(send_edit("room.width", 1, 2).status, 422) << "a place that is not there";
}

TEST_F(ServiceTest, a_write_whose_answer_was_lost_is_made_once) {
  bring_in();
  const Json body =
      edits_body(1, Json::array({{{"at", "room.size[2]"}, {"from", 2400}, {"to", 2350}}}), "lost");
  const Json first = tree(post("/api/documents/room/edits", body));
  const Json again = tree(post("/api/documents/room/edits", body));
  EXPECT_EQ(first["version"], again["version"]);
  EXPECT_EQ(first["sequence"], again["sequence"]);
  EXPECT_EQ(tree(ask("GET", "/api/documents/room/history")).size(), 2u);
  const Json undo = {{"base", 2}, {"token", "lost"}};
  EXPECT_EQ(tree(post("/api/documents/room/undo", undo))["version"], 3)
      << "the same word for another write is another write";
  EXPECT_EQ(tree(post("/api/documents/room/undo", undo))["version"], 3);
}

TEST_F(ServiceTest, a_whole_text_needs_the_newest_version) {
  bring_in();
  std::string text = small_job();
  text.replace(text.find("Small"), 5, "Other");
  const Json body = {{"base", 1}, {"text", text}, {"token", word()}, {"note", "by hand"}};
  EXPECT_EQ(send("PUT", "/api/documents/room/text", body).status, 200);
  EXPECT_EQ(ask("GET", "/api/documents/room/text").body, text);
  const Json late = {{"base", 1}, {"text", small_job()}, {"token", word()}};
  EXPECT_EQ(send("PUT", "/api/documents/room/text", late).status, 409);
  const Json broken = {{"base", 2}, {"text", "a = "}, {"token", word()}};
  EXPECT_EQ(send("PUT", "/api/documents/room/text", broken).status, 422);
}

TEST_F(ServiceTest, a_job_put_out_of_the_way_comes_back_with_undo) {
  bring_in();
  EXPECT_EQ(send("DELETE", "/api/documents/room", {{"base", 1}, {"token", word()}}).status, 200);
  EXPECT_EQ(tree(ask("GET", "/api/jobs")).size(), 0u);
  EXPECT_EQ(post("/api/documents/room/undo", {{"base", 2}, {"token", word()}}).status, 200);
  EXPECT_EQ(tree(ask("GET", "/api/jobs")).size(), 1u);
}

TEST_F(ServiceTest, those_who_listen_hear_what_was_written_and_what_they_missed) {
  std::vector<PageEvent> office, site;
  const auto first =
      service_->listen(-1, Role::office, [&](const PageEvent& one) { office.push_back(one); });
  bring_in();
  pair("bench");
  ASSERT_EQ(office.size(), 3u) << "price book, job, device";
  EXPECT_EQ(Json::parse(office[1].data)["id"], "room");
  EXPECT_EQ(office[1].name, "change");
  const auto second =
      service_->listen(0, Role::site, [&](const PageEvent& one) { site.push_back(one); });
  EXPECT_EQ(site.size(), 2u) << "who is paired is the office's affair";
  service_->forget(first);
  bring_in();
  EXPECT_EQ(office.size(), 3u);
  EXPECT_EQ(site.size(), 3u);
  service_->forget(second);
}

TEST_F(ServiceTest, the_library_names_materials_and_uses) {
  const Json library = tree(ask("GET", "/api/library"));
  EXPECT_GT(library["materials"].size(), 40u);
  EXPECT_EQ(library["uses"][0], "mixing");
}

TEST_F(ServiceTest, bench_and_site_read_jobs_but_no_prices_and_no_settings) {
  bring_in();
  ASSERT_TRUE(store_->create("shop-settings", "settings", "a = 1\n", {"office", now_, {}}).ok());
  const std::string bench = pair("bench");
  EXPECT_EQ(ask("GET", "/api/documents/room", "", {bench}).status, 200);
  EXPECT_EQ(ask("GET", "/api/documents/shop-settings", "", {bench}).status, 403);
  EXPECT_EQ(ask("GET", "/api/documents/shop-settings").status, 200);
  EXPECT_EQ(ask("GET", "/api/documents/shop_metric.toml", "", {bench}).status, 403);
  EXPECT_EQ(ask("GET", "/api/documents/shop_metric.toml").status, 200);
  EXPECT_EQ(ask("GET", "/api/jobs/room/stages/price", "", {bench}).status, 403);
  EXPECT_EQ(ask("GET", "/api/jobs/room/papers/01-quote.pdf", "", {bench}).status, 403);
  EXPECT_EQ(ask("GET", "/api/jobs/room/papers/09-costing.pdf", "", {bench}).status, 403);
}

}  // namespace
}  // namespace roomwright::app
