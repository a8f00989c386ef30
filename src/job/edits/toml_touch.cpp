// A TOML text changed where it stands. The library's parser tells where each value begins and ends;
// everything else of the text is carried over byte for byte. What this file makes is a proposal:
// edit_text reads it again and falls back on writing the whole where the tree is not the wanted
// one.
#include <algorithm>
#include <nlohmann/json.hpp>

#define TOML_HEADER_ONLY 0
#include <toml++/toml.h>

#include "job/edits/toml_write.h"

namespace roomwright::job {

namespace {

using Span = std::pair<std::size_t, std::size_t>;  // bytes, the end excluded
using Touched = std::optional<std::string>;

/// A table with a header of its own, and what lies below it up to the next header.
struct HeaderBlock {
  std::size_t from = 0;  ///< start of the header's line
  std::size_t to = 0;    ///< end of the last line that holds more than a comment
  Place place;
};

class TomlText {
 public:
  explicit TomlText(const std::string& text) : text_(text), root_(toml::parse(text)) {
    starts_.push_back(0);
    for (std::size_t i = 0; i < text.size(); ++i)
      if (text[i] == '\n') starts_.push_back(i + 1);
    collect(root_, {});
    std::stable_sort(blocks_.begin(), blocks_.end(),
                     [](const auto& a, const auto& b) { return a.from < b.from; });
    // [a.b] is where the parser sees a begin too, if a has no header of its own: the deepest is
    // meant.
    for (std::size_t i = blocks_.size(); i-- > 1;)
      if (blocks_[i - 1].from == blocks_[i].from)
        blocks_.erase(blocks_.begin() + static_cast<std::ptrdiff_t>(i - 1));
    for (std::size_t i = 0; i < blocks_.size(); ++i)
      blocks_[i].to = content_end(i + 1 < blocks_.size() ? blocks_[i + 1].from : text_.size());
  }

  Touched touched(const Edit& edit, const Place& place, const Json& from, const Json& to) const {
    Place above = place;
    above.pop_back();
    const toml::node* parent = node_at(above);
    if (!parent) return std::nullopt;
    if (edit.to.empty())
      return place.back().listed() ? taken_out(place, *parent) : removed(place, *parent);
    if (!edit.from.empty()) return replaced(place, from, to);
    return place.back().listed() ? put_in(place, *parent, to) : added(place, *parent, to);
  }

 private:
  // ---- where things stand -----------------------------------------------------------------------

  std::size_t offset(const toml::source_position& at) const {
    if (at.line == 0 || at.line > starts_.size()) return text_.size();
    std::size_t i = starts_[at.line - 1];
    for (toml::source_index column = 1; column < at.column && i < text_.size(); ++column) do
        ++i;
      while (i < text_.size() && (static_cast<unsigned char>(text_[i]) & 0xc0u) == 0x80u);
    return i;
  }
  Span span(const toml::node& node) const {
    return {offset(node.source().begin), offset(node.source().end)};
  }
  std::size_t line_start(std::size_t at) const {
    const auto next = std::upper_bound(starts_.begin(), starts_.end(), at);
    return *(next - 1);
  }
  /// After the line's end sign, or the end of the text.
  std::size_t line_end(std::size_t at) const {
    const auto next = std::upper_bound(starts_.begin(), starts_.end(), at);
    return next == starts_.end() ? text_.size() : *next;
  }
  std::string newline() const { return text_.find("\r\n") == std::string::npos ? "\n" : "\r\n"; }

  const toml::node* node_at(const Place& place) const {
    const toml::node* at = &root_;
    for (const PlaceStep& step : place) {
      if (step.listed())
        at = at->as_array() ? at->as_array()->get(std::size_t(step.index)) : nullptr;
      else
        at = at->as_table() ? at->as_table()->get(step.key) : nullptr;
      if (!at) return nullptr;
    }
    return at;
  }

  static bool stands_in_line(const toml::node& node) {
    if (const auto* table = node.as_table()) return table->is_inline();
    if (const auto* list = node.as_array())
      return list->empty() || std::all_of(list->begin(), list->end(), [](const toml::node& one) {
               return stands_in_line(one);
             });
    return true;
  }

  void collect(const toml::node& node, const Place& place) {
    if (const auto* list = node.as_array(); list && !stands_in_line(*list))
      for (std::size_t i = 0; i < list->size(); ++i) {
        Place below = place;
        below.push_back({"", static_cast<std::ptrdiff_t>(i)});
        collect(*list->get(i), below);
      }
    const auto* table = node.as_table();
    if (!table || table->is_inline()) return;
    const std::size_t at = offset(node.source().begin);
    if (!place.empty() && at < text_.size() && text_[at] == '[')
      blocks_.push_back({line_start(at), 0, place});
    for (const auto& [key, value] : *table) {
      Place below = place;
      below.push_back({std::string(key.str())});
      collect(value, below);
    }
  }

