// Reflections as an echogram against the same paths listed, and decay by images.
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "app/api/api.h"

namespace roomwright::app {
namespace {

Json asked(const char* text) {
  return Json::parse(text);
}

Json answer(const char* kind, const Json& request) {
  const auto out = calc(kind, request);
  EXPECT_TRUE(out.ok()) << out.mistakes().text();
  return out.ok() ? *out : Json();
}

std::string refusal(const char* kind, const Json& request) {
  const auto out = calc(kind, request);
  EXPECT_FALSE(out.ok());
  return out.ok() ? "" : out.mistakes().text();
}

Json box() {
  return asked(R"({"room": {"size_m": [5, 4, 2.6]}, "sources": [{"at_m": [1.2, 1.3, 1.2]}],
    "receivers_m": [[2.4, 2, 1.2], [4.1, 3, 1.5]], "max_order": 4,
    "surfaces": {"default": {"absorption": 0.2}, "ceiling": {"absorption": 0.6}}})");
}

/// The steps of the echogram that the listed paths make.
std::vector<double> binned(const Json& pair, double step_ms, std::size_t steps) {
  std::vector<double> out(steps, 0.0);
  for (const Json& path : pair["paths"]) {
    const double step = path["delay_ms"].get<double>() / step_ms;
    if (step < double(steps))
      out[std::size_t(step)] += std::pow(10, path["level_db"].get<double>() / 10);
  }
  return out;
}

void expect_the_listed_sums(Json request) {
  const Json listed = answer("reflections", request);
  request["echogram"] = {{"step_ms", 0.5}, {"window_ms", 60}};
  const Json summed = answer("reflections", request);
  ASSERT_EQ(summed["pairs"].size(), listed["pairs"].size());
  for (std::size_t pair = 0; pair < listed["pairs"].size(); ++pair) {
    const Json& steps = summed["pairs"][pair]["echogram"];
    ASSERT_EQ(steps.size(), 120u);
    EXPECT_FALSE(summed["pairs"][pair].contains("paths"));
    EXPECT_EQ(summed["pairs"][pair]["direct_m"], listed["pairs"][pair]["direct_m"]);
    const auto wanted = binned(listed["pairs"][pair], 0.5, 120);
    for (std::size_t i = 0; i < 120; ++i) {
      EXPECT_EQ(steps[i]["ms"].get<double>(), 0.5 * double(i));
      EXPECT_NEAR(steps[i]["energy"].get<double>(), wanted[i], 1e-9) << i;
      EXPECT_EQ(steps[i]["energy_db"].is_null(), wanted[i] == 0) << i;
      if (wanted[i] > 0)
        EXPECT_NEAR(steps[i]["energy_db"].get<double>(), 10 * std::log10(wanted[i]), 1e-6);
    }
  }
}

TEST(CalcReflections, an_echogram_is_the_sum_of_the_paths_of_a_box) {
  expect_the_listed_sums(box());
}

TEST(CalcReflections, an_echogram_is_the_sum_of_the_paths_with_patches_and_in_any_plan) {
  Json patched = box();
  patched["patches"] = asked(R"([{"surface": "wall1", "from_m": [0.5, 0.5], "to_m": [3, 2],
    "absorption": 0.9}])");
  expect_the_listed_sums(patched);
  Json ell = box();
  ell["room"] = asked(R"({"plan_m": [[0, 0], [5.2, 0], [5.2, 2.4], [3.1, 2.4], [3.1, 4.1],
    [0, 4.1]], "height_m": 2.6})");
  ell["receivers_m"] = asked("[[4.4, 1.1, 1.2], [0.6, 3.6, 1.5]]");
  ell["max_order"] = 3;
  expect_the_listed_sums(ell);
}

TEST(CalcReflections, a_high_order_fills_the_window_and_says_up_to_when_it_is_complete) {
  Json request = box();
  request["echogram"] = asked("{}");
  request["max_order"] = 20;
  const Json some = answer("reflections", request)["pairs"][0];
  request["max_order"] = 60;
  const Json all = answer("reflections", request)["pairs"][0];
  ASSERT_EQ(all["echogram"].size(), 200u) << "1 ms up to 200 ms where nothing else is asked";
  EXPECT_LT(some["complete_ms"].get<double>(), 200);
  EXPECT_GT(all["complete_ms"].get<double>(), 200);
  const auto whole = std::size_t(some["complete_ms"].get<double>());
  for (std::size_t i = 0; i < whole; ++i)
    EXPECT_EQ(some["echogram"][i]["energy"], all["echogram"][i]["energy"]) << i;
  EXPECT_GT(all["images"].get<int>(), some["images"].get<int>());
}

