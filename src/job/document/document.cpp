// Text to job: both files are read to their end, then told all at once; see document.h.
#include "job/document/document.h"

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

void read_heading(Reader& in, Job& job) {
  in.whole("schema", schema_version, schema_version, "this program reads schema 0 and 1");
  job.title = in.text("title", "what the job is called", 120);
  job.reference = in.text_or("reference", "", 40);
  job.date = in.text("date", "the day of this revision, such as \"2026-11-20\"", 20);
  if (!job.date.empty() && !valid_date(job.date))
    in.complain("date", "is not a date", "\"" + job.date + "\"",
                "year-month-day, such as 2026-11-20");
  job.revision = in.text_or("revision", "A", 10);
  job.use = static_cast<acoustics::Use>(in.one_of("use", acoustics::use_names()).value_or(0));
  in.text("shop", "the shop file beside this one, such as \"shop.toml\"", 200);
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
void check_products(Reader& in, const Job& job) {
  for (std::size_t i = 0; i < job.products.size(); ++i) {
    const auto made =
        design::make_product(job.products[i], job.shop, "products[" + std::to_string(i) + "]");
    if (made) continue;
    for (const Complaint& fault : made.mistakes().items())
      in.complain(fault.where, fault.what, fault.got, fault.remedy);
  }
}

void read_job_tree(Reader& in, Job& job) {
  read_heading(in, job);
  read_region(in, job);
  read_room(in, job);
  read_surfaces(in, job);
  read_contents(in, job);
  read_products(in, job);
  read_pieces(in, job);
  read_site(in, job);
  in.finish();
}

/// Which of the two files a mistake stands in.
void add_marked(Diagnostics& all, const Diagnostics& found, const std::string& file) {
  for (Complaint item : found.items()) {
    item.where = item.where.empty() ? file : file + ": " + item.where;
    all.add(std::move(item));
  }
}

}  // namespace

Result<std::vector<std::string>> migrate(Json& tree) {
  std::vector<std::string> steps;
  if (!tree.is_object())
    return Complaint{"", "must be a table of keys and values", shown(tree), "start from an example",
                     0};
  if (!tree.contains("schema"))
    return Complaint{"schema", "is missing", {}, "write schema = 1 at the top", 0};
  if (!tree["schema"].is_number_integer())
    return Complaint{"schema", "must be a whole number", shown(tree["schema"]),
                     "write schema = 1 at the top", 0};
  const auto version = tree["schema"].get<long long>();
  if (version > schema_version || version < 0)
    return Complaint{"schema", "is newer than this program reads", double(version),
                     "get a newer program, or write schema = 1", 0};
  if (version == 0) {
    // The first draft's form: ceiling_height under [room], and panels instead of pieces.
    if (tree.contains("room") && tree["room"].is_object() &&
        tree["room"].contains("ceiling_height")) {
      tree["room"]["height"] = tree["room"]["ceiling_height"];
      tree["room"].erase("ceiling_height");
      steps.push_back("room.ceiling_height is now room.height");
    }
    if (tree.contains("panels") && !tree.contains("pieces")) {
      tree["pieces"] = tree["panels"];
      tree.erase("panels");
      steps.push_back("panels are now pieces");
    }
    tree["schema"] = 1;
    steps.push_back("schema 0 is now schema 1");
  }
  return steps;
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
  if (name.empty() || name.find("..") != std::string::npos || name[0] == '/')
    return Complaint{"shop", "must be a file beside the job file", "\"" + name + "\"",
                     "such as \"shop.toml\"", 0};
  return name;
}

Result<Job> read_job(const Sources& sources) {
  Diagnostics all, shop_found, job_found;
  Job job;
  auto shop_document = read_document(sources.shop_text);
  if (!shop_document) {
    add_marked(all, shop_document.mistakes(), "shop file");
  } else {
    Reader in(shop_document->tree(), "", shop_found, &shop_document->lines);
    if (shop_document->tree().is_object()) read_shop(in, job.shop);
    add_marked(all, shop_found, "shop file");
  }
  auto document = read_document(sources.job_text);
  if (!document) {
    add_marked(all, document.mistakes(), "job file");
    return all;
  }
  if (const auto moved = migrate(document->tree()); !moved) {
    add_marked(all, moved.mistakes(), "job file");
    return all;
  }
  Reader in(document->tree(), "", job_found, &document->lines);
  read_job_tree(in, job);
  if (job_found.empty() && all.empty()) check_products(in, job);
  add_marked(all, job_found, "job file");
  if (!all.empty()) return all;
  return job;
}

}  // namespace roomwright::job
