// Reads the compiled-in tables once; see materials.h.
#include "acoustics/materials/materials.h"

#include <algorithm>

#include "acoustics/materials/table.h"

namespace roomwright::acoustics {

extern const char* const table_surfaces;
extern const char* const table_porous_boards;

std::vector<Cells> table_rows(std::string_view text) {
  std::vector<Cells> rows;
  bool heading = true;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (line.empty() || line[0] == '#') continue;
    Cells cells(1);
    bool quoted = false;
    for (const char letter : line) {
      if (letter == '"')
        quoted = !quoted;
      else if (letter == ',' && !quoted)
        cells.emplace_back();
      else
        cells.back() += letter;
    }
    if (!heading) rows.push_back(std::move(cells));
    heading = false;
  }
  return rows;
}

namespace {

/// Scattering of a surface by its kind: seats and audience are rough, walls are smooth.
double scattering_of(const std::string& group) {
  if (group.find("Seating") == 0 || group.find("Audience") == 0) return 0.6;
  if (group.find("Curtains") == 0) return 0.3;
  return 0.1;
}

SurfaceMaterial surface_of(const Cells& cells) {
  SurfaceMaterial out;
  out.key = cells[0];
  out.group = cells[1];
  out.name = cells[2];
  for (std::size_t i = 0; i < 7; ++i) {
    const bool given = !cells[3 + i].empty();
    out.absorption[i + 1] = given ? number_of(cells[3 + i]) : out.absorption[i];
    out.trust[i + 1] = given ? Trust::published : Trust::extrapolated;
  }
  const double at_125 = out.absorption[1], at_250 = out.absorption[2];
  out.absorption[0] = std::max(0.01, at_125 < at_250 ? 2 * at_125 - at_250 : at_125);
  out.trust[0] = Trust::extrapolated;
  out.source = cells[10];
  out.scattering = scattering_of(out.group);
  return out;
}

template <class T>
const T* find_by_key(const std::vector<T>& entries, std::string_view key) {
  const auto at = std::find_if(entries.begin(), entries.end(),
                               [&](const T& entry) { return entry.key == key; });
  return at == entries.end() ? nullptr : &*at;
}

}  // namespace

std::string trust_name(Trust trust) {
  return trust == Trust::published      ? "published"
         : trust == Trust::extrapolated ? "extrapolated"
                                        : "estimated";
}

const std::vector<SurfaceMaterial>& surface_materials() {
  static const std::vector<SurfaceMaterial> all = [] {
    std::vector<SurfaceMaterial> out;
    for (const Cells& cells : table_rows(table_surfaces)) out.push_back(surface_of(cells));
    return out;
  }();
  return all;
}

const std::vector<PorousBoard>& porous_boards() {
  static const std::vector<PorousBoard> all = [] {
    std::vector<PorousBoard> out;
    for (const Cells& cells : table_rows(table_porous_boards))
      out.push_back({cells[0], cells[1], cells[6], number_of(cells[2]), number_of(cells[3]),
                     number_of(cells[4]), number_of(cells[5])});
    return out;
  }();
  return all;
}

const SurfaceMaterial* find_surface_material(std::string_view key) {
  return find_by_key(surface_materials(), key);
}

const PorousBoard* find_porous_board(std::string_view key) {
  return find_by_key(porous_boards(), key);
}

}  // namespace roomwright::acoustics
