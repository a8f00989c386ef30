// Private to app/service: what its files share. Each subject (documents, stages, files …) is a file
// with its operations as free functions; service.cpp calls them by the operation's name.
#pragma once

#include <algorithm>
#include <condition_variable>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/api/api.h"
#include "app/service/service.h"
#include "core/reading/reading.h"

namespace roomwright::app {

// ---- requests -----------------------------------------------------------------------------------

inline constexpr std::size_t most_word = 400;     ///< bytes of one word of a path
inline constexpr std::size_t most_target = 8192;  ///< bytes of a whole target

using Query = std::map<std::string, std::string>;

bool valid_utf8(std::string_view text);
/// Percent signs resolved. nullopt: broken ones, no UTF-8, control characters.
std::optional<std::string> decoded(std::string_view text, bool plus_is_blank);
/// The words of a path, decoded after splitting. nullopt also where one is empty, `.`, `..`, too
/// long, or holds a slash of either kind.
std::optional<std::vector<std::string>> path_words(std::string_view path);
/// What stands behind the `?`. nullopt: broken, or a key twice.
std::optional<Query> query_of(std::string_view target);

struct Route {
  const Operation* operation = nullptr;
  std::vector<std::string> words;    ///< of the places
  std::vector<std::string> allowed;  ///< methods that the path knows; empty: no such path
};
Route route_of(std::string_view method, const std::vector<std::string>& parts);

/// An admitted request, whole.
struct Asked {
  const Admission& admission;
  const RequestHead& head;
  std::string_view body;
  Query query;
  const std::atomic<bool>& gone;
  const PartWriter& part;

  const std::string& word(std::size_t i) const { return admission.words.at(i); }
  std::string query_word(const std::string& key) const {
    const auto found = query.find(key);
    return found == query.end() ? std::string() : found->second;
  }
};

// ---- answers ------------------------------------------------------------------------------------

PageAnswer json_answer(const Json& json, int status = 200);
PageAnswer refused(int status, const Diagnostics& found);
PageAnswer refused(int status, Complaint complaint);
PageAnswer refused(int status, std::string where, std::string what, std::string remedy = {});
/// The store's answer to a write: 200, or 409 where it was refused.
PageAnswer saved_answer(const Saved& saved);
Json contract_saved(const Saved& saved);
Json contract_step(const Step& step);

/// A whole number of the query, 0 where it is missing. Complains into `found`.
std::int64_t query_number(const Asked& asked, const std::string& key, Diagnostics& found);

// ---- the desk -----------------------------------------------------------------------------------

/// What all operations work on. `closing`: nothing new begins.
struct Desk {
  Desk(Store& store_given, ServiceOptions options_given)
      : store(store_given), options(std::move(options_given)) {}
  Store& store;
  ServiceOptions options;
  std::atomic<bool> closing = false;

  Stamp stamp(const Asked& asked, const std::string& token = {}) const;
  /// 404 where there is no such document.
  std::optional<PageAnswer> missing(const std::string& id) const;
};

using Handler = PageAnswer (*)(Desk&, const Asked&);
/// nullptr: no operation of that name.
Handler handler_of(std::string_view operation);

PageAnswer answer_state(Desk& desk, const Asked& asked);
PageAnswer answer_jobs(Desk& desk, const Asked& asked);
PageAnswer answer_document(Desk& desk, const Asked& asked);
PageAnswer answer_edit(Desk& desk, const Asked& asked);

}  // namespace roomwright::app
