// Edits of a tree: read, made, taken back; see edits.h.
#include "job/edits/edits.h"

#include <nlohmann/json.hpp>

#include "job/edits/places.h"

namespace roomwright::job {

namespace {

std::string compact(const Json& value) {
  return value.dump(-1, ' ', false, Json::error_handler_t::replace);
}

/// At most so many signs of a value, for a message.
std::string told(const std::string& json) {
  constexpr std::size_t most = 120;
  if (json.empty()) return "nothing";
  return json.size() <= most ? json : json.substr(0, most) + " …";
}

Complaint no_such_place(const Edit& edit) {
  return {edit.at,
          "is not there",
          {},
          "read the document again: it may have changed since the edit was made",
          0};
}

Complaint other_value(const Edit& edit, const std::string& there) {
  return {edit.at, "is not what the edit says it was (" + told(edit.from) + ")", told(there),
          "read the document again: it may have changed since the edit was made", 0};
}

struct ParsedEdit {
  Place place;
  Json from, to;
  bool has_from = false, has_to = false;
};

Result<ParsedEdit> parsed(const Edit& edit) {
  ParsedEdit out;
  auto place = read_place(edit.at);
  if (!place) return place.mistakes();
  out.place = std::move(*place);
  out.has_from = !edit.from.empty();
  out.has_to = !edit.to.empty();
  if (!out.has_from && !out.has_to)
    return Complaint{edit.at, "changes nothing", {}, "give from, to or both", 0};
  for (const auto& [text, to] : {std::pair{&edit.from, &out.from}, {&edit.to, &out.to}}) {
    if (text->empty()) continue;
    auto value = parse_json(*text, most_edit_bytes);
    if (!value) return value.mistakes();
    *to = std::move(*value);
  }
  return out;
}

/// The list element or the key at the end of the place; its value must be as the edit says.
Result<Edit> make_one(Json& tree, const Edit& edit) {
  auto read = parsed(edit);
  if (!read) return read.mistakes();
  const PlaceStep last = read->place.back();
  const Json* there = value_at(tree, read->place);
  const bool put_in = last.listed() && !read->has_from;
  if (!put_in) {
    if (read->has_from && !there) return no_such_place(edit);
    if (there && (!read->has_from || *there != read->from))
      return other_value(edit, compact(*there));
  }
  const Edit made{edit.at, read->has_from ? compact(*there) : std::string(), edit.to};
  Place above = read->place;
  above.pop_back();
  Json* parent = value_at(tree, above);
  if (!parent) return no_such_place(edit);
  if (last.listed()) {
    if (!parent->is_array()) return no_such_place(edit);
    if (put_in && std::size_t(last.index) > parent->size()) return no_such_place(edit);
    if (put_in)
      parent->insert(parent->begin() + last.index, std::move(read->to));
    else if (!read->has_to)
      parent->erase(parent->begin() + last.index);
    else
      (*parent)[std::size_t(last.index)] = std::move(read->to);
    return made;
  }
  if (!parent->is_object()) return no_such_place(edit);
  if (read->has_to)
    (*parent)[last.key] = std::move(read->to);
  else
    parent->erase(last.key);
  return made;
}

}  // namespace

Result<Edits> read_edits(const Json& list) {
  Diagnostics found;
  Edits out;
  if (!list.is_array() || list.empty() || list.size() > most_edits)
    return Complaint{"edits", "must be a list of 1 to 2000 edits", shown(list),
                     R"(such as [{"at": "room.height", "from": 2480, "to": 2430}])", 0};
  for (std::size_t i = 0; i < list.size(); ++i) {
    const std::string where = "edits[" + std::to_string(i) + "]";
    if (!list[i].is_object()) {
      found.add(where, "must be a table with at, from, to", shown(list[i]));
      continue;
    }
    Reader in(list[i], where, found);
    Edit edit;
    edit.at = in.text("at", "such as pieces[3].from", 500);
    if (const Json* from = in.raw("from")) edit.from = compact(*from);
    if (const Json* to = in.raw("to")) edit.to = compact(*to);
    in.finish();
    if (edit.from.size() > most_edit_bytes || edit.to.size() > most_edit_bytes)
      found.add(where, "holds a value of more than 2 MB");
    else if (const auto read = edit.at.empty() ? Result<ParsedEdit>(ParsedEdit{}) : parsed(edit);
             !read)
      for (Complaint fault : read.mistakes().items()) {
        fault.where = where + (fault.where == "at" ? ".at" : "");
        found.add(std::move(fault));
      }
    out.push_back(std::move(edit));
  }
  if (!found.empty()) return found;
  return out;
}

Json edits_json(const Edits& edits) {
  Json out = Json::array();
  for (const Edit& edit : edits) {
    Json one = {{"at", edit.at}};
    if (!edit.from.empty()) one["from"] = Json::parse(edit.from, nullptr, false);
    if (!edit.to.empty()) one["to"] = Json::parse(edit.to, nullptr, false);
    out.push_back(std::move(one));
  }
  return out;
}

Result<Edits> apply_edits(Json& tree, const Edits& edits) {
  Json changed = tree;
  Edits made;
  for (const Edit& edit : edits) {
    auto one = make_one(changed, edit);
    if (!one) return one.mistakes();
    made.push_back(std::move(*one));
  }
  tree = std::move(changed);
  return made;
}

Edits invert(const Edits& edits) {
  Edits out;
  for (auto edit = edits.rbegin(); edit != edits.rend(); ++edit)
    out.push_back({edit->at, edit->to, edit->from});
  return out;
}

}  // namespace roomwright::job
