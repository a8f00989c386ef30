// Pairing: codes, secrets, guesses, devices that are gone.
#include "app/service/trial.h"

namespace roomwright::app {
namespace {

const From stranger{"", "192.168.1.66", "", "", true};

TEST_F(ServiceTest, a_code_pairs_one_device_once) {
  const Json code = tree(post("/api/devices/codes", {{"role", "bench"}, {"name", "the tablet"}}));
  EXPECT_EQ(code["code"].get<std::string>().size(), 6u);
  EXPECT_EQ(code["address"], "https://192.168.1.20:8138");
  EXPECT_EQ(code["expires"], "2026-11-27T15:14:05Z");
  const Json body = {{"code", code["code"]}, {"name", "mine"}};
  const PageAnswer paired = post("/api/devices/pair", body, stranger);
  ASSERT_EQ(paired.status, 200);
  EXPECT_EQ(tree(paired)["name"], "the tablet") << "the office's name for it stands";
  EXPECT_EQ(tree(paired)["role"], "bench");
  const std::string cookie = header(paired, "Set-Cookie");
  for (const char* word : {"roomwright=", "HttpOnly", "Secure", "SameSite=Strict", "Path=/"})
    EXPECT_NE(cookie.find(word), std::string::npos) << cookie;
  EXPECT_EQ(post("/api/devices/pair", body, stranger).status, 403) << "a code works once";
}

TEST_F(ServiceTest, a_code_ends_after_ten_minutes) {
  const Json code = tree(post("/api/devices/codes", {{"role", "bench"}}));
  now_ = "2026-11-27T15:14:05Z";
  const Json body = {{"code", code["code"]}, {"name", "late"}};
  EXPECT_EQ(post("/api/devices/pair", body, stranger).status, 403);
}

TEST_F(ServiceTest, the_code_to_photograph_is_the_address_with_the_code) {
  const Json qr = tree(post("/api/devices/codes", {{"role", "site"}}))["qr"];
  EXPECT_GE(qr["modules"], 29);
  const std::string path = qr["path"];
  EXPECT_EQ(path.find_first_not_of("MLZ 0123456789"), std::string::npos);
  EXPECT_EQ(path.substr(0, 4), "M4 4") << "the finder begins behind four light modules";
}

TEST_F(ServiceTest, no_secret_stands_in_the_store) {
  const std::string secret = pair("office");
  ASSERT_EQ(secret.size(), 64u);
  service_.reset();
  store_.reset();
  for (const auto& file : std::filesystem::recursive_directory_iterator(folder_)) {
    if (!file.is_regular_file()) continue;
    std::ifstream in(file.path(), std::ios::binary);
    std::ostringstream bytes;
    bytes << in.rdbuf();
    EXPECT_EQ(bytes.str().find(secret), std::string::npos) << file.path();
    if (file.path().extension() == ".store")
      EXPECT_NE(bytes.str().find(sha256_hex(secret)), std::string::npos);
  }
  open();
  EXPECT_EQ(ask("GET", "/api/jobs", "", {secret}).status, 200) << "devices outlive the program";
}

TEST_F(ServiceTest, whoever_guesses_is_not_heard_for_ten_minutes) {
  const Json code = tree(post("/api/devices/codes", {{"role", "bench"}}));
  const auto guess = [&](const std::string& guessed, const From& from) {
    return post("/api/devices/pair", {{"code", guessed}, {"name", "x"}}, from).status;
  };
  for (int i = 0; i < 4; ++i) EXPECT_EQ(guess("wrong", stranger), 403);
  EXPECT_EQ(guess("wrong", stranger), 429);
  EXPECT_EQ(guess(code["code"], stranger), 429) << "not even with the right one";
  const From friendly{"", "192.168.1.67", "", "", true};
  EXPECT_EQ(guess(code["code"], friendly), 200);
  now_ = "2026-11-27T15:14:04Z";
  EXPECT_EQ(guess("wrong", stranger), 429);
  now_ = "2026-11-27T15:14:05Z";
  EXPECT_EQ(guess("wrong", stranger), 403);
}

TEST_F(ServiceTest, ten_wrong_guesses_from_anywhere_void_every_code) {
  const Json code = tree(post("/api/devices/codes", {{"role", "bench"}}));
  for (int i = 0; i < 10; ++i) {
    const From peer{"", "192.168.2." + std::to_string(i), "", "", true};
    const int status = post("/api/devices/pair", {{"code", "wrong"}, {"name", "x"}}, peer).status;
    EXPECT_EQ(status, i < 9 ? 403 : 429);
  }
  const Json body = {{"code", code["code"]}, {"name", "x"}};
  const From late{"", "192.168.3.1", "", "", true};
  EXPECT_GE(post("/api/devices/pair", body, late).status, 403);
  const Json fresh = tree(post("/api/devices/codes", {{"role", "bench"}}));
  const Json again = {{"code", fresh["code"]}, {"name", "x"}};
  EXPECT_EQ(post("/api/devices/pair", again, late).status, 200);
}

TEST_F(ServiceTest, a_device_that_is_unpaired_stays_outside) {
  const std::string secret = pair("bench", "lost tablet"), other = pair("site", "van");
  const Json devices = tree(ask("GET", "/api/devices"));
  ASSERT_EQ(devices.size(), 2u);
  const std::string id = devices[0]["name"] == "lost tablet" ? devices[0]["id"] : devices[1]["id"];
  EXPECT_EQ(ask("GET", "/api/jobs", "", {secret}).status, 200);
  EXPECT_EQ(ask("DELETE", "/api/devices/" + id).status, 200);
  EXPECT_EQ(ask("GET", "/api/jobs", "", {secret}).status, 401);
  EXPECT_EQ(ask("GET", "/api/jobs", "", {other}).status, 200);
  EXPECT_EQ(ask("DELETE", "/api/devices/" + id).status, 404);
  open();
  EXPECT_EQ(ask("GET", "/api/jobs", "", {secret}).status, 401);
  EXPECT_EQ(ask("GET", "/api/jobs", "", {sha256_hex(other)}).status, 401)
      << "the hash is no secret";
}

TEST_F(ServiceTest, who_listens_by_a_device_hears_at_once_that_it_is_unpaired) {
  bring_in();
  const auto admitted = [&](const std::string& secret) {
    return service_->admit(head("GET", "/api/events", {secret}));
  };
  const Admission lost = admitted(pair("bench", "lost")), kept = admitted(pair("site", "kept"));
  std::vector<std::string> of_lost, of_kept;
  const auto into = [](std::vector<std::string>& out) {
    return [&out](const PageEvent& event) { out.push_back(event.name); };
  };
  service_->listen(-1, lost.role, into(of_lost), lost.device);
  service_->listen(-1, kept.role, into(of_kept), kept.device);
  EXPECT_EQ(ask("DELETE", "/api/devices/" + lost.device).status, 200);
  EXPECT_EQ(of_lost, std::vector<std::string>{"gone"});
  bring_in("other");
  EXPECT_EQ(of_lost.size(), 1u) << "nothing follows";
  ASSERT_FALSE(of_kept.empty());
  EXPECT_EQ(of_kept[0], "change");
  std::vector<std::string> late;
  service_->listen(-1, lost.role, into(late), lost.device);
  EXPECT_EQ(late, std::vector<std::string>{"gone"}) << "admitted before, listening after";
}

TEST_F(ServiceTest, what_two_devices_write_can_be_told_apart) {
  EXPECT_EQ(tree(ask("GET", "/api/state", "", {pair("bench", "tablet")}))["who"], "tablet");
  EXPECT_EQ(tree(ask("GET", "/api/state", "", {pair("bench", "tablet")}))["who"], "tablet 2");
  EXPECT_EQ(tree(ask("GET", "/api/state", "", {pair("site", "office")}))["who"], "office 2");
}

TEST_F(ServiceTest, when_a_device_was_seen_is_kept_once_an_hour) {
  const std::string secret = pair("bench");
  const auto before = store_->sequence();
  now_ = "2026-11-27T15:40:00Z";
  ask("GET", "/api/jobs", "", {secret});
  EXPECT_EQ(*store_->sequence(), *before);
  now_ = "2026-11-28T09:00:00Z";
  ask("GET", "/api/jobs", "", {secret});
  ask("GET", "/api/jobs", "", {secret});
  EXPECT_EQ(*store_->sequence(), *before + 1);
  EXPECT_EQ(tree(ask("GET", "/api/devices"))[0]["seen"], now_);
}

TEST_F(ServiceTest, without_the_local_network_there_is_no_code) {
  options_.lan_address.clear();
  open();
  EXPECT_EQ(post("/api/devices/codes", {{"role", "bench"}}).status, 409);
  EXPECT_EQ(tree(ask("GET", "/api/state"))["lan"], false);
}

}  // namespace
}  // namespace roomwright::app
