// Private to app/cli: completion scripts, made from one list of commands.
#pragma once

#include <string>

namespace roomwright::app {

/// shell: `bash`, `zsh` or `fish`.
std::string completion_script(const std::string& shell);

}  // namespace roomwright::app