  /// Back over blank lines and comments, from the start of a line.
  std::size_t content_end(std::size_t at) const {
    while (at > 0) {
      const std::size_t start = line_start(at - 1);
      const std::size_t sign = text_.find_first_not_of(" \t\r", start);
      if (sign < at && text_[sign] != '\n' && text_[sign] != '#') break;
      at = start;
    }
    return at;
  }

  static bool below(const Place& place, const Place& front) {
    return place.size() >= front.size() && std::equal(front.begin(), front.end(), place.begin());
  }

  /// First and last block at or below a place.
  std::optional<std::pair<std::size_t, std::size_t>> blocks_below(const Place& place) const {
    std::optional<std::pair<std::size_t, std::size_t>> out;
    for (std::size_t i = 0; i < blocks_.size(); ++i)
      if (below(blocks_[i].place, place)) out = {out ? out->first : i, i};
    return out;
  }

  // ---- what is changed --------------------------------------------------------------------------

  std::string spliced(Span at, const std::string& with) const {
    return text_.substr(0, at.first) + with + text_.substr(at.second);
  }
  std::string own_lines(std::string lines) const {
    if (newline() == "\n") return lines;
    std::string out;
    for (const char sign : lines) out += sign == '\n' ? std::string("\r\n") : std::string(1, sign);
    return out;
  }
  /// Whole lines put in at the start of a line, or at the end of the text.
  std::string with_lines(std::size_t at, const std::string& lines) const {
    const bool cut = at > 0 && text_[at - 1] != '\n';
    return spliced({at, at}, (cut ? newline() : "") + own_lines(lines));
  }

  /// Tables that spread over the text are changed key by key.
  Touched replaced(const Place& place, const Json& from, const Json& to) const {
    const toml::node* node = node_at(place);
    if (!node) return std::nullopt;
    if (stands_in_line(*node)) return spliced(span(*node), toml_value(to));
    if (from.type() != to.type()) return std::nullopt;
    std::string text = text_;
    for (const Edit& edit : difference({{"v", from}}, {{"v", to}})) {
      auto inner = read_place(edit.at);
      if (!inner || inner->size() < 2) return std::nullopt;
      Place whole = place;
      whole.insert(whole.end(), inner->begin() + 1, inner->end());
      auto next = touched_toml(text, {place_text(whole), edit.from, edit.to});
      if (!next) return std::nullopt;
      text = std::move(*next);
    }
    return text;
  }

  Touched added(const Place& place, const toml::node& parent, const Json& to) const {
    const auto* table = parent.as_table();
    if (!table) return std::nullopt;
    const std::string key = toml_key(place.back().key);
    const std::string pair = key + " = " + toml_value(to);
    std::size_t last = 0, last_key = 0;
    for (const auto& [name, value] : *table)
      if (stands_in_line(value) && span(value).second > last) {
        last = span(value).second;
        last_key = offset(name.source().begin);
      }
    if (table->is_inline()) {
      if (last > 0) return spliced({last, last}, ", " + pair);
      return spliced(span(parent), "{ " + pair + " }");
    }
    if (to.is_object() || list_of_tables(to)) return with_blocks(place, to);
    if (last > 0) {
      const std::size_t start = line_start(last_key);
      const std::string indent = text_.substr(start, text_.find_first_not_of(" \t", start) - start);
      return with_lines(line_end(last - 1), indent + pair + "\n");
    }
    if (place.size() == 1) return with_lines(0, pair + "\n");
    Place above = place;
    above.pop_back();
    const std::size_t header = offset(parent.source().begin);
    if (!has_header(above)) return with_blocks(above, {{place.back().key, to}});
    return with_lines(line_end(header), pair + "\n");
  }

  bool has_header(const Place& place) const {
    return std::any_of(blocks_.begin(), blocks_.end(),
                       [&](const HeaderBlock& block) { return block.place == place; });
  }

  /// A table or a list of tables under headers of its own, behind its neighbours.
  std::string with_blocks(const Place& place, const Json& value) const {
    std::size_t at = text_.size();
    for (std::size_t front = place.size(); front-- > 1;) {
      const auto near =
          blocks_below({place.begin(), place.begin() + static_cast<std::ptrdiff_t>(front)});
      if (!near) continue;
      at = blocks_[near->second].to;
      break;
    }
    const std::string path = header_of(place);
    std::string lines;
    if (value.is_object())
      lines = "\n[" + path + "]\n" + toml_table(value, path);
    else
      for (const Json& one : value) lines += "\n[[" + path + "]]\n" + toml_table(one, path);
    return with_lines(at, lines);
  }

  /// A block and the blank line that parts it from its neighbour.
  std::string without_blocks(std::size_t first, std::size_t last) const {
    std::size_t from = blocks_[first].from, to = blocks_[last].to;
    const auto blank = [&](std::size_t at) {
      const std::size_t sign = text_.find_first_not_of(" \t\r", at);
      return sign == std::string::npos || text_[sign] == '\n';
    };
    if (from > 0 && (to == text_.size() || blank(to)) && blank(line_start(from - 1)))
      from = line_start(from - 1);
    return spliced({from, to}, "");
  }

