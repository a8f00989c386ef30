// Two lists of edits made on one tree meet; see edits.h. Each of mine is moved over each of theirs,
// and theirs over it, so that a later one of mine meets theirs as they read after the earlier ones.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>

#include "job/edits/edits.h"
#include "job/edits/places.h"

namespace roomwright::job {

namespace {

struct MovedEdit {
  Edit edit;
  Place place;
  bool gone = false;  ///< the other side made the same change
  bool puts_in() const { return place.back().listed() && edit.from.empty(); }
  bool takes_out() const { return place.back().listed() && edit.to.empty(); }
};

bool starts_with(const Place& place, const Place& front) {
  return front.size() <= place.size() && std::equal(front.begin(), front.end(), place.begin());
}

/// What is put in covers nothing that was there; everything else covers its place and all below.
bool edits_touch(const MovedEdit& a, const MovedEdit& b) {
  const auto covers = [](const MovedEdit& cover, const MovedEdit& other) {
    if (cover.puts_in()) return false;
    if (!starts_with(other.place, cover.place)) return false;
    return !other.puts_in() || other.place.size() > cover.place.size();
  };
  return covers(a, b) || covers(b, a);
}

/// Moves `edit` along with the list that `over` made longer or shorter. Of two that are put in at
/// one place the one that yields comes after.
void move_over(MovedEdit& edit, const MovedEdit& over, bool yields) {
  if (over.gone || !(over.puts_in() || over.takes_out())) return;
  const std::size_t level = over.place.size() - 1;
  Place list = over.place;
  list.pop_back();
  if (edit.place.size() <= level || !starts_with(edit.place, list)) return;
  PlaceStep& step = edit.place[level];
  if (!step.listed()) return;
  const std::ptrdiff_t at = over.place.back().index;
  const bool point = edit.puts_in() && edit.place.size() == level + 1;
  if (over.takes_out())
    step.index -= step.index > at ? 1 : 0;
  else if (step.index > at || (step.index == at && (!point || yields)))
    ++step.index;
}

/// What stands at my place after their change.
std::string value_after(const MovedEdit& mine, const MovedEdit& theirs) {
  Json tree = {{"v", nullptr}};
  if (starts_with(mine.place, theirs.place)) {
    if (theirs.edit.to.empty()) return "";
    tree["v"] = Json::parse(theirs.edit.to, nullptr, false);
    Place below{{"v"}};
    below.insert(below.end(), mine.place.begin() + static_cast<std::ptrdiff_t>(theirs.place.size()),
                 mine.place.end());
    const Json* there = value_at(tree, below);
    return there ? there->dump() : "";
  }
  if (mine.edit.from.empty()) return "";
  tree["v"] = Json::parse(mine.edit.from, nullptr, false);
  Place below{{"v"}};
  below.insert(below.end(), theirs.place.begin() + static_cast<std::ptrdiff_t>(mine.place.size()),
               theirs.place.end());
  const auto made = apply_edits(tree, {{place_text(below), theirs.edit.from, theirs.edit.to}});
  return made ? tree["v"].dump() : mine.edit.from;
}

std::optional<std::vector<MovedEdit>> placed_edits(const Edits& edits) {
  std::vector<MovedEdit> out;
  for (const Edit& edit : edits) {
    auto place = read_place(edit.at);
    if (!place) return std::nullopt;
    out.push_back({edit, std::move(*place)});
  }
  return out;
}

}  // namespace

Rebased rebase(const Edits& mine, const Edits& theirs) {
  auto my = placed_edits(mine);
  auto other = placed_edits(theirs);
  Rebased out;
  RW_ASSERT(my && other);
  if (!my || !other) return out;
  for (MovedEdit& one : *my) {
    for (MovedEdit& their : *other) {
      if (one.gone || their.gone) continue;
      if (edits_touch(one, their)) {
        if (one.place == their.place && one.edit.to == their.edit.to && !one.puts_in()) {
          one.gone = their.gone = true;
          break;
        }
        out.conflicts.push_back({one.edit.at, one.edit.from, value_after(one, their), one.edit.to});
        break;
      }
      const MovedEdit before = one;
      move_over(one, their, true);
      move_over(their, before, false);
    }
    if (one.gone) continue;
    one.edit.at = place_text(one.place);
    out.edits.push_back(one.edit);
  }
  if (!out.conflicts.empty()) out.edits = mine;
  return out;
}

}  // namespace roomwright::job
