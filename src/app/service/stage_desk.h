// Private to app/service: the long work on jobs (stages with and without the sound field, papers),
// done once for each version by threads of its own and shared by all who wait.
//
// Invariants. (1) A result is kept under all that it depends on: the texts of job and shop, for
// papers the recordings, and the build of the program; who asks for the same gets the same bytes.
// (2) Where a newer version of a job is asked for, work on an older one is cancelled and its
// waiters are told (499). (3) Work that nobody waits for any more gives way as soon as anything
// else waits for its thread. (4) Parts and prices have a thread of their own: they never wait for a
// sound field.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <list>
#include <map>
#include <memory>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "app/api/api.h"
#include "app/store/store.h"
#include "core/base/base.h"
#include "job/stages/stages.h"

namespace roomwright::app {

/// A job of one version with its shop: all that its stages depend on.
struct JobTexts {
  std::string id;
  int version = 0;  ///< of the job
  int newest = 0;
  job::Sources sources;
  std::string key;  ///< SHA-256 of both texts
  /// For the papers: the recordings of before and after, `{"before": {"name", "measured"},
  /// "after"}` as measured_json tells them; empty where there are none.
  std::string recordings{};
};
/// Errors: an unknown id, no job, erased, its shop is missing.
Result<JobTexts> job_texts(Store& store, const std::string& id, int version);
/// Reads them; `job file: ` is left out before the places of the job itself.
Result<job::Job> read_texts(const JobTexts& texts);

/// What is worked out together.
enum class Work {
  parts,  ///< build, price, hang
  sound,  ///< findings, treatment, proof
  papers
};
inline constexpr int work_count = 3;
/// That of a stage; `survey` belongs to none and is read at once.
Work work_of_stage(std::string_view stage);

/// What came of it: texts by name (stages as JSON, papers as PDF).
struct Worked {
  enum class End { done, faulty, superseded, cancelled, closing } end = End::done;
  Diagnostics faults;
  std::map<std::string, std::string> texts;
};
using WorkedPointer = std::shared_ptr<const Worked>;

struct StageProgress {
  std::string job;
  int version = 0;
  std::string stage;
  double share = 0;
  std::string sentence;
};

struct StageDeskOptions {
  job::Keep solutions;  ///< of long work inside the stages
  job::Keep answers;    ///< what is answered; it may name people, so erasing must reach it
  std::string build;  ///< what tells this build of the program from others; empty: answers are not
                      ///< kept beyond the memory
  std::function<void(const StageProgress&)> tell;
  std::size_t most_bytes = 96u << 20;  ///< of answers held in memory
  bool sound_field = true;             ///< false: for tests of everything else
};

class StageDesk {
 public:
  explicit StageDesk(StageDeskOptions options);
  ~StageDesk();
  StageDesk(const StageDesk&) = delete;
  StageDesk& operator=(const StageDesk&) = delete;

  /// Waits for it, works it out where nobody does yet, and gives up when `gone` turns true.
  WorkedPointer ask(const JobTexts& texts, Work work, const std::atomic<bool>& gone);
  /// Ends all work on these jobs, begins none until open() and forgets every answer held in memory:
  /// for erasing.
  void shut(const std::vector<std::string>& jobs);
  void open(const std::vector<std::string>& jobs);
  /// Everything ends; whoever waits is told.
  void close();
  /// Times that anything was worked out, for tests.
  std::int64_t worked_out() const { return worked_out_; }

 private:
  struct Task;
  using TaskPointer = std::shared_ptr<Task>;
  struct Lane {
    std::deque<TaskPointer> waiting;
    TaskPointer now;
    std::condition_variable fresh;
    std::thread thread;
  };

  TaskPointer join(const JobTexts& texts, Work work);
  void leave(const TaskPointer& task);
  void give_up(const TaskPointer& task, Worked::End why);
  void supersede(const JobTexts& texts);
  void end(const TaskPointer& task, WorkedPointer result);
  void serve(Lane& lane);
  WorkedPointer work_out(Task& task);
  WorkedPointer held(const std::string& key);
  void hold(const std::string& key, WorkedPointer result);
  std::optional<Worked> kept(const std::string& key) const;
  void keep(const std::string& key, const Worked& worked) const;
  std::string full_key(const JobTexts& texts, Work work) const;

  StageDeskOptions options_;
  mutable std::mutex mutex_;
  std::map<std::string, TaskPointer> tasks_;  ///< by full key
  std::map<std::string, std::pair<WorkedPointer, std::list<std::string>::iterator>> held_;
  std::list<std::string> order_;  ///< of held_, the last used first
  std::size_t held_bytes_ = 0;
  std::set<std::string> shut_;
  std::condition_variable idle_;
  bool closing_ = false;
  std::atomic<std::int64_t> worked_out_ = 0;
  Lane lanes_[2];
};

/// The linker's own mark of this program (its build id), empty where there is none.
std::string build_of_program();

}  // namespace roomwright::app
