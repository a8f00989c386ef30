// Private to job/edits: trees as TOML, and a TOML text changed where it stands.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>

#include "core/reading/reading.h"
#include "job/edits/edits.h"
#include "job/edits/places.h"

namespace roomwright::job {

/// Whether TOML can say it: no null, whole numbers within 64 bits with sign.
bool has_toml(const Json& value);
/// `key`, or `"a key"`.
std::string toml_key(const std::string& key);
/// A value on one line.
std::string toml_value(const Json& value);
/// A table's keys, then the tables and lists of tables below it, under headers that begin with
/// `path`.
std::string toml_table(const Json& table, const std::string& path);
/// Whether a list is best written as [[path]] blocks.
bool list_of_tables(const Json& value);

/// A TOML text with one edit made where it stands, or nothing where that cannot be done here. The
/// caller reads it again: a result is a proposal.
std::optional<std::string> touched_toml(const std::string& text, const Edit& edit);

}  // namespace roomwright::job
