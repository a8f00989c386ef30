// Text to job: both files are read to their end, then told all at once; see document.h.
#include "job/document/document.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "job/document/parts.h"

namespace roomwright::job {

std::string feature_title(FeatureKind kind) {
  static const char* const titles[] = {"door", "window",    "radiator",       "socket", "switch",
                                       "vent", "sprinkler", "smoke detector", "lamp",   "obstacle"};
  return titles[static_cast<int>(kind)];
}

std::string furniture_title(FurnitureKind kind) {
  static const char* const titles[] = {"desk", "console", "rack", "couch", "shelf", "furniture"};
  return titles[static_cast<int>(kind)];
}

const design::ProductSpec* Job::product(std::string_view key) const {
  for (const auto& one : products)
    if (one.key == key) return &one;
  return nullptr;
}

namespace {

bool leap(int year) {
  return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

bool valid_date(const std::string& text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  for (const std::size_t i : {0, 1, 2, 3, 5, 6, 8, 9})
    if (text[i] < '0' || text[i] > '9') return false;
  const int year = std::stoi(text.substr(0, 4)), month = std::stoi(text.substr(5, 2));
  const int day = std::stoi(text.substr(8, 2));
  static constexpr int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  if (month < 1 || month > 12 || year < 1900) return false;
  return day >= 1 && day <= days[month - 1] + (month == 2 && leap(year) ? 1 : 0);
}

/// A name that lies beside the job file, on any system.
bool plain_file_name(const std::string& name) {
  if (name.empty() || name.size() > 200 || name[0] == '.') return false;
  return std::none_of(name.begin(), name.end(), [](char sign) {
    return static_cast<unsigned char>(sign) < 0x20 || sign == '/' || sign == '\\' || sign == ':';
  });
}

Complaint not_beside(const std::string& name) {
  return {"shop", "must be a file beside the job file, without a folder", shown(Json(name)),
          "such as \"shop.toml\"", 0};
}

void read_heading(Reader& in, Job& job) {
  in.raw("schema");  // migrate has read it
  job.title = in.text("title", "what the job is called", 120);
  job.reference = in.text_or("reference", "", 40);
  job.date = in.text("date", "the day of this revision, such as \"2026-11-20\"", 20);
  if (!job.date.empty() && !valid_date(job.date))
    in.complain("date", "is not a date", "\"" + job.date + "\"",
                "year-month-day, such as 2026-11-20");
  job.revision = in.text_or("revision", "A", 10);
  job.use = static_cast<acoustics::Use>(in.one_of("use", acoustics::use_names()).value_or(0));
  const std::string shop =
      in.text("shop", "the shop file beside this one, such as \"shop.toml\"", 200);
  if (!shop.empty() && !plain_file_name(shop))
    add_with_line(in.found(), in.lines(), not_beside(shop));
  in.child("client", [&](Reader& client) {
    job.client.name = client.text_or("name", "", 120);
    job.client.site = client.text_or("site", "", 200);
    job.client.contact = client.text_or("contact", "", 200);
    client.finish();
  });
  in.child("climate", [&](Reader& climate) {
    job.climate.temperature_c =
        climate.number_or("temperature_c", 20, {.at_least = -20, .at_most = 50});
    job.climate.humidity_percent =
        climate.number_or("humidity_percent", 50, {.at_least = 0, .at_most = 100});
    climate.finish();
  });
}

/// A product that cannot be made is a mistake of the job file: its keys are told with their lines.
/// Those whose own keys are at fault already are passed over.
void check_products(Reader& in, const Job& job, const std::vector<bool>& readable) {
  for (std::size_t i = 0; i < job.products.size(); ++i) {
    if (!readable[i]) continue;
    const auto made =
        design::make_product(job.products[i], job.shop, "products[" + std::to_string(i) + "]");
    if (made) continue;
    for (const Complaint& fault : made.mistakes().items())
      in.complain(fault.where, fault.what, fault.got, fault.remedy);
  }
}

void read_job_tree(Reader& in, Job& job, bool with_shop) {
  read_heading(in, job);
  read_region(in, job);
  read_room(in, job);
  read_surfaces(in, job);
  read_contents(in, job);
  const std::vector<bool> readable = read_products(in, job);
  if (with_shop) check_products(in, job, readable);
  read_pieces(in, job);
  read_site(in, job);
  in.finish();
}

/// In the order of the file; what is missing altogether comes first. Which of the two files it is
/// stands before each.
void add_marked(Diagnostics& all, Diagnostics found, const std::string& file) {
  auto& items = found.items();
  std::stable_sort(items.begin(), items.end(),
                   [](const Complaint& a, const Complaint& b) { return a.line < b.line; });
  const std::size_t told = std::min(items.size(), most_mistakes_told);
  for (std::size_t i = 0; i < told; ++i) {
    items[i].where = items[i].where.empty() ? file : file + ": " + items[i].where;
    all.add(std::move(items[i]));
  }
  if (items.size() > told)
    all.add(file, "has " + std::to_string(items.size() - told) + " more mistakes", {},
            "mend these first");
}

struct Moved {
  const char *from, *to, *note;
};

/// A key of one table gets its new name, and keeps its line.
void rename_key(Json& table, const std::string& at, const Moved& key, Lines* lines,
                std::vector<std::string>& steps) {
  if (!table.is_object() || !table.contains(key.from) || table.contains(key.to)) return;
  table[key.to] = table[key.from];
  table.erase(key.from);
  steps.push_back(key.note);
  if (!lines) return;
  const std::string from = at + key.from;
  Lines moved;
  for (const auto& [path, line] : *lines)
    if (path.rfind(from, 0) == 0 &&
        (path.size() == from.size() || path[from.size()] == '.' || path[from.size()] == '['))
      moved[at + key.to + path.substr(from.size())] = line;
  lines->insert(moved.begin(), moved.end());
}

/// The version that a tree states; a complaint where it states none that can be read.
Result<int> version_of(const Json& tree) {
  static const char* const remedy = "write schema = 1 at the top";
  if (!tree.contains("schema")) return Complaint{"schema", "is missing", {}, remedy, 0};
  const Json& stated = tree["schema"];
  if (!stated.is_number_integer())
    return Complaint{"schema", "must be a whole number", shown(stated), remedy, 0};
  const double version = stated.get<double>();
  if (version < 0) return Complaint{"schema", "must be 0 or more", version, remedy, 0};
  if (version > schema_version)
    return Complaint{"schema", "is newer than this program reads", version,
                     "get a newer program, or write schema = 1", 0};
  return static_cast<int>(version);
}

}  // namespace

Result<std::vector<std::string>> migrate(Json& tree, Lines* lines) {
  if (!tree.is_object())
    return Complaint{"", "must be a table of keys and values", shown(tree), "start from an example",
                     0};
  const auto version = version_of(tree);
  if (!version) return version.mistakes();
  std::vector<std::string> steps;
  if (*version == 0) {
    // The first draft's form: ceiling_height under [room], and panels instead of pieces.
    if (tree.contains("room"))
      rename_key(tree["room"], "room.",
                 {"ceiling_height", "height", "room.ceiling_height is now room.height"}, lines,
                 steps);
    rename_key(tree, "", {"panels", "pieces", "panels are now pieces"}, lines, steps);
    tree["schema"] = 1;
    steps.push_back("schema 0 is now schema 1");
  }
  return steps;
}

Result<Json> document_tree(std::string_view text) {
  auto document = read_document(text);
  if (!document) return document.mistakes();
  return std::move(document->tree());
}

Result<std::string> shop_file_of(std::string_view job_text) {
  const auto document = read_document(job_text);
  if (!document) return document.mistakes();
  const Json& tree = document->tree();
  if (!tree.is_object() || !tree.contains("shop") || !tree["shop"].is_string())
    return Complaint{"shop",
                     "is missing",
                     {},
                     "name the shop file beside this one, such as shop = \"shop.toml\"",
                     0};
  const std::string name = tree["shop"].get<std::string>();
  if (plain_file_name(name)) return name;
  Diagnostics found;
  add_with_line(found, &document->lines, not_beside(name));
  return found;
}

namespace {

/// A newer file is not read on: its keys may mean something else. One whose version is missing or
/// broken is taken as this program's own, so that its other mistakes are told too.
bool can_be_read(const Json& tree) {
  if (!tree.is_object()) return false;
  return !tree.contains("schema") || !tree["schema"].is_number_integer() ||
         tree["schema"].get<double>() <= schema_version;
}

/// The shop, as far as it can be read. Whether all of it could.
bool read_shop_text(std::string_view text, Job& job, Diagnostics& all) {
  const auto document = read_document(text);
  if (!document) {
    add_marked(all, document.mistakes(), "shop file");
    return false;
  }
  Diagnostics found;
  Reader in(document->tree(), "", found, &document->lines);
  if (const auto version = version_of(document->tree()); !version)
    add_with_line(found, &document->lines, version.mistakes().items()[0]);
  else if (*version != schema_version)
    in.complain("schema", "must be 1 in a shop file", double(*version), "write schema = 1");
  if (can_be_read(document->tree())) read_shop(in, job.shop);
  add_marked(all, found, "shop file");
  return found.empty();
}

}  // namespace

Result<shop::Shop> read_shop_file(std::string_view text) {
  Diagnostics all;
  Job job;
  if (!read_shop_text(text, job, all)) return all;
  return std::move(job.shop);
}

Result<Job> read_job(const Sources& sources) {
  Diagnostics all, found;
  Job job;
  const bool with_shop = read_shop_text(sources.shop_text, job, all);
  auto document = read_document(sources.job_text);
  if (!document) {
    add_marked(all, document.mistakes(), "job file");
    return all;
  }
  auto moved = migrate(document->tree(), &document->lines);
  if (moved)
    job.notes = std::move(*moved);
  else
    add_with_line(found, &document->lines, moved.mistakes().items()[0]);
  if (moved || can_be_read(document->tree())) {
    Reader in(document->tree(), "", found, &document->lines);
    read_job_tree(in, job, with_shop);
  }
  add_marked(all, found, "job file");
  if (!all.empty()) return all;
  return job;
}

}  // namespace roomwright::job
