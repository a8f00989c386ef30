// Private to acoustics/materials: the rows of the compiled-in tables.
#pragma once

#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

namespace roomwright::acoustics {

using Cells = std::vector<std::string>;

/// The rows of a table after its heading; our own tables, so their form is known.
std::vector<Cells> table_rows(std::string_view text);

inline double number_of(const std::string& cell) {
  return std::strtod(cell.c_str(), nullptr);
}

}  // namespace roomwright::acoustics
