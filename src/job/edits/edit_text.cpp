// Edits of a text: its tree is edited, and the text made to say so; see edits.h.
#include <cmath>
#include <nlohmann/json.hpp>

#include "job/document/document.h"
#include "job/edits/edits.h"
#include "job/edits/toml_write.h"

namespace roomwright::job {

namespace {

constexpr std::string_view byte_order_mark = "\xef\xbb\xbf";

void find_unfinished(const Json& value, Place& at, Diagnostics& found) {
  if (value.is_number_float() && !std::isfinite(value.get<double>()))
    found.add(place_text(at), "is no number that can be kept", {}, "write a finite number");
  const bool list = value.is_array();
  if (!list && !value.is_object()) return;
  std::ptrdiff_t index = 0;
  for (auto one = value.begin(); one != value.end(); ++one, ++index) {
    at.push_back(list ? PlaceStep{"", index} : PlaceStep{one.key()});
    find_unfinished(*one, at, found);
    at.pop_back();
  }
}

bool is_json(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  return first != std::string_view::npos && text[first] == '{';
}

bool says(const std::string& text, const Json& wanted) {
  const auto tree = document_tree(text);
  return tree && same_value(*tree, wanted);
}

Result<EditedText> edited_toml(std::string text, Json tree, const Edits& edits) {
  EditedText out{std::move(text), true, {}};
  for (const Edit& edit : edits) {
    const auto made = apply_edits(tree, {edit});
    if (!made) return made.mistakes();
    auto next = touched_toml(out.text, made->front());
    if (next && says(*next, tree)) {
      out.text = std::move(*next);
      continue;
    }
    auto anew = toml_text(tree);
    if (!anew) return anew.mistakes();
    if (const auto fits = check_text(*anew); !fits) return fits.mistakes();
    RW_ASSERT(says(*anew, tree));
    out.text = std::move(*anew);
    out.layout_kept = false;
  }
  return out;
}

}  // namespace

Result<Json> text_tree(std::string_view text) {
  auto tree = document_tree(text);
  if (!tree) return tree;
  if (!tree->is_object())
    return Complaint{"", "must be a table of keys and values", shown(*tree),
                     "start from an example", 0};
  Diagnostics found;
  Place at;
  find_unfinished(*tree, at, found);
  if (!found.empty()) return found;
  return tree;
}

Result<Done> check_text(std::string_view text) {
  const auto tree = text_tree(text);
  if (!tree) return tree.mistakes();
  return Done{};
}

Result<EditedText> edit_text(std::string_view text, const Edits& edits) {
  auto tree = text_tree(text);
  if (!tree) return tree.mistakes();
  Json wanted = *tree;
  const auto made = apply_edits(wanted, edits);
  if (!made) return made.mistakes();
  const bool marked = text.substr(0, 3) == byte_order_mark;
  if (marked) text.remove_prefix(3);
  if (is_json(text)) {
    EditedText out{json_text(wanted) + "\n", true, *made};
    if (const auto fits = check_text(out.text); !fits) return fits.mistakes();
    return out;
  }
  for (const Edit& edit : *made)
    if (!edit.to.empty() && !has_toml(Json::parse(edit.to, nullptr, false)))
      return Complaint{edit.at,
                       "becomes null or a number beyond 64 bits, which TOML has not",
                       {},
                       "take the key out instead",
                       0};
  auto out = edited_toml(std::string(text), std::move(*tree), *made);
  if (!out) return out;
  if (const auto fits = check_text(out->text); !fits) return fits.mistakes();
  out->made = *made;
  if (marked) out->text.insert(0, byte_order_mark);
  return out;
}

}  // namespace roomwright::job
