// Edits: a change of a document as data with an inverse. An edit names a place in the tree of the
// document, what stood there and what shall stand there; undo, saving, history and the meeting of
// two people's work follow from that. Edits change a tree, and the text it was read from: comments
// and layout stay where nothing was changed. No file, no clock; who and when are the store's.
//
//   {"at": "pieces[3].from", "from": [1200, 900], "to": [1350, 900]}   a value is replaced
//   {"at": "room.notes", "to": "damp"}                                 a key is added
//   {"at": "pieces[3]", "from": {"label": "W4"}}                       an element is taken out
//   {"at": "pieces[4]", "to": {"label": "W9"}}                         one is put in before the 4th
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/base.h"
#include "core/reading/reading.h"

namespace roomwright::job {

inline constexpr std::size_t most_edits = 2000;
inline constexpr std::size_t most_edit_bytes = 2u << 20;  ///< of one value

/// One change. `from` and `to` are JSON texts; an empty one: nothing is there. Never both empty.
/// A key of a table is added (from empty), replaced or taken out (to empty); an element of a list
/// is put in before the one of that index (at most the list's length), replaced, or taken out, and
/// those behind it move up.
struct Edit {
  std::string at;  ///< `room.plan[2]`; a key of other signs than letters, digits, _ and - in quotes
  std::string from, to;
  bool operator==(const Edit&) const = default;
};
using Edits = std::vector<Edit>;

/// Reads `[{"at", "from", "to"}]`. Errors: every mistake, by index.
Result<Edits> read_edits(const Json& list);
Json edits_json(const Edits& edits);

/// Makes the changes in order and gives them as made, `from` in the very digits that stood there
/// (1 and 1.0 are the same number to who asks). The tree is left as it was where one cannot be
/// made. Errors: a place that is not there, or a value there that is not `from` (both are told).
Result<Edits> apply_edits(Json& tree, const Edits& edits);

/// What takes changes back that were made: apply_edits(apply_edits(t, e), invert(e)) is t again,
/// for every e.
Edits invert(const Edits& edits);

/// The changes that lead from one tree to another; both are tables.
Edits difference(const Json& before, const Json& after);

/// Two changes of one place, or of a place and what contains it.
struct Conflict {
  std::string at;    ///< as the later edit names it
  std::string was;   ///< JSON, before both; empty: nothing
  std::string now;   ///< what the earlier change made of it
  std::string mine;  ///< what the later one would make of it
  bool operator==(const Conflict&) const = default;
};

struct Rebased {
  Edits edits;                      ///< mine, as they read after theirs
  std::vector<Conflict> conflicts;  ///< where not empty, `edits` is
};
/// Mine and theirs were both made on the same tree; theirs went first. Where they touch different
/// places, mine are moved along with the lists that theirs made longer or shorter. The same change
/// on both sides is no conflict and falls away.
Rebased rebase(const Edits& mine, const Edits& theirs);

/// Whether a text can be a document of the store: TOML or JSON whose values are all finite.
/// Errors: those of document_tree, and the keys whose values are no numbers.
Result<Done> check_text(std::string_view text);
/// Its tree. Errors: as above.
Result<Json> text_tree(std::string_view text);

/// The text after the changes. Its tree is exactly the edited one: what is written is read again
/// and compared. TOML keeps its comments, order and layout outside the values that change; where a
/// change cannot be made so (a table that spreads over the file is taken out, say), the whole is
/// written anew without comments, and `layout_kept` is false. JSON is always written anew.
struct EditedText {
  std::string text;
  bool layout_kept = true;
  Edits made;  ///< as apply_edits gives them
};
/// Errors: as of apply; `null` in a TOML text; a result beyond the limits of a document.
Result<EditedText> edit_text(std::string_view text, const Edits& edits);

/// A tree as a TOML text: keys in order, plain values before tables. Errors: `null` has no TOML.
Result<std::string> toml_text(const Json& tree);

}  // namespace roomwright::job
