// What tests of the served program share: a store of their own in memory, and JSON.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "server/client.h"

namespace roomwright::served {

namespace fs = std::filesystem;

using Json = nlohmann::json;

class Serving : public testing::Test {
 protected:
  void SetUp() override {
    const fs::path fast = "/dev/shm";
    folder_ = (::access(fast.c_str(), W_OK) == 0 ? fast : fs::temp_directory_path()) /
              ("roomwright_served_" + std::to_string(::getpid()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    ::setenv("ROOMWRIGHT_KEPT", "", 1);
    ::setenv("XDG_DATA_HOME", (folder_ / "data").c_str(), 1);
    ::unsetenv("ROOMWRIGHT_STORE");
    ::unsetenv("DISPLAY");
    ::unsetenv("WAYLAND_DISPLAY");
  }
  void TearDown() override { fs::remove_all(folder_); }
  std::string store() const { return (folder_ / "shop.store").string(); }
  std::unique_ptr<Served> serve(const std::vector<std::string>& arguments = {}) {
    auto out = std::make_unique<Served>(store(), arguments);
    EXPECT_TRUE(out->up()) << out->said();
    return out;
  }
  static std::string host(const Served& served) {
    return "127.0.0.1:" + std::to_string(served.port());
  }
  static Json json(const Answer& answer) {
    const Json out = Json::parse(answer.body, nullptr, false);
    return out.is_discarded() ? Json() : out;
  }
  /// The demo job; its name in the store.
  static std::string demo(Served& served) {
    const Answer made =
        served.ask("POST", "/api/jobs", Json({{"start", "demo"}, {"token", fresh_token()}}).dump());
    EXPECT_EQ(made.status, 201) << made.body;
    return json(made).value("id", "");
  }
  static bool healthy(Served& served) {
    return served.alive() && served.ask("GET", "/api/state").status == 200;
  }
  /// One line of a journal, as a bench posts it.
  static std::string note_body(const std::string& token, const std::string& job,
                               const std::string& text) {
    const Json entry = {{"subject", "A1"},
                        {"document", job},
                        {"token", token},
                        {"body", {{"text", text}, {"at", "2026-11-27T15:04:05Z"}}}};
    return Json({{"expected", nullptr}, {"entries", Json::array({entry})}}).dump();
  }
  fs::path folder_;
};

}  // namespace roomwright::served
