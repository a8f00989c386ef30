// Published figures as tables, for tests: comma-separated, `#` lines are comments, the first other
// line names the columns. Quoted cells may hold commas.
#pragma once

#include <cstdlib>
#include <fstream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace roomwright::figures {

using Row = std::map<std::string, std::string>;

inline std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (const char letter : line) {
    if (letter == '"')
      quoted = !quoted;
    else if (letter == ',' && !quoted)
      cells.emplace_back();
    else if (letter != '\r')
      cells.back() += letter;
  }
  return cells;
}

inline std::vector<Row> read_rows(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error("cannot read " + path);
  std::vector<Row> rows;
  std::vector<std::string> names;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#') continue;
    const auto cells = cells_of(line);
    if (names.empty()) {
      names = cells;
      continue;
    }
    Row row;
    for (std::size_t i = 0; i < cells.size() && i < names.size(); ++i) row[names[i]] = cells[i];
    rows.push_back(std::move(row));
  }
  return rows;
}

/// A file of tests/figures.
inline std::vector<Row> rows(const std::string& name) {
  return read_rows(std::string(ROOMWRIGHT_SOURCE_DIR) + "/tests/figures/" + name);
}

/// The numbers of a cell that lists several.
inline std::vector<double> numbers(const std::string& cell) {
  std::istringstream in(cell);
  std::vector<double> out;
  for (double value; in >> value;) out.push_back(value);
  return out;
}

}  // namespace roomwright::figures
