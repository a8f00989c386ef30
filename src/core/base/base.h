// What every folder needs and nothing more: how a mistake is told (Complaint, Diagnostics), how a
// function that may fail answers (Result), what our own mistakes meet (RW_ASSERT), progress and
// cancel (Watch), seeded random numbers, loops over threads, and whole-or-absent file writing.
// A function that serves one folder lives there, not here.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace roomwright {

/// What was found where something else was wanted: a number, a text, or nothing to show.
using Got = std::variant<std::monostate, double, std::string>;

/// One mistake or one warning, in a form that a person can act on.
struct Complaint {
  std::string where;   ///< the key, such as `layers[1].thickness_m`; empty: the whole input
  std::string what;    ///< what is wrong, such as `must be above 0`
  Got got;             ///< what was there
  std::string remedy;  ///< what would put it right
  int line = 0;        ///< 1-based line of the source text, 0 where there is none

  /// `line 12: layers[1].thickness_m: must be above 0, got -0.05; give the board's thickness`
  std::string sentence() const;
};

/// Every mistake found so far. Readers add and go on; results are asked for only when it is empty.
class Diagnostics {
 public:
  void add(std::string where, std::string what, Got got = {}, std::string remedy = {});
  void add(Complaint complaint) { items_.push_back(std::move(complaint)); }
  void add_all(const Diagnostics& other);
  bool empty() const { return items_.empty(); }
  std::size_t size() const { return items_.size(); }
  const std::vector<Complaint>& items() const { return items_; }
  std::vector<Complaint>& items() { return items_; }
  /// One sentence a line.
  std::string text() const;

 private:
  std::vector<Complaint> items_;
};

[[noreturn]] void assertion_failed(const char* condition, const char* file, int line);
#ifdef ROOMWRIGHT_ASSERTIONS
#define RW_ASSERT(condition) \
  ((condition) ? (void)0 : ::roomwright::assertion_failed(#condition, __FILE__, __LINE__))
#else
#define RW_ASSERT(condition) ((void)sizeof(!(condition)))
#endif

/// A value, or the mistakes that kept us from it. Never both, never neither.
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}
  Result(Diagnostics mistakes) : state_(std::in_place_index<1>, std::move(mistakes)) {
    RW_ASSERT(!std::get<1>(state_).empty());
  }
  Result(Complaint mistake) : state_(std::in_place_index<1>) {
    std::get<1>(state_).add(std::move(mistake));
  }

  bool ok() const { return state_.index() == 0; }
  explicit operator bool() const { return ok(); }
  T& value() & { return std::get<0>(state_); }
  const T& value() const& { return std::get<0>(state_); }
  T&& value() && { return std::get<0>(std::move(state_)); }
  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }
  const Diagnostics& mistakes() const { return std::get<1>(state_); }

 private:
  std::variant<T, Diagnostics> state_;
};

/// For functions that only succeed or fail.
struct Done {};

/// Progress out, cancel in. Both optional; engines call `tick` about ten times a second at most.
struct Watch {
  std::function<void(double fraction, std::string_view doing)> progress;
  const std::atomic<bool>* cancel = nullptr;
  void tick(double fraction, std::string_view doing) const {
    if (progress) progress(fraction, doing);
  }
  bool cancelled() const { return cancel && cancel->load(std::memory_order_relaxed); }
  /// For a part of the work: its 0 to 1 lies between two fractions of the whole.
  Watch part(double from, double to) const {
    if (!progress) return *this;
    return {[whole = progress, from, to](double fraction, std::string_view doing) {
              whole(from + (to - from) * fraction, doing);
            },
            cancel};
  }
};

/// A random number generator whose numbers are the same on every machine (PCG32: M. O'Neill,
/// HMC-CS-2014-0905, 2014). Seeds are arguments, never clocks.
class Random {
 public:
  explicit Random(std::uint64_t seed);
  std::uint32_t next();
  /// 0 <= value < count; count above 0.
  std::uint32_t below(std::uint32_t count);
  /// lo <= value <= hi.
  std::int64_t between(std::int64_t lo, std::int64_t hi);
  /// 0 <= value < 1, 53 bits.
  double unit();
  double uniform(double lo, double hi) { return lo + (hi - lo) * unit(); }

 private:
  std::uint64_t state_;
};

/// Threads to use where the caller does not say: the machine's, at least 1.
int default_threads();

/// Calls body(i) once for each i in [0, count), on up to `threads` threads (0: default_threads()).
/// Which thread takes which i is not defined, so body writes only to place i; sums are taken
/// afterwards, in order, and are then the same for any number of threads.
void parallel_for(std::size_t count, int threads, const std::function<void(std::size_t)>& body);

/// Writes the whole file or leaves what was there (a temporary beside it, synced, then renamed).
/// Errors: the path and what the system said.
Result<Done> write_file(const std::string& path, std::string_view bytes);

/// Reads a whole file of at most max_bytes. Errors: the path and what the system said.
Result<std::string> read_file(const std::string& path, std::size_t max_bytes = 64u << 20);

/// Results of long work kept as files of a folder, which is made when first needed; an empty name
/// keeps nothing. A key is all that its value depends on. A file that is broken, of another version
/// or not readable counts as not there; what cannot be written is not kept. The oldest go when
/// there are many. Several processes may use one folder.
class KeptFiles {
 public:
  explicit KeptFiles(std::string folder) : folder_(std::move(folder)) {}
  std::optional<std::string> find(const std::string& key) const;
  void put(const std::string& key, const std::string& value) const;

 private:
  std::string folder_;
};

/// A double in the fewest digits that read back the same (`0.05`, `1e-07`).
std::string shortest(double value);

/// A double rounded to `decimals` places, halves away from zero, without a sign on zero.
std::string fixed(double value, int decimals);

}  // namespace roomwright
