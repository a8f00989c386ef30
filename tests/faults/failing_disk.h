// A disk that fails when told to: it stands between SQLite and the system's files.
#pragma once

namespace roomwright::faults {

enum class DiskFault {
  full,  ///< every write from then on: no space left
  torn,  ///< half of one write arrives, and nothing after it: the power has gone
};

/// Puts itself before the system's files, once.
void install_failing_disk();
/// So many more writes succeed. Below 0: all.
void fail_after(long writes, DiskFault fault);
/// Writes since the last fail_after.
long writes_seen();

}  // namespace roomwright::faults
