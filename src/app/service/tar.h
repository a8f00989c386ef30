// Private to app/service: files as one archive.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "app/api/api.h"
#include "core/base/base.h"

namespace roomwright::app {

/// A tar archive (POSIX.1-2001 pax; plain ustar where names are short and plain), in the order
/// given, all of one time. Errors: what the library says.
Result<std::string> tar_bytes(const std::vector<PackFile>& files, std::int64_t seconds);

}  // namespace roomwright::app
