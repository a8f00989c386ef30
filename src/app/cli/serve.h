// Private to app/cli: `roomwright serve`, the program with its page, for a browser.
#pragma once

#include <functional>
#include <string>

namespace CLI {
class App;
}

namespace roomwright::app {

struct ServeCall {
  std::string store_path;
  int port = -1;  ///< below 0: the usual one, or the next that is free
  bool lan = false, no_open = false;
};

/// Adds the command; if it is called, `chosen` is what it does. `kept_folder`: of long solutions.
void add_serve_command(CLI::App& app, ServeCall& call, std::function<int()>& chosen,
                       std::function<std::string()> kept_folder);

}  // namespace roomwright::app
