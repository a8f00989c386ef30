// Private to app/service: what its files share. Each subject (documents, stages, files …) is a file
// with its operations as free functions; service.cpp calls them by the operation's name.
#pragma once

#include <algorithm>
#include <map>
#include <mutex>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>

#include "app/api/api.h"
#include "app/service/service.h"
#include "app/service/stage_desk.h"
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
/// The version that the query names, 0 for the newest.
Result<int> asked_version(const Asked& asked);

// ---- who hears what -----------------------------------------------------------------------------

/// Listeners of changes and of progress; see Service::listen.
class Listeners {
 public:
  explicit Listeners(Store& store);
  std::uint64_t add(std::int64_t after, Role role, const std::string& device,
                    std::function<void(const PageEvent&)> heard);
  void forget(std::uint64_t listener);
  /// Whoever listens by this device hears `gone`, and nothing more.
  void end(const std::string& device);
  void changed(std::int64_t sequence);
  void progress(const StageProgress& progress);

 private:
  struct Listener {
    Role role;
    std::string device;
    std::function<void(const PageEvent&)> heard;
  };
  Store& store_;
  std::mutex mutex_;
  std::map<std::uint64_t, Listener> listeners_;
  std::uint64_t last_ = 0;
  std::int64_t told_ = 0;  ///< sequence of the last change that listeners heard
};

// ---- devices ------------------------------------------------------------------------------------

struct PairedDevice {
  std::string id, name;
  Role role = Role::bench;
  std::string paired, seen;
};

/// Paired devices and codes that pair. Devices are kept in the journal `devices`, of their secrets
/// only the SHA-256; codes live in memory and end with the program.
class Devices {
 public:
  Devices(Store& store, const ServiceOptions& options);
  /// Whose secret it is; notes that it was seen.
  std::optional<PairedDevice> holder(const std::string& secret);
  std::vector<PairedDevice> all();
  bool paired(const std::string& id);
  /// Whether this peer, or anyone, has guessed too often to be heard now.
  bool deaf_to(const std::string& peer);
  struct Code {
    std::string code, expires;
  };
  Code new_code(Role role, const std::string& name);
  struct Paired {
    PairedDevice device;
    std::string secret;
  };
  /// Errors: a wrong code, or one that is over. `voided`: no code is good any more.
  struct PairResult {
    std::optional<Paired> paired;
    bool too_many = false;
    Diagnostics faults;
  };
  PairResult pair(const std::string& code, const std::string& name, const std::string& peer);
  /// Errors: no such device; the machine's.
  Result<PairedDevice> unpair(const std::string& id, const Stamp& stamp);

 private:
  struct OpenCode {
    std::string hash, name;
    Role role = Role::bench;
    std::int64_t ends_s = 0;
  };
  Result<Done> read_journal();
  /// What a device writes stands under its name: no two have one, and none is called the office.
  std::string own_name(const std::string& wish) const;
  Result<Done> write(const Json& body, const std::string& id, const std::string& who);

  Store& store_;
  const ServiceOptions& options_;
  std::mutex mutex_;
  std::map<std::string, PairedDevice> devices_;      ///< by id
  std::map<std::string, std::string> id_by_secret_;  ///< by SHA-256 of the secret
  std::int64_t read_to_ = 0;                         ///< number in the journal
  std::vector<OpenCode> codes_;
  int wrong_ = 0;  ///< since a code was made or used
  std::map<std::string, std::pair<int, std::int64_t>> wrong_by_peer_;  ///< how often, since when
};

/// Seconds since 1970 of `2026-11-27T15:04:05Z`, and back.
std::int64_t seconds_of(const std::string& when);
std::string time_of(std::int64_t seconds);

// ---- journals -----------------------------------------------------------------------------------

/// What was read of journals so far: which steps of a job are done, and which tokens are known.
class JournalBook {
 public:
  explicit JournalBook(Store& store) : store_(store) {}
  /// Steps of a job whose newest tick, by the clocks of those who ticked, says done.
  Result<std::set<std::string>> done_steps(const std::string& job);
  /// Appends those entries whose tokens are not known, all or none; the token stays in each body.
  struct WithToken {
    NewEntry entry;
    std::string token;
  };
  Result<Appended> append(const std::string& journal, std::optional<std::int64_t> expected,
                          std::vector<WithToken> entries, const Stamp& stamp);
  /// Whether an entry with this token is there already.
  Result<bool> knows(const std::string& journal, const std::string& token);
  void forget();

 private:
  struct Tick {
    std::string at;
    bool done = false;
  };
  struct Journal {
    std::int64_t read_to = 0;
    std::set<std::string> tokens;
  };
  Result<Journal*> read_on(const std::string& name);
  void note(const std::string& name, const Entry& entry);

  Store& store_;
  std::mutex mutex_;
  std::map<std::string, Journal> journals_;
  std::map<std::string, std::map<std::string, Tick>> ticks_;  ///< by job, by step
};

/// The tick by which the office closes a job, whatever is still open; taken back like any other.
inline constexpr const char* closing_step = "job.done";

// ---- jobs ---------------------------------------------------------------------------------------

/// What lists tell of a job, read once a version: title, reference, revision, date, client, labels
/// of its pieces, how many readings its proof asks for (null: it has mistakes), whether it is an
/// order.
class JobFacts {
 public:
  explicit JobFacts(Store& store) : store_(store) {}
  Result<Json> of(const DocumentHead& head);
  void forget();

