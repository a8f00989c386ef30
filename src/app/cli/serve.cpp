// See serve.h. Ports are taken before the store is opened, so that whoever finds the store in use
// is told where its page is.
#include "app/cli/serve.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <atomic>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <thread>

#include "app/cli/cli.h"
#include "app/cli/desk.h"
#include "app/cli/terminal.h"
#include "app/server/server.h"
#include "app/service/service.h"

extern char** environ;

namespace roomwright::app {

namespace {

/// 32 bytes of the system's own chance as hexadecimal digits; empty where it has none.
std::string fresh_secret() {
  unsigned char bytes[32];
  if (::getentropy(bytes, sizeof bytes) != 0) return {};
  constexpr char digits[] = "0123456789abcdef";
  std::string out;
  for (const unsigned char one : bytes) {
    out += digits[one >> 4];
    out += digits[one & 15];
  }
  return out;
}

bool has_display() {
  const auto set = [](const char* name) {
    const char* value = std::getenv(name);
    return value && *value;
  };
  return set("DISPLAY") || set("WAYLAND_DISPLAY");
}

/// Leaves the browser to the desktop; what that says is none of ours.
void open_browser(const std::string& address) {
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  for (const int file : {0, 1, 2})
    posix_spawn_file_actions_addopen(&files, file, "/dev/null", O_RDWR, 0);
  const char* arguments[] = {"xdg-open", address.c_str(), nullptr};
  pid_t process = 0;
  if (::posix_spawnp(&process, "xdg-open", &files, nullptr, const_cast<char**>(arguments),
                     environ) == 0)
    std::thread([process] { ::waitpid(process, nullptr, 0); }).detach();
  posix_spawn_file_actions_destroy(&files);
}

Result<std::unique_ptr<Store>> open_for_server(const std::string& path, const Server& server,
                                               std::function<void(std::int64_t)> on_change) {
  StoreOptions options;
  options.create = true;
  options.opener = "roomwright serve at " + server.address() + "/";
  options.when = now_utc();
  options.on_change = std::move(on_change);
  auto store = open_store(path, options);
  if (!store) return store;
  const auto backup = (*store)->daily_backup(options.when.substr(0, 10), progress_watch());
  progress_done();
  if (!backup) std::fprintf(stderr, "No backup today: %s", backup.mistakes().text().c_str());
  return store;
}

ServerOptions options_of(const ServeCall& call, const std::string& store) {
  ServerOptions out;
  if (call.port >= 0) out.port = call.port;
  out.next_port = call.port < 0;
  out.lan = call.lan;
  out.lan_folder = store + ".lan";
  const std::string folder = std::filesystem::path(store).parent_path().string();
  out.spool_folder = folder.empty() ? "." : folder;
  return out;
}

void say_where(const Server& server, const std::string& store) {
  print("Roomwright is at " + server.address() + "/\n");
  if (!server.lan_address().empty())
    print("On the local network it is at " + server.lan_address() +
          "/ for devices that were paired (" + server.address() +
          "/trust says how they come to trust it).\n");
  if (!server.page_built_in())
    print("The page was not built into this program; scripts/page.sh builds it.\n");
  print("The store is " + store + ". Ctrl+C ends it.\n");
  std::fflush(stdout);
}

/// A new day has its backup, for a program that runs for weeks.
void back_up_each_day(Store& store, const std::atomic<bool>& ended) {
  std::string done = now_utc().substr(0, 10);
  for (int seconds = 0; !ended; ++seconds) {
    std::this_thread::sleep_for(std::chrono::milliseconds(200));
    if (seconds % 300 != 0) continue;
    const std::string today = now_utc().substr(0, 10);
    if (today == done) continue;
    if (const auto backup = store.daily_backup(today, {}); !backup)
      std::fprintf(stderr, "No backup today: %s", backup.mistakes().text().c_str());
    done = today;
  }
}

int run_serve(const ServeCall& call, const std::string& kept_folder) {
  // A reader of our output that has gone is no reason to end.
  std::signal(SIGPIPE, SIG_IGN);
  if (fresh_secret().empty()) {
    std::fputs("roomwright serve: the system has no random numbers for secrets\n", stderr);
    return exit_failed;
  }
  DeskCall desk;
  desk.store_path = call.store_path;
  const std::string path = store_file(desk);
  std::error_code ignored;
  if (const auto folder = std::filesystem::path(path).parent_path(); !folder.empty())
    std::filesystem::create_directories(folder, ignored);
  auto server = Server::open(options_of(call, path));
  if (!server) return fail(server.mistakes(), false);
  std::atomic<Service*> listening{nullptr};
  auto store = open_for_server(path, **server, [&](std::int64_t sequence) {
    if (Service* service = listening.load()) service->changed(sequence);
  });
  if (!store) return fail(store.mistakes(), false);
  ServiceOptions options;
  options.now = now_utc;
  options.secret = fresh_secret;
  options.lan_address = (*server)->lan_address();
  options.kept_folder = kept_folder;
  {
    Service service(**store, options);
    listening = &service;
    std::atomic<bool> ended{false};
    std::thread backups([&] { back_up_each_day(**store, ended); });
    (*server)->run(service, [&] {
      say_where(**server, path);
      if (!call.no_open && has_display()) open_browser((*server)->address() + "/");
    });
    ended = true;
    backups.join();
    listening = nullptr;
  }
  return exit_done;
}

}  // namespace

void add_serve_command(CLI::App& app, ServeCall& call, std::function<int()>& chosen,
                       std::function<std::string()> kept_folder) {
  CLI::App* serve = app.add_subcommand("serve", "the page: the shop's jobs in a browser");
  serve
      ->add_option("--port", call.port,
                   "where on this machine (8137, or the next that is free; 0: any)")
      ->check(CLI::Range(0, 65535));
  serve->add_option("--store", call.store_path,
                    "the store's file (ROOMWRIGHT_STORE, or shop.store among your data)");
  serve->add_flag("--lan", call.lan, "also for paired devices on the local network, by https");
  serve->add_flag("--no-open", call.no_open, "do not open the browser");
  serve->callback([&call, &chosen, kept_folder] {
    chosen = [&call, kept_folder] { return run_serve(call, kept_folder()); };
  });
}

}  // namespace roomwright::app
