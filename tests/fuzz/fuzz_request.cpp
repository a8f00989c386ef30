// Any request to the page's service, as any role: method, address, kind of body and body. It is
// refused in the contract's words or answered; nobody is let in who is not paired, no role does
// what is not its own, no header is broken in two, nothing that a browser runs is shown in place,
// and nothing is "our own mistake".
//
//   GET /api/jobs/room/stages/build      method and address
//   bench application/json bytes=0-9     who (here, none, office, bench, site), kind, range
//   {"base": 1}                          the body: all the rest
#include <unistd.h>
#include <atomic>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "app/service/service.h"
#include "core/reading/reading.h"

namespace {

using namespace roomwright;
namespace fs = std::filesystem;

const char* const small_job = R"(schema = 1
title = "Small room"
date = "2026-11-20"
use = "mixing"
shop = "shop_metric.toml"
client = { name = "a client" }
region = { units = "mm" }
room = { size = [4000, 3000, 2400] }
surfaces = { default = "plasterboard_two_layers" }
loudspeakers = [{ label = "left", at = [600, 1000, 1200] }]
seats = [{ label = "seat", at = [2000, 1500, 1200] }]
)";

[[noreturn]] void fail(const std::string& why) {
  std::cerr << why << "\n";
  std::abort();
}

/// A service on a store of its own, with a job, an alternative, a file and a device of each role.
class World {
 public:
  World() {
    folder_ = fs::temp_directory_path() / ("roomwright-fuzz-" + std::to_string(getpid()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    app::StoreOptions options;
    options.create = true;
    options.durable = false;
    options.when = "2026-11-27T15:00:00Z";
    auto store = app::open_store((folder_ / "shop.store").string(), options);
    if (!store) fail(store.mistakes().text());
    store_ = std::move(*store);
    app::ServiceOptions own;
    own.now = [] { return std::string("2026-11-27T15:04:05Z"); };
    own.secret = [this] { return app::sha256_hex(std::to_string(++secrets_)); };
    own.lan_address = "https://192.168.1.20:8138";
    own.sound_field = false;
    service_ = std::make_unique<app::Service>(*store_, own);
    ask("POST", "/api/jobs/import?name=room.toml", "here application/toml", small_job);
    ask("POST", "/api/jobs/room/alternatives", "here", R"({"name": "a", "token": "a"})");
    ask("POST", "/api/files?name=a.png&kind=photo&document=room", "here application/octet-stream",
        "\x89PNG\r\n\x1a\nbytes");
    for (const std::string role : {"office", "bench", "site"}) pair(role);
  }
  ~World() {
    service_.reset();
    store_.reset();
    std::error_code fault;
    fs::remove_all(folder_, fault);
  }

  app::PageAnswer ask(const std::string& method, const std::string& target, const std::string& from,
                      const std::string& body) {
    app::RequestHead head;
    head.method = method;
    head.target = target;
    const auto first = from.find(' ');
    const auto second = first == std::string::npos ? first : from.find(' ', first + 1);
    const std::string who = from.substr(0, first);
    head.content_type = first == std::string::npos ? "application/json"
                                                   : from.substr(first + 1, second - first - 1);
    if (second != std::string::npos) head.range = from.substr(second + 1);
    head.loopback = who == "here";
    head.peer = "192.168.1.31";
    if (const auto found = secrets_by_role_.find(who); found != secrets_by_role_.end())
      head.secret = found->second;
    const app::Admission admission = service_->admit(head);
    check_admission(admission, head, who);
    if (!admission.ok || admission.pace == app::Pace::events) return admission.refusal;
    const app::PageAnswer out =
        service_->answer(admission, head, body.substr(0, admission.most_body), gone_,
                         [](std::string_view) { return true; });
    check_answer(admission, out);
    return out;
  }

 private:
  void pair(const std::string& role) {
    const auto code =
        Json::parse(ask("POST", "/api/devices/codes", "here", "{\"role\": \"" + role + "\"}").body);
    const auto paired = ask("POST", "/api/devices/pair", "none",
                            json_text({{"code", code["code"]}, {"name", role}}));
    for (const auto& [name, value] : paired.headers)
      if (name == "Set-Cookie") secrets_by_role_[role] = value.substr(value.find('=') + 1, 64);
    if (!secrets_by_role_.contains(role)) fail("not paired: " + paired.body);
  }

  void check_admission(const app::Admission& admission, const app::RequestHead& head,
                       const std::string& who) {
    if (!admission.ok) {
      if (admission.refusal.status < 400 || admission.refusal.status >= 500)
        fail("refused with " + std::to_string(admission.refusal.status));
      if (!Json::parse(admission.refusal.body, nullptr, false).contains("errors"))
        fail("refused without a word");
      return;
    }
    for (const std::string& word : admission.words)
      if (word.empty() || word == ".." || word == "." ||
          word.find_first_of(std::string("/\\\0", 3)) != std::string::npos)
        fail("a word of the path is " + word);
    const app::Operation* operation = nullptr;
    for (const app::Operation& one : app::operations())
      if (one.id == admission.operation) operation = &one;
    if (!operation || operation->method != head.method) fail("no such operation");
    if (operation->roles.empty() || head.loopback) return;
    if (head.secret.empty()) fail("a stranger was let in");
    bool may = false;
    for (const app::Role role : operation->roles)
      may = may || (role == admission.role && app::role_names()[std::size_t(role)] == who);
    if (!may) fail("a role did what is not its own");
  }

  static void check_answer(const app::Admission& admission, const app::PageAnswer& out) {
    if (out.status < 200 || out.status >= 500) fail(admission.operation + ": " + out.body);
    if (out.content_type == "application/json" && out.status != 206 &&
        admission.operation != "export_job" && Json::parse(out.body, nullptr, false).is_discarded())
      fail(admission.operation + " answered with no JSON");
    if (out.content_type.find("html") != std::string::npos ||
        out.content_type.find("svg") != std::string::npos)
      fail("shown in place: " + out.content_type);
    for (const auto& [name, value] : out.headers)
      for (const char sign : name + value)
        if (static_cast<unsigned char>(sign) < 0x20 || sign == 0x7f) fail("header " + name);
  }

  fs::path folder_;
  std::unique_ptr<app::Store> store_;
  std::unique_ptr<app::Service> service_;
  std::map<std::string, std::string> secrets_by_role_;
  int secrets_ = 0;
  /// Long work begins and is left at once.
  const std::atomic<bool> gone_ = true;
};

std::string take_line(std::string& rest) {
  const auto end = rest.find('\n');
  std::string out = rest.substr(0, end);
  rest = end == std::string::npos ? std::string() : rest.substr(end + 1);
  return out;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static std::unique_ptr<World> world;
  static int asked = 0;
  if (asked++ % 500 == 0) {
    world.reset();
    world = std::make_unique<World>();
  }
  std::string rest(reinterpret_cast<const char*>(data), size);
  const std::string first = take_line(rest), from = take_line(rest);
  const auto blank = first.find(' ');
  world->ask(first.substr(0, blank), blank == std::string::npos ? "" : first.substr(blank + 1),
             from, rest);
  return 0;
}