 private:
  Store& store_;
  std::mutex mutex_;
  std::map<std::string, std::pair<int, Json>> facts_;  ///< by id: of which version
};

// ---- the desk -----------------------------------------------------------------------------------

/// What all operations work on. `closing`: nothing new begins.
struct Desk;
/// A job's recordings of before and after for JobTexts::recordings, evaluated where they were not.
std::string recordings_for_papers(Desk& desk, const std::string& job);

struct Desk {
  Desk(Store& store_given, ServiceOptions options_given);
  Store& store;
  ServiceOptions options;
  std::atomic<bool> closing = false;
  Listeners listeners;
  Devices devices;
  job::Keep solutions;  ///< of long work inside the stages
  StageDesk stages;
  job::DraftDesk drafts;
  std::mutex drafting;
  std::map<std::string, std::shared_ptr<std::atomic<bool>>> drafts_by_page;
  JournalBook journals;
  JobFacts facts;
  std::mutex creating;  ///< names of new documents are found and taken in one go

  Stamp stamp(const Asked& asked, const std::string& token = {}) const;
  /// 404 where there is no such document, or it was erased.
  std::optional<PageAnswer> missing(const std::string& id) const;
};

/// A body of JSON. `read` takes its keys; every mistake comes back as 400.
struct Body {
  explicit Body(const Asked& asked);
  Json tree;
  Diagnostics found;
};
/// A text of a tree, empty where it is missing or none.
std::string text_at(const Json& tree, const char* key);
/// A text that may be empty or missing.
std::string text_or_none(Reader& in, std::string_view key, std::size_t most);
/// The sender's word for one write.
std::string read_token(Reader& in);

/// A name for a document that nobody has: `wish` in plain letters, with a number where it is taken.
std::string free_id(Store& store, const std::string& wish, const std::string& ending = {});
/// A new document under a free name; one whose token is known answers with its own.
Result<std::pair<std::string, Saved>> create_named(Desk& desk, const std::string& wish,
                                                   const std::string& kind, const std::string& text,
                                                   const Stamp& stamp, const std::string& note);
/// Documents of kind `alternative` that belong to a job, removed ones too.
Result<std::vector<std::string>> alternatives_of(Store& store, const std::string& job);
struct BaseAndToken {
  int base = 0;
  std::string token;
};
/// `{"base", "token"}`
Result<BaseAndToken> read_base(const Asked& asked);
/// A price book of the store, read.
struct ShopBook {
  std::string id;
  int version = 0;
  std::string text;
  shop::Shop shop;
};
/// Those that can be read, in order of id.
Result<std::vector<ShopBook>> shop_books(Store& store);
/// Every live job as the list of jobs has it.
Result<std::vector<Json>> job_rows(Desk& desk);
PageAnswer answer_worked(const Worked& worked);

using Handler = PageAnswer (*)(Desk&, const Asked&);
/// nullptr: no operation of that name.
Handler handler_of(std::string_view operation);

#define ROOMWRIGHT_ANSWER(name) PageAnswer answer_##name(Desk& desk, const Asked& asked)
ROOMWRIGHT_ANSWER(state);
ROOMWRIGHT_ANSWER(library);
ROOMWRIGHT_ANSWER(jobs);
ROOMWRIGHT_ANSWER(create_job);
ROOMWRIGHT_ANSWER(import_job);
ROOMWRIGHT_ANSWER(export_job);
ROOMWRIGHT_ANSWER(stage);
ROOMWRIGHT_ANSWER(draft);
ROOMWRIGHT_ANSWER(inspections);
ROOMWRIGHT_ANSWER(measured);
ROOMWRIGHT_ANSWER(advice);
ROOMWRIGHT_ANSWER(papers);
ROOMWRIGHT_ANSWER(paper);
ROOMWRIGHT_ANSWER(alternatives);
ROOMWRIGHT_ANSWER(add_alternative);
ROOMWRIGHT_ANSWER(take_alternative);
ROOMWRIGHT_ANSWER(remove_alternative);
ROOMWRIGHT_ANSWER(documents);
ROOMWRIGHT_ANSWER(document);
ROOMWRIGHT_ANSWER(remove_document);
ROOMWRIGHT_ANSWER(document_text);
ROOMWRIGHT_ANSWER(replace_document);
ROOMWRIGHT_ANSWER(edit);
ROOMWRIGHT_ANSWER(undo);
ROOMWRIGHT_ANSWER(redo);
ROOMWRIGHT_ANSWER(history);
ROOMWRIGHT_ANSWER(files);
ROOMWRIGHT_ANSWER(put_file);
ROOMWRIGHT_ANSWER(file_bytes);
ROOMWRIGHT_ANSWER(remove_file);
ROOMWRIGHT_ANSWER(entries);
ROOMWRIGHT_ANSWER(append);
ROOMWRIGHT_ANSWER(stock);
ROOMWRIGHT_ANSWER(times);
ROOMWRIGHT_ANSWER(write_times);
ROOMWRIGHT_ANSWER(calendar);
ROOMWRIGHT_ANSWER(clients);
ROOMWRIGHT_ANSWER(export_client);
ROOMWRIGHT_ANSWER(erase_client);
ROOMWRIGHT_ANSWER(devices);
ROOMWRIGHT_ANSWER(pairing_code);
ROOMWRIGHT_ANSWER(pair);
ROOMWRIGHT_ANSWER(unpair);
#undef ROOMWRIGHT_ANSWER

}  // namespace roomwright::app
