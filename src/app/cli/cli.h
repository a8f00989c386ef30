// The command line: arguments, terminal text, progress, exit codes.
//   0  done     1  the machine failed us (disk, permissions), or the job cannot be built as drawn
//   2  the input or the call is wrong: every mistake stands on standard error
//   3  the request is sound, but that part is not built yet
#pragma once

namespace roomwright::app {

inline constexpr int exit_done = 0;
inline constexpr int exit_failed = 1;
inline constexpr int exit_wrong_input = 2;
inline constexpr int exit_not_built = 3;

/// Never throws; prints to standard output and standard error.
int run_cli(int argc, char** argv);

}  // namespace roomwright::app
