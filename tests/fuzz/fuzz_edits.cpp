// Any text as a document and any text as edits: a line `====` parts the two. Either the edits are
// made, and then the text says exactly the edited tree and their inverse leads back, or they are
// refused and the mistakes say why.
#include <cstdint>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string>

#include "core/reading/reading.h"
#include "job/edits/edits.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace roomwright;
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto cut = text.find("\n====\n");
  const std::string document = text.substr(0, cut);
  const auto tree = job::text_tree(document);
  if (!tree) return tree.mistakes().empty() ? std::abort(), 0 : 0;
  const auto list = cut == std::string::npos ? parse_json("[]") : parse_json(text.substr(cut + 6));
  if (!list) return 0;
  const auto edits = job::read_edits(*list);
  if (!edits) return 0;
  Json edited = *tree;
  const auto made = job::apply_edits(edited, *edits);
  const auto after = job::edit_text(document, *edits);
  if (!made) {
    if (after) std::abort();
    return 0;
  }
  Json back = edited;
  if (!job::apply_edits(back, job::invert(*made)) || back.dump() != tree->dump()) std::abort();
  if (after && job::text_tree(after->text)->dump() != edited.dump()) std::abort();
  Json same = *tree;
  if (!job::apply_edits(same, job::difference(*tree, edited)) || same.dump() != edited.dump())
    std::abort();
  return 0;
}
