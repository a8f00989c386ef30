// The served program under the load of a busy shop: devices that listen to events and ask ten times
// a second each. Times count from when a request was due, so that waiting behind a slow one counts.
// Usage: server_load [SECONDS] [DEVICES] [REQUESTS A SECOND]; prints rows for bench/results.
#include <sys/wait.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <mutex>
#include <nlohmann/json.hpp>
#include <thread>

#include "server/client.h"

using namespace roomwright::served;
using Json = nlohmann::json;
using Clock = std::chrono::steady_clock;

namespace {

struct Taken {
  std::mutex mutex;
  std::vector<double> reads_ms, writes_ms;
  int errors = 0, events = 0;
};

struct Load {
  int port = 0;
  std::string host, job;
  double seconds = 60, each_s = 10;
  Clock::time_point start;
};

std::string note(const std::string& job) {
  const Json entry = {{"subject", "A1"},
                      {"document", job},
                      {"token", fresh_token()},
                      {"body", {{"text", "under load"}, {"at", "2026-11-27T15:04:05Z"}}}};
  return Json({{"expected", nullptr}, {"entries", Json::array({entry})}}).dump();
}

/// One request in ten writes, one takes the page, the rest read.
std::string request_of(const Load& load, int number, bool& writes) {
  writes = number % 10 == 3;
  if (writes)
    return request_text(load.host, "POST", "/api/journals/notes", note(load.job),
                        {{"Content-Type", "application/json"}});
  const std::string job = "/api/documents/" + load.job;
  const std::string targets[] = {"/api/state",
                                 job,
                                 "/",
                                 "",
                                 "/api/jobs",
                                 job + "/history",
                                 "/api/stock",
                                 "/api/library",
                                 "/api/jobs/" + load.job + "/stages/survey",
                                 "/api/state"};
  return request_text(load.host, "GET", targets[number % 10]);
}

void ask(const Load& load, int device, Taken& taken) {
  Line line(load.port);
  std::vector<double> reads, writes_ms;
  int errors = 0;
  const int count = int(load.seconds * load.each_s);
  for (int i = 0; i < count; ++i) {
    const auto due = load.start + std::chrono::microseconds(
                                      std::int64_t((i + device / 20.0) / load.each_s * 1e6));
    std::this_thread::sleep_until(due);
    bool writes = false;
    line.send(request_of(load, i + device, writes));
    const Answer answer = line.read();
    const double ms = std::chrono::duration<double, std::milli>(Clock::now() - due).count();
    errors += answer.status != 200;
    (writes ? writes_ms : reads).push_back(ms);
  }
  const std::lock_guard lock(taken.mutex);
  taken.reads_ms.insert(taken.reads_ms.end(), reads.begin(), reads.end());
  taken.writes_ms.insert(taken.writes_ms.end(), writes_ms.begin(), writes_ms.end());
  taken.errors += errors;
}

void listen(const Load& load, Taken& taken) {
  Line line(load.port);
  line.send(request_text(load.host, "GET", "/api/events"));
  const auto end = load.start + std::chrono::milliseconds(std::int64_t(load.seconds * 1000) + 1500);
  int heard = 0;
  while (Clock::now() < end) {
    line.until("event: change", 0.5);
    for (std::size_t at; (at = line.waiting().find("event: change")) != std::string::npos; ++heard)
      line.waiting().erase(0, at + 1);
  }
  const std::lock_guard lock(taken.mutex);
  taken.events += heard;
}

double at_share(std::vector<double>& values, double share) {
  if (values.empty()) return 0;
  std::sort(values.begin(), values.end());
  return values[std::min(values.size() - 1, std::size_t(share * double(values.size())))];
}

}  // namespace

int main(int argc, char** argv) {
  const double seconds = argc > 1 ? std::atof(argv[1]) : 60;
  const int devices = argc > 2 ? std::atoi(argv[2]) : 20;
  const double requests_s = argc > 3 ? std::atof(argv[3]) : 200;
  const std::filesystem::path folder =
      std::filesystem::temp_directory_path() / ("roomwright_load_" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  {
    Served served((folder / "shop.store").string());
    if (!served.up()) return std::fprintf(stderr, "%s", served.said().c_str()), 1;
    Load load;
    load.port = served.port();
    load.host = "127.0.0.1:" + std::to_string(load.port);
    load.seconds = seconds;
    load.each_s = requests_s / devices;
    const Answer demo = served.ask("POST", "/api/jobs", R"({"start":"demo","token":"demo"})");
    load.job = Json::parse(demo.body).value("id", "");
    Taken taken;
    load.start = Clock::now() + std::chrono::milliseconds(500);
    std::vector<std::thread> threads;
    for (int i = 0; i < devices; ++i) {
      threads.emplace_back([&] { listen(load, taken); });
      threads.emplace_back([&, i] { ask(load, i, taken); });
    }
    double most_mb = 0;
    const double worked_before = served.worked_s();
    while (Clock::now() < load.start + std::chrono::milliseconds(std::int64_t(seconds * 1000))) {
      most_mb = std::max(most_mb, served.memory_mb());
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
    const double worked = served.worked_s() - worked_before;
    for (std::thread& one : threads) one.join();
    char what[200];
    std::snprintf(what, sizeof what,
                  "server_load (%d devices with open events; %.0f requests/s; %.0f s", devices,
                  requests_s, seconds);
    const auto row = [&](const char* name, double value, const char* unit) {
      std::printf("%s): %s,%.3g,%s,one run\n", what, name, value, unit);
    };
    row("requests", double(taken.reads_ms.size() + taken.writes_ms.size()), "requests");
    row("errors", taken.errors, "requests");
    row("events heard of those due",
        100.0 * taken.events / std::max(1.0, double(devices) * double(taken.writes_ms.size())),
        "%");
    for (const double share : {0.5, 0.95, 0.99, 1.0}) {
      char name[60];
      std::snprintf(name, sizeof name, "read %.0f %%", share * 100);
      row(name, at_share(taken.reads_ms, share), "ms");
      std::snprintf(name, sizeof name, "write %.0f %%", share * 100);
      row(name, at_share(taken.writes_ms, share), "ms");
    }
    row("own memory at most", most_mb, "MB");
    row("processor", worked / seconds * 100, "% of one");
    served.stop();
  }
  std::filesystem::remove_all(folder);
}