TEST(CalcReflections, more_than_can_be_told_is_refused_with_what_to_lower) {
  const auto with = [](const char* key, const Json& value, bool echogram = true) {
    Json request = box();
    if (echogram) request["echogram"] = asked("{}");
    request[key] = value;
    return request;
  };
  EXPECT_NE(refusal("reflections", with("max_order", 201)).find("max_order"), std::string::npos);
  EXPECT_NE(refusal("reflections", with("max_order", 21, false)).find("ask for an echogram"),
            std::string::npos);
  EXPECT_NE(refusal("reflections", with("window_ms", 50)).find("echogram.window_ms alone"),
            std::string::npos);
  EXPECT_NE(refusal("reflections", with("echogram", {{"step_ms", 0.1}, {"window_ms", 20000}}))
                .find("echogram.step_ms"),
            std::string::npos);
  EXPECT_NE(refusal("reflections", with("echogram", {{"step_s", 1}})).find("step_ms"),
            std::string::npos);
  EXPECT_NE(refusal("reflections", with("echogram", 3)).find("echogram"), std::string::npos);
  EXPECT_NE(refusal("reflections", with("echogram", {{"step_ms", 5}, {"window_ms", 2}}))
                .find("at least step_ms"),
            std::string::npos);
  Json patched = with("max_order", 30);
  patched["patches"] =
      asked(R"([{"surface": "floor", "from_m": [1, 1], "to_m": [2, 2], "absorption": 0.9}])");
  EXPECT_NE(refusal("reflections", patched).find("at most 20"), std::string::npos);
  Json crowd = with("max_order", 200);
  for (int i = 0; i < 40; ++i) crowd["receivers_m"].push_back({3 + 0.01 * i, 2, 1});
  EXPECT_NE(refusal("reflections", crowd).find("so many pairs"), std::string::npos);
  Json many = with("max_order", 20, false);
  for (int i = 0; i < 10; ++i) many["receivers_m"].push_back({3 + 0.01 * i, 2, 1});
  EXPECT_NE(refusal("reflections", many).find("100 000 paths"), std::string::npos);
  Json outside = with("receivers_m", asked("[[9, 9, 9]]"));
  EXPECT_NE(refusal("reflections", outside).find("receivers_m[0]"), std::string::npos);
}

TEST(CalcDecay, images_ring_with_the_room_and_refuse_what_they_cannot_do) {
  Json request = box();
  request.erase("max_order");
  request["method"] = "images";
  request["air"] = {{"attenuation", false}};
  request["surfaces"] = asked(R"({"default": {"absorption": 0.2}})");
  const Json images = answer("decay", request);
  ASSERT_EQ(images["bands"].size(), 8u);
  EXPECT_EQ(images["pairs"].size(), 2u);
  // Directions that meet few walls outlive Eyring's mean: longer, but of its kind.
  request["method"] = "eyring";
  const double eyring = answer("decay", request)["bands"][4]["t_s"].get<double>();
  const double t20 = images["bands"][4]["t20_s"]["value"].get<double>();
  EXPECT_GT(t20, eyring);
  EXPECT_LT(t20, 1.4 * eyring);
  EXPECT_EQ(images["bands"][4]["t_s"], images["bands"][4]["t20_s"]["value"]);
  request["method"] = "images";
  request["max_order"] = 5;
  const Json short_of = answer("decay", request)["bands"][4];
  EXPECT_TRUE(short_of["t_s"].is_null());
  EXPECT_NE(short_of["reason"].get<std::string>().find("raise max_order"), std::string::npos);
  request["max_order"] = 20;
  request["rays"] = 1000;
  EXPECT_NE(refusal("decay", request).find("rays"), std::string::npos);
  request.erase("rays");
  request["room"] =
      asked(R"({"plan_m": [[0, 0], [5, 0], [5, 3], [3, 4], [0, 4]], "height_m": 2.6})");
  EXPECT_NE(refusal("decay", request).find("needs a rectangular room"), std::string::npos);
}

}  // namespace
}  // namespace roomwright::app
