// What the page needs first, the list of jobs, the library; a job begins: from a box room, from
// the demo, from a file.
#include <cmath>

#include "acoustics/criteria/criteria.h"
#include "acoustics/materials/materials.h"
#include "app/service/orders.h"
#include "app/service/parts.h"
#include "core/quantity/quantity.h"
#include "job/document/document.h"
#include "job/edits/edits.h"

namespace roomwright::app {

extern const char* const example_control_room;
extern const char* const example_shop_metric;
extern const char* const example_shop_inch;

namespace {

const char* own_shop(const std::string& name) {
  return name == "shop_metric.toml" ? example_shop_metric
         : name == "shop_inch.toml" ? example_shop_inch
                                    : nullptr;
}

}  // namespace

std::string text_at(const Json& tree, const char* key) {
  const auto found = tree.find(key);
  return found != tree.end() && found->is_string() ? found->get<std::string>() : std::string();
}

namespace {

/// Pieces of a job; those of an order stand in its items.
std::size_t piece_count(const Json& tree) {
  if (const auto pieces = tree.find("pieces"); pieces != tree.end() && pieces->is_array())
    return pieces->size();
  const auto order = tree.find("order");
  if (order == tree.end() || !order->is_object() || !order->contains("items") ||
      !(*order)["items"].is_array())
    return 0;
  double count = 0;
  for (const Json& item : (*order)["items"])
    if (item.is_object()) {
      const Json& each = item.value("count", Json(1));
      count += each.is_number() ? each.get<double>() : 1;
    }
  return std::size_t(std::clamp(count, 0.0, 1e6));
}

/// What ticks are counted against: the pieces of a job and the readings that its proof asks for. Of
/// a job with mistakes `readings` is missing: nobody knows what would prove it.
struct Wanted {
  std::vector<std::string> pieces;
  std::optional<std::size_t> readings;
  bool order = false;
};

/// Of a step for each piece: how many are ticked. What the job does not have any more is not
/// counted.
std::size_t ticked_of(const std::vector<std::string>& pieces, const std::string& front,
                      const std::set<std::string>& done) {
  return std::size_t(std::count_if(pieces.begin(), pieces.end(), [&](const std::string& piece) {
    return done.contains(front + piece);
  }));
}

bool proven(const Wanted& wanted, const std::set<std::string>& done) {
  if (!wanted.readings || *wanted.readings == 0) return false;
  for (std::size_t k = 0; k < *wanted.readings; ++k)
    if (!done.contains("proof." + std::to_string(k))) return false;
  return true;
}

/// How far a job has come, told from its ticks: `done` is what hangs and is proven, and what the
/// office has closed.
std::string job_state(const Wanted& wanted, const std::set<std::string>& done) {
  const std::size_t pieces = wanted.pieces.size();
  const std::size_t framed = ticked_of(wanted.pieces, "frame.", done);
  const std::size_t hung = ticked_of(wanted.pieces, "hang.", done);
  if (done.contains(closing_step)) return "done";
  if (pieces > 0 && hung >= pieces) return proven(wanted, done) ? "done" : "proof";
  if (hung > 0 || (pieces > 0 && framed >= pieces)) return wanted.order ? "sending" : "hanging";
  if (!done.empty()) return "building";
  return pieces > 0 ? "offered" : "survey";
}

/// Of a job that cannot be read its pieces are told by the labels that stand in it.
Wanted wanted_of(Store& store, const DocumentHead& head, const Json& tree) {
  Wanted out;
  out.order = tree.contains("order");
  const auto texts = job_texts(store, head.id, head.version);
  const auto job = texts ? read_texts(*texts) : Result<job::Job>(texts.mistakes());
  if (job) {
    for (const job::Piece& piece : job->pieces) out.pieces.push_back(piece.label);
    out.readings = job->order ? 0 : job::proof(*job, {}, {}).points.size();
    return out;
  }
  const std::size_t count = piece_count(tree);
  for (std::size_t k = 0; k < count; ++k) {
    const Json* piece = tree.contains("pieces") ? &tree["pieces"][k] : nullptr;
    out.pieces.push_back(piece && piece->is_object() ? text_at(*piece, "label") : std::string());
  }
  return out;
}

}  // namespace

Result<Json> JobFacts::of(const DocumentHead& head) {
  {
    const std::lock_guard lock(mutex_);
    const auto found = facts_.find(head.id);
    if (found != facts_.end() && found->second.first == head.version) return found->second.second;
  }
  const auto document = store_.document(head.id, head.version);
  const auto tree = document ? job::text_tree(document->text) : Result<Json>(document.mistakes());
  if (!tree) return tree.mistakes();
  const std::string revision = text_at(*tree, "revision");
  const auto client = tree->find("client");
  const bool named = client != tree->end() && client->is_object();
  Json out = {{"title", text_at(*tree, "title")},
              {"reference", text_at(*tree, "reference")},
              {"revision", revision.empty() ? "A" : revision},
              {"date", text_at(*tree, "date")},
              {"client", named ? text_at(*client, "name") : std::string()}};
  const Wanted wanted = wanted_of(store_, head, *tree);
  out["labels"] = wanted.pieces;
  out["readings"] = wanted.readings ? Json(*wanted.readings) : Json();
  out["order"] = wanted.order;
  // A job with mistakes is read anew: its price book may put them right.
  if (!wanted.readings) return out;
  const std::lock_guard lock(mutex_);
  facts_[head.id] = {head.version, out};
  return out;
}

void JobFacts::forget() {
  const std::lock_guard lock(mutex_);
  facts_.clear();
}

Result<std::vector<Json>> job_rows(Desk& desk) {
  auto heads = desk.store.documents("job");
  if (!heads) return heads.mistakes();
  std::stable_sort(heads->begin(), heads->end(),
                   [](const auto& a, const auto& b) { return a.when > b.when; });
  std::vector<Json> out;
  for (const DocumentHead& head : *heads) {
    if (head.removed || head.erased) continue;
    const auto facts = desk.facts.of(head);
    if (!facts) return facts.mistakes();
    const auto done = desk.journals.done_steps(head.id);
    if (!done) return done.mistakes();
    Json row = *facts;
    Wanted wanted{row["labels"], {}, row["order"]};
    if (row["readings"].is_number()) wanted.readings = row["readings"].get<std::size_t>();
    row.erase("labels");
    row.erase("readings");
    row["id"] = head.id;
    row["version"] = head.version;
    row["state"] = job_state(wanted, *done);
    row["closed"] = done->contains(closing_step);
    row["pieces"] = wanted.pieces.size();
    row["pieces_done"] = ticked_of(wanted.pieces, "frame.", *done);
    row["pieces_hung"] = ticked_of(wanted.pieces, "hang.", *done);
    row["when"] = head.when;
    row["who"] = head.who;
    out.push_back(std::move(row));
  }
  return out;
}

PageAnswer answer_state(Desk& desk, const Asked& asked) {
  const auto sequence = desk.store.sequence();
  const auto heads = desk.store.documents("job");
  if (!sequence) return refused(500, sequence.mistakes());
  if (!heads) return refused(500, heads.mistakes());
  const bool empty = std::none_of(heads->begin(), heads->end(), [](const DocumentHead& one) {
    return !one.removed && !one.erased;
  });
  return json_answer({{"program", desk.options.program},
                      {"sequence", *sequence},
                      {"empty", empty},
                      {"role", role_names()[std::size_t(asked.admission.role)]},
                      {"who", asked.admission.who},
                      {"lan", !desk.options.lan_address.empty()}});
}

PageAnswer answer_jobs(Desk& desk, const Asked&) {
  const auto rows = job_rows(desk);
  return rows ? json_answer(*rows) : refused(500, rows.mistakes());
}

namespace {

/// Those of the store, and those that come with the program where it has none of that name.
Result<Json> book_rows(Store& store) {
  const auto books = shop_books(store);
  if (!books) return books.mistakes();
  Json out = Json::array();
  std::set<std::string> there;
  for (const ShopBook& book : *books) {
    out.push_back(book_json(book.id, book.shop));
    there.insert(book.id);
  }
  for (const char* name : {"shop_metric.toml", "shop_inch.toml"}) {
    if (there.contains(name) || store.document(name)) continue;
    if (const auto shop = job::read_shop_file(own_shop(name)))
      out.push_back(book_json(name, *shop));
  }
  return out;
}

}  // namespace

PageAnswer answer_library(Desk& desk, const Asked&) {
  const auto books = book_rows(desk.store);
  if (!books) return refused(500, books.mistakes());
  Json materials = Json::array();
  for (const auto& one : acoustics::surface_materials())
    materials.push_back(
        {{"key", one.key}, {"group", one.group}, {"name", one.name}, {"source", one.source}});
  return json_answer(
      {{"materials", materials}, {"uses", acoustics::use_names()}, {"books", *books}});
}

// ---- a new one ----------------------------------------------------------------------------------

std::string free_id(Store& store, const std::string& wish, const std::string& ending) {
  std::string plain;
  for (const char sign : wish) {
    const bool letter = (sign >= 'a' && sign <= 'z') || (sign >= '0' && sign <= '9');
    if (letter)
      plain += sign;
    else if (sign >= 'A' && sign <= 'Z')
      plain += static_cast<char>(sign - 'A' + 'a');
    else if (!plain.empty() && plain.back() != '-')
      plain += sign == '_' ? '_' : '-';
  }
  plain = plain.substr(0, 60);
  while (!plain.empty() && plain.back() == '-') plain.pop_back();
  if (plain.empty()) plain = "job";
  for (int k = 1;; ++k) {
    const std::string id = plain + (k == 1 ? "" : "-" + std::to_string(k)) + ending;
    if (!store.document(id)) return id;
  }
}

Result<std::pair<std::string, Saved>> create_named(Desk& desk, const std::string& wish,
                                                   const std::string& kind, const std::string& text,
                                                   const Stamp& stamp, const std::string& note) {
  const std::lock_guard lock(desk.creating);
  std::string id = free_id(desk.store, wish);
  const auto saved = desk.store.create(id, kind, text, stamp, note);
  if (!saved) return saved.mistakes();
  const auto change = desk.store.changes(saved->sequence - 1, 1);
  if (!change) return change.mistakes();
  if (!change->empty() && change->front().sequence == saved->sequence) id = change->front().id;
  return std::pair{id, *saved};
}

namespace {

PageAnswer created(const Result<std::pair<std::string, Saved>>& made) {
  if (!made) return refused(422, made.mistakes());
  return json_answer({{"id", made->first}, {"saved", contract_saved(made->second)}}, 201);
}

/// The text of a shop document; those that come with the program are made where they are missing.
Result<std::string> need_shop(Desk& desk, const std::string& name, const Stamp& stamp) {
  const std::lock_guard lock(desk.creating);
  if (auto there = desk.store.document(name)) return std::move(there->text);
  const char* own = own_shop(name);
  if (!own)
    return Complaint{"shop", "names a shop file that is not here", "\"" + name + "\"",
                     "bring that file in first", 0};
  if (const auto made = desk.store.create(name, "shop", own, {stamp.who, stamp.when, {}},
                                          "comes with the program");
      !made)
    return made.mistakes();
  return std::string(own);
}

struct NewRoom {
  std::string start, title, use, units, token;
  std::vector<Json> size;
  OrderWish order;
};

Result<NewRoom> read_new_job(const Asked& asked) {
  Body body(asked);
  NewRoom out;
  if (body.found.empty()) {
    Reader in(body.tree, "", body.found);
    const std::vector<std::string> starts = {"room", "demo", "order"};
    out.start = starts[in.one_of("start", starts).value_or(0)];
    out.title = text_or_none(in, "title", 200);
    if (out.title.empty()) out.title = out.start == "order" ? "New order" : "New job";
    read_order_keys(in, out.order);
    out.use = acoustics::use_names()[in.one_of_or("use", 0, acoustics::use_names()).value_or(0)];
    const std::vector<std::string> units = {"mm", "cm", "m", "in", "ft"};
    out.units = units[in.one_of_or("units", 0, units).value_or(0)];
    out.token = text_or_none(in, "token", 200);
    if (const Json* size = in.raw("size")) {
      const bool three = size->is_array() && size->size() == 3 &&
                         std::all_of(size->begin(), size->end(), [](const Json& one) {
                           return one.is_number() || one.is_string();
                         });
      if (!three)
        in.complain("size", "must be length, width and height", shown(*size),
                    "such as [4800, 3600, 2500]");
      else
        out.size.assign(size->begin(), size->end());
    }
    in.finish();
  }
  if (!body.found.empty()) return body.found;
  return out;
}

bool is_metric(const std::string& units) {
  return units != "in" && units != "ft";
}

LengthUnit unit_named(const std::string& units) {
  return units == "m"    ? LengthUnit::m
         : units == "cm" ? LengthUnit::cm
         : units == "ft" ? LengthUnit::ft
         : units == "in" ? LengthUnit::in
                         : LengthUnit::mm;
}

double metres_per(const std::string& units) {
  return units == "m"    ? 1
         : units == "cm" ? 0.01
         : units == "ft" ? 0.3048
         : units == "in" ? 0.0254
                         : 0.001;
}

/// A place to begin with, to the centimetre or half inch, in the units of the job.
Json place_of(const Vec3& at_m, const std::string& units) {
  const double step_m = is_metric(units) ? 0.01 : 0.0127;
  Json out = Json::array();
  for (const double value : {at_m.x, at_m.y, at_m.z}) {
    const double value_in = std::round(value / step_m) * step_m / metres_per(units);
    out.push_back(std::round(value_in * 1e4) / 1e4);
  }
  return out;
}

/// The tree of a box room with two loudspeakers and a seat somewhere to begin with (common
/// practice, no source); every mistake of the size is the reader's to find.
Result<Json> room_tree(const NewRoom& asked, const std::string& date) {
  const bool metric = is_metric(asked.units);
  Json size = asked.size;
  if (asked.size.empty()) {
    size = Json::array();
    for (const double side_m :
         metric ? std::vector{4.8, 3.6, 2.5} : std::vector{4.8768, 3.6576, 2.4892})
      size.push_back(std::round(side_m / metres_per(asked.units) * 1e4) / 1e4);
  }
  std::vector<double> sides_m;
  Diagnostics found;
  for (const Json& side : size) {
    const auto read = side.is_string()
                          ? read_length(side.get<std::string>(), unit_named(asked.units))
                          : read_length(side.get<double>(), unit_named(asked.units));
    sides_m.push_back(read ? read->metres() : 1);
    if (read) continue;
    for (Complaint fault : read.mistakes().items()) {
      fault.where = "size[" + std::to_string(sides_m.size() - 1) + "]";
      found.add(fault);
    }
  }
  if (!found.empty()) return found;
  const double length = sides_m[0], width = sides_m[1], ears = std::min(1.2, 0.5 * sides_m[2]);
  const double apart = 0.2 * width;
  const auto at = [&](double x, double y) { return place_of({x, y, ears}, asked.units); };
  return Json{{"schema", job::schema_version},
              {"title", asked.title},
              {"date", date},
              {"use", asked.use},
              {"shop", metric ? "shop_metric.toml" : "shop_inch.toml"},
              {"region", {{"units", asked.units}}},
              {"room", {{"size", size}}},
              {"surfaces", {{"default", "plasterboard_two_layers"}, {"floor", "carpet_thin"}}},
              {"loudspeakers",
               {{{"label", "left"}, {"at", at(0.15 * length, width / 2 + apart)}},
                {{"label", "right"}, {"at", at(0.15 * length, width / 2 - apart)}}}},
              {"seats", {{{"label", "seat"}, {"at", at(0.42 * length, width / 2)}}}}};
}

/// The tree of an order with its price book, which is made where it is missing.
Result<Json> whole_order_tree(Desk& desk, const NewRoom& wanted, const Stamp& stamp) {
  const std::string own = is_metric(wanted.units) ? "shop_metric.toml" : "shop_inch.toml";
  const std::string book = wanted.order.book.empty() ? own : wanted.order.book;
  const auto text = need_shop(desk, book, stamp);
  const auto shop = text ? job::read_shop_file(*text) : Result<shop::Shop>(text.mistakes());
  if (!shop) return shop.mistakes();
  auto tree = order_tree(wanted.order, *shop, wanted.units);
  if (!tree) return tree;
  (*tree)["schema"] = job::schema_version;
  (*tree)["title"] = wanted.title;
  (*tree)["date"] = stamp.when.substr(0, 10);
  (*tree)["shop"] = book;
  return tree;
}

}  // namespace

PageAnswer answer_create_job(Desk& desk, const Asked& asked) {
  const auto wanted = read_new_job(asked);
  if (!wanted) return refused(400, wanted.mistakes());
  const Stamp stamp = desk.stamp(asked, wanted->token);
  std::string text = example_control_room, note = "the demo", wish;
  if (wanted->start != "demo") {
    const auto tree = wanted->start == "order" ? whole_order_tree(desk, *wanted, stamp)
                                               : room_tree(*wanted, stamp.when.substr(0, 10));
    if (!tree) return refused(400, tree.mistakes());
    const auto written = job::toml_text(*tree);
    if (!written) return refused(422, written.mistakes());
    text = *written;
    note.clear();
  }
  const auto shop = job::shop_file_of(text);
  const auto shop_text = shop ? need_shop(desk, *shop, stamp) : shop;
  if (!shop_text) return refused(422, shop_text.mistakes());
  const auto job = read_texts({"", 0, 0, {text, *shop_text}, {}});
  if (!job) return refused(422, job.mistakes());
  return created(create_named(desk, job->title, "job", text, stamp, note));
}

PageAnswer answer_import_job(Desk& desk, const Asked& asked) {
  const std::string text(asked.body);
  std::string name = asked.query_word("name");
  name = name.substr(name.find_last_of("/\\") + 1);
  const std::string note = name.empty() ? "from a file" : "from " + name.substr(0, 200);
  const Stamp stamp = desk.stamp(asked, asked.query_word("token"));
  const auto tree = job::text_tree(text);
  if (!tree) return refused(422, tree.mistakes());
  if (!tree->contains("room") && !tree->contains("order")) {
    // A price book keeps its whole name, because jobs name it so.
    if (const auto shop = job::read_shop_file(text); !shop) return refused(422, shop.mistakes());
    const std::lock_guard lock(desk.creating);
    if (const auto there = desk.store.document(name); there && there->head.kind != "shop")
      return refused(422, "name", "is the name of another document", "rename the file");
    const auto saved = import_text(desk.store, name, text, stamp, note);
    if (!saved) return refused(422, saved.mistakes());
    return json_answer({{"id", name}, {"saved", contract_saved(*saved)}}, 201);
  }
  const auto shop = job::shop_file_of(text);
  const auto shop_text = shop ? need_shop(desk, *shop, stamp) : shop;
  const auto job = read_texts({"", 0, 0, {text, shop_text ? *shop_text : ""}, {}});
  if (!job) return refused(422, job.mistakes());
  const std::string stem = name.substr(0, name.find_last_of('.'));
  return created(create_named(desk, stem.empty() ? job->title : stem, "job", text, stamp, note));
}

}  // namespace roomwright::app