  /// All blocks of a place, one after the other: they need not stand together.
  Touched without_place(const Place& place) const {
    if (!blocks_below(place)) return std::nullopt;
    std::string out = text_;
    for (std::size_t i = blocks_.size(); i-- > 0;) {
      if (!below(blocks_[i].place, place)) continue;
      TomlText rest(*this, out);
      out = rest.without_blocks(i, i);
    }
    return out;
  }
  /// The same blocks over a text whose end has changed.
  TomlText(const TomlText& other, const std::string& text)
      : text_(text), starts_(other.starts_), blocks_(other.blocks_) {}

  Touched removed(const Place& place, const toml::node& parent) const {
    const auto* table = parent.as_table();
    if (!table) return std::nullopt;
    const auto entry = table->find(place.back().key);
    if (entry == table->end()) return std::nullopt;
    if (!stands_in_line(entry->second)) {
      Place above = place;
      above.pop_back();
      auto out = without_place(place);
      const bool kept = above.empty() || table->size() > 1 || has_header(above);
      return !out || kept ? out : *out + own_lines("\n[" + header_of(above) + "]\n");
    }
    const std::size_t key = offset(entry->first.source().begin);
    const std::size_t end = span(entry->second).second;
    if (table->is_inline()) {
      std::optional<std::size_t> next, before;
      for (const auto& [name, value] : *table) {
        const std::size_t at = offset(name.source().begin);
        if (at > key && (!next || at < *next)) next = at;
        if (at < key && (!before || span(value).second > *before)) before = span(value).second;
      }
      if (next) return spliced({key, *next}, "");
      return spliced({before.value_or(key), end}, "");
    }
    const std::size_t start = line_start(key), after = text_.find_first_not_of(" \t\r", end);
    const bool alone = text_.find_first_not_of(" \t", start) == key &&
                       (after == std::string::npos || text_[after] == '\n' || text_[after] == '#');
    if (!alone) return std::nullopt;
    return spliced({start, line_end(end - 1)}, "");
  }

  std::string header_of(const Place& list) const {
    std::string out;
    for (const PlaceStep& step : list)
      if (!step.listed()) out += (out.empty() ? "" : ".") + toml_key(step.key);
    return out;
  }

  Touched put_in(const Place& place, const toml::node& parent, const Json& to) const {
    const auto* list = parent.as_array();
    const auto index = std::size_t(place.back().index);
    if (!list || index > list->size()) return std::nullopt;
    if (stands_in_line(parent)) {
      if (list->empty()) return spliced(span(parent), "[" + toml_value(to) + "]");
      if (index < list->size()) {
        const std::size_t at = span(*list->get(index)).first;
        return spliced({at, at}, toml_value(to) + ", ");
      }
      const std::size_t at = span(*list->get(index - 1)).second;
      return spliced({at, at}, ", " + toml_value(to));
    }
    if (!to.is_object()) return std::nullopt;
    Place above = place;
    above.pop_back();
    const std::string header = header_of(above);
    const std::string block = "[[" + header + "]]\n" + toml_table(to, header);
    Place neighbour = place;
    if (index < list->size()) {
      const auto blocks = blocks_below(neighbour);
      if (!blocks) return std::nullopt;
      return with_lines(above_comments(blocks_[blocks->first].from), block + "\n");
    }
    --neighbour.back().index;
    const auto blocks = blocks_below(neighbour);
    if (!blocks) return std::nullopt;
    return with_lines(blocks_[blocks->second].to, "\n" + block);
  }

  /// Comments right above a header belong to it.
  std::size_t above_comments(std::size_t at) const {
    while (at > 0) {
      const std::size_t start = line_start(at - 1);
      const std::size_t sign = text_.find_first_not_of(" \t", start);
      if (sign >= at || text_[sign] != '#') break;
      at = start;
    }
    return at;
  }

  Touched taken_out(const Place& place, const toml::node& parent) const {
    const auto* list = parent.as_array();
    const auto index = std::size_t(place.back().index);
    if (!list || index >= list->size()) return std::nullopt;
    if (stands_in_line(parent)) {
      const Span own = span(*list->get(index));
      if (list->size() == 1) return spliced(span(parent), "[]");
      if (index + 1 < list->size())
        return spliced({own.first, span(*list->get(index + 1)).first}, "");
      return spliced({span(*list->get(index - 1)).second, own.second}, "");
    }
    if (list->size() > 1) return without_place(place);
    Place above = place;
    above.pop_back();
    auto out = without_place(place);
    return out ? touched_toml(*out, {place_text(above), "", "[]"}) : out;
  }

  const std::string& text_;
  toml::table root_;
  std::vector<std::size_t> starts_;
  std::vector<HeaderBlock> blocks_;
};

}  // namespace

Touched touched_toml(const std::string& text, const Edit& edit) {
  const auto place = read_place(edit.at);
  if (!place) return std::nullopt;
  try {
    const auto value = [](const std::string& json) {
      return json.empty() ? Json() : Json::parse(json);
    };
    return TomlText(text).touched(edit, *place, value(edit.from), value(edit.to));
  } catch (const std::exception&) {
    return std::nullopt;
  }
}

}  // namespace roomwright::job
