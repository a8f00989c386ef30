// Typed, complaining access to a JSON tree, for everything that people or programs send us: the job
// document (TOML is turned into the same tree), the price book, the calculators. A Reader walks an
// object, takes each key once, adds every mistake to one Diagnostics and goes on; `finish()` then
// names the keys that nobody asked for. Where the tree came from a text with lines, `Lines` gives
// each key's line.
//
//   Reader in(tree, "", found, &lines);
//   double thickness_m = in.number("thickness_m", {.above = 0, .at_most = 2}, "such as 0.05");
//   in.each("layers", 1, 12, [&](Reader layer) { ... layer.finish(); });
//   in.finish();
#pragma once

#include <functional>
#include <limits>
#include <map>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/base.h"

namespace roomwright {

using Json = nlohmann::json;

/// Where each key of a tree stood in its source text: path such as `room.plan[2]` -> 1-based line.
using Lines = std::map<std::string, int>;

/// What a number may be. NaN and infinities are never allowed.
struct Range {
  double above = -std::numeric_limits<double>::infinity();     ///< strictly above
  double at_least = -std::numeric_limits<double>::infinity();  ///< or equal
  double below = std::numeric_limits<double>::infinity();      ///< strictly below
  double at_most = std::numeric_limits<double>::infinity();    ///< or equal

  bool holds(double value) const;
  /// `must be above 0 and at most 2`
  std::string sentence() const;
};

/// One object of the tree. Cheap to copy within its own call; the tree must outlive it.
class Reader {
 public:
  Reader(const Json& object, std::string where, Diagnostics& found, const Lines* lines = nullptr);
  ~Reader();
  Reader(Reader&&) noexcept;
  Reader(const Reader&) = delete;
  Reader& operator=(const Reader&) = delete;

  bool has(std::string_view key) const;
  /// The raw value, marked as taken; nullptr where missing.
  const Json* raw(std::string_view key);
  /// The raw value of a key that must be there; complains and gives nullptr where it is missing.
  const Json* required(std::string_view key, std::string_view remedy = {});

  /// A number that must be there and in range. After a complaint the answer is a harmless stand-in
  /// (NaN), so that reading can go on.
  double number(std::string_view key, const Range& range, std::string_view remedy = {});
  double number_or(std::string_view key, double fallback, const Range& range,
                   std::string_view remedy = {});
  std::optional<double> optional_number(std::string_view key, const Range& range,
                                        std::string_view remedy = {});
  long long whole(std::string_view key, long long at_least, long long at_most,
                  std::string_view remedy = {});
  long long whole_or(std::string_view key, long long fallback, long long at_least,
                     long long at_most, std::string_view remedy = {});
  bool truth_or(std::string_view key, bool fallback);
  /// A text of 1 to max_bytes bytes, valid UTF-8, without control characters.
  std::string text(std::string_view key, std::string_view remedy = {}, std::size_t max_bytes = 500);
  std::string text_or(std::string_view key, std::string_view fallback, std::size_t max_bytes = 500);
  /// One of the names; the index of it, or nullopt after a complaint that lists them (and suggests
  /// the nearest).
  std::optional<std::size_t> one_of(std::string_view key, const std::vector<std::string>& names);
  std::optional<std::size_t> one_of_or(std::string_view key, std::size_t fallback,
                                       const std::vector<std::string>& names);
  /// A list of numbers with between at_least_count and at_most_count entries, each in range.
  std::vector<double> numbers(std::string_view key, std::size_t at_least_count,
                              std::size_t at_most_count, const Range& range,
                              std::string_view remedy = {});

  /// The object under a key, if it is there (complains where it is no object).
  void child(std::string_view key, const std::function<void(Reader&)>& read);
  /// The same, and complains where it is missing.
  void required_child(std::string_view key, const std::function<void(Reader&)>& read,
                      std::string_view remedy = {});
  /// Each object of a list; complains on another type or count. A missing key is an empty list.
  void each(std::string_view key, std::size_t at_least_count, std::size_t at_most_count,
            const std::function<void(Reader&)>& read, std::string_view remedy = {});
  /// Each named object of a table of tables, in the order of their names.
  void each_named(std::string_view key,
                  const std::function<void(const std::string& name, Reader&)>& read);

  /// Complains of every key that nobody asked for, with the nearest known one as the remedy.
  void finish();

  void complain(std::string_view key, std::string what, Got got = {}, std::string remedy = {});
  /// `where.key`, or `key` at the top.
  std::string path(std::string_view key) const;
  const std::string& where() const { return where_; }
  Diagnostics& found() { return found_; }
  const Lines* lines() const { return lines_; }
  const Json& tree() const { return tree_; }
  /// The keys in the tree, in their order there.
  std::vector<std::string> keys() const;

 private:
  bool is_object() const;
  double checked(std::string_view key, const Json& value, const Range& range,
                 std::string_view remedy);

  const Json& tree_;
  std::string where_;
  Diagnostics& found_;
  const Lines* lines_;
  std::vector<std::string> asked_;
};

/// What to show of a value in a complaint: numbers as they are, texts in quotes and cut short,
/// `a list`, `a table`, `true`.
Got shown(const Json& value);

/// Adds a complaint and its line, looking up the nearest enclosing path that has one.
void add_with_line(Diagnostics& found, const Lines* lines, Complaint complaint);

/// The name nearest to `wanted` by edit distance (a letter more, less or other, or two that changed
/// places), if one is near enough to be a typing mistake.
std::optional<std::string> nearest(std::string_view wanted, const std::vector<std::string>& names);

/// Parses JSON text: at most max_bytes and max_depth, no duplicate keys, valid UTF-8.
/// Errors: line and column and what was expected.
Result<Json> parse_json(std::string_view text, std::size_t max_bytes = 32u << 20,
                        int max_depth = 64);

/// The text of a tree: keys in order, numbers in the fewest digits, never throwing on bad UTF-8.
std::string json_text(const Json& tree, int indent = 2);

/// `{"errors": [{"where", "what", "got", "remedy", "line"}]}`
Json json_of(const Diagnostics& found);

}  // namespace roomwright
