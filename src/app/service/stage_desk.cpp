// The long work on jobs; see stage_desk.h.
#include "app/service/stage_desk.h"

#include <elf.h>
#include <link.h>

#include <algorithm>
#include <chrono>
#include <nlohmann/json.hpp>

#include "core/reading/reading.h"
#include "job/document/document.h"

namespace roomwright::app {

// ---- texts --------------------------------------------------------------------------------------

Result<JobTexts> job_texts(Store& store, const std::string& id, int version) {
  auto document = store.document(id, version);
  if (!document) return document.mistakes();
  const DocumentHead& head = document->head;
  if (head.erased)
    return Complaint{id, "was erased", {}, "what had to be kept stands in its text", 0};
  if (head.kind != "job" && head.kind != "alternative")
    return Complaint{id, "is no job", {}, "look at the list of jobs", 0};
  JobTexts out{id, document->version, head.version, {std::move(document->text), {}}, {}, {}};
  if (const auto shop = job::shop_file_of(out.sources.job_text)) {
    auto book = store.document(*shop);
    if (book && !book->head.erased) out.sources.shop_text = std::move(book->text);
  }
  out.key = sha256_hex(sha256_hex(out.sources.job_text) + sha256_hex(out.sources.shop_text));
  return out;
}

Result<job::Job> read_texts(const JobTexts& texts) {
  auto read = job::read_job(texts.sources);
  if (read) return read;
  Diagnostics found;
  const auto shop = job::shop_file_of(texts.sources.job_text);
  if (shop && texts.sources.shop_text.empty())
    found.add("shop", "names a shop file that is not here", "\"" + *shop + "\"",
              "bring that file in first");
  for (Complaint fault : read.mistakes().items()) {
    constexpr std::string_view front = "job file: ";
    if (fault.where.starts_with(front)) fault.where.erase(0, front.size());
    if (!texts.sources.shop_text.empty() || !fault.where.starts_with("shop file"))
      found.add(std::move(fault));
  }
  return found;
}

Work work_of_stage(std::string_view stage) {
  return stage == "findings" || stage == "treatment" || stage == "proof" ? Work::sound
                                                                         : Work::parts;
}

namespace {

int read_build_id(dl_phdr_info* info, std::size_t, void* out) {
  for (int i = 0; i < info->dlpi_phnum; ++i) {
    if (info->dlpi_phdr[i].p_type != PT_NOTE) continue;
    const char* at = reinterpret_cast<const char*>(info->dlpi_addr + info->dlpi_phdr[i].p_vaddr);
    const char* end = at + info->dlpi_phdr[i].p_memsz;
    while (at + sizeof(ElfW(Nhdr)) <= end) {
      const auto* note = reinterpret_cast<const ElfW(Nhdr)*>(at);
      const char* name = at + sizeof *note;
      const char* bytes = name + ((note->n_namesz + 3u) & ~3u);
      if (note->n_type == NT_GNU_BUILD_ID && std::string_view(name, 3) == "GNU") {
        for (unsigned k = 0; k < note->n_descsz; ++k) {
          constexpr const char* digits = "0123456789abcdef";
          const auto byte = static_cast<unsigned char>(bytes[k]);
          *static_cast<std::string*>(out) += {digits[byte >> 4], digits[byte & 15]};
        }
        return 1;
      }
      at = bytes + ((note->n_descsz + 3u) & ~3u);
    }
  }
  return 1;  // the first object is the program itself
}

const char* stage_of(Work work) {
  return work == Work::parts ? "build" : work == Work::sound ? "treatment" : "papers";
}

std::size_t bytes_of(const Worked& worked) {
  std::size_t out = 500;
  for (const auto& [name, text] : worked.texts) out += text.size();
  return out;
}

WorkedPointer ended(Worked::End end) {
  auto out = std::make_shared<Worked>();
  out->end = end;
  return out;
}

}  // namespace

std::string build_of_program() {
  std::string out;
  dl_iterate_phdr(read_build_id, &out);
  return out;
}

// ---- the desk -----------------------------------------------------------------------------------

struct StageDesk::Task {
  JobTexts texts;
  Work work = Work::parts;
  std::string key;
  int waiters = 0;
  std::atomic<bool> cancel = false;
  WorkedPointer result;
  std::condition_variable done;
};

StageDesk::StageDesk(StageDeskOptions options) : options_(std::move(options)) {
  for (Lane& lane : lanes_) lane.thread = std::thread([this, &lane] { serve(lane); });
}

StageDesk::~StageDesk() {
  close();
  for (Lane& lane : lanes_) lane.thread.join();
}

std::string StageDesk::full_key(const JobTexts& texts, Work work) const {
  return "answers 1\n" + options_.build + "\n" + stage_of(work) + "\n" + texts.key +
         (work == Work::papers && !texts.recordings.empty() ? "\n" + sha256_hex(texts.recordings)
                                                            : std::string()) +
         (options_.sound_field ? "" : " without sound");
}

WorkedPointer StageDesk::ask(const JobTexts& texts, Work work, const std::atomic<bool>& gone) {
  std::unique_lock lock(mutex_);
  if (closing_) return ended(Worked::End::closing);
  if (shut_.contains(texts.id)) return ended(Worked::End::cancelled);
  supersede(texts);
  const std::string key = full_key(texts, work);
  if (auto before = held(key)) return before;
  const TaskPointer task = join(texts, work);
  ++task->waiters;
  while (!task->result && !gone) task->done.wait_for(lock, std::chrono::milliseconds(50));
  const WorkedPointer result = task->result ? task->result : ended(Worked::End::cancelled);
  --task->waiters;
  leave(task);
  return result;
}

StageDesk::TaskPointer StageDesk::join(const JobTexts& texts, Work work) {
  const std::string key = full_key(texts, work);
  if (const auto found = tasks_.find(key); found != tasks_.end()) return found->second;
  auto task = std::make_shared<Task>();
  task->texts = texts;
  task->work = work;
  task->key = key;
  tasks_[key] = task;
  Lane& lane = lanes_[work == Work::parts ? 0 : 1];
  lane.waiting.push_back(task);
  if (lane.now && lane.now->waiters == 0) give_up(lane.now, Worked::End::cancelled);  // (3)
  lane.fresh.notify_one();
  return task;
}

/// Called with one waiter less.
void StageDesk::leave(const TaskPointer& task) {
  if (task->waiters > 0 || task->result) return;
  Lane& lane = lanes_[task->work == Work::parts ? 0 : 1];
  if (lane.now != task || !lane.waiting.empty()) give_up(task, Worked::End::cancelled);
}

/// Whoever asks for the same afterwards begins anew.
void StageDesk::give_up(const TaskPointer& task, Worked::End why) {
  task->cancel = true;
  for (Lane& lane : lanes_) std::erase(lane.waiting, task);
  end(task, ended(why));
}

/// (2)
void StageDesk::supersede(const JobTexts& texts) {
  std::vector<TaskPointer> older;
  for (const auto& [key, task] : tasks_)
    if (task->texts.id == texts.id && task->texts.key != texts.key &&
        task->texts.version <= texts.version)
      older.push_back(task);
  for (const TaskPointer& task : older) give_up(task, Worked::End::superseded);
}

void StageDesk::end(const TaskPointer& task, WorkedPointer result) {
  if (!task->result) task->result = std::move(result);
  const auto found = tasks_.find(task->key);
  if (found != tasks_.end() && found->second == task) tasks_.erase(found);
  task->done.notify_all();
}

void StageDesk::shut(const std::vector<std::string>& jobs) {
  std::unique_lock lock(mutex_);
  shut_.insert(jobs.begin(), jobs.end());
  std::vector<TaskPointer> theirs;
  for (const auto& [key, task] : tasks_)
    if (shut_.contains(task->texts.id)) theirs.push_back(task);
  for (const TaskPointer& task : theirs) give_up(task, Worked::End::cancelled);
  idle_.wait(lock, [&] {
    return std::none_of(std::begin(lanes_), std::end(lanes_), [&](const Lane& lane) {
      return lane.now && shut_.contains(lane.now->texts.id);
    });
  });
  held_.clear();
  order_.clear();
  held_bytes_ = 0;
}

void StageDesk::open(const std::vector<std::string>& jobs) {
  const std::lock_guard lock(mutex_);
  for (const std::string& job : jobs) shut_.erase(job);
}

void StageDesk::close() {
  const std::lock_guard lock(mutex_);
  closing_ = true;
  while (!tasks_.empty()) give_up(TaskPointer(tasks_.begin()->second), Worked::End::closing);
  for (Lane& lane : lanes_) lane.fresh.notify_all();
}

void StageDesk::serve(Lane& lane) {
  std::unique_lock lock(mutex_);
  for (;;) {
    lane.fresh.wait(lock, [&] { return closing_ || !lane.waiting.empty(); });
    if (closing_) return;
    const TaskPointer task = lane.waiting.front();
    lane.waiting.pop_front();
    lane.now = task;
    lock.unlock();
    WorkedPointer result;
    try {
      result = work_out(*task);
    } catch (const std::exception& fault) {
      Worked failed{Worked::End::faulty, {}, {}};
      failed.faults.add("", std::string("our own mistake: ") + fault.what());
      result = std::make_shared<Worked>(std::move(failed));
    }
    lock.lock();
    lane.now = nullptr;
    idle_.notify_all();
    if (shut_.contains(task->texts.id)) result = ended(Worked::End::cancelled);
    if (result->end == Worked::End::done || result->end == Worked::End::faulty)
      hold(task->key, result);
    end(task, result);
  }
}

// ---- the work -----------------------------------------------------------------------------------

namespace {

Result<std::map<std::string, std::string>> stage_texts(const job::Job& job, const job::Pack& pack,
                                                       Work work) {
  std::map<std::string, std::string> out;
  for (const std::string& stage : stage_names()) {
    if (stage == "survey" || work_of_stage(stage) != work) continue;
    if (job.order && stage != "build" && stage != "price") continue;
    out[stage] = json_text(stage_json(job, pack, stage), -1);
  }
  return out;
}

Result<std::map<std::string, std::string>> paper_texts(const job::Job& job, const job::Pack& pack,
                                                       const Watch& watch) {
  auto files = pack_files(job, pack, watch);
  if (!files) return files.mistakes();
  std::map<std::string, std::string> out;
  for (PackFile& file : *files)
    if (file.path.ends_with(".pdf")) out[file.path] = std::move(file.bytes);
  return out;
}

/// The proof with what was measured.
void put_recordings(const std::string& recordings, job::Pack& pack) {
  const Json told = Json::parse(recordings, nullptr, false);
  if (!told.is_object()) return;
  const auto side = [&](const char* place) -> std::optional<job::MeasuredSide> {
    const auto found = told.find(place);
    if (found == told.end()) return std::nullopt;
    return measured_side({{found->at("name").get<std::string>(), &found->at("measured")}});
  };
  prove(pack, {side("before"), side("after")});
}

}  // namespace

WorkedPointer StageDesk::work_out(Task& task) {
  if (auto before = kept(task.key)) return std::make_shared<Worked>(std::move(*before));
  ++worked_out_;
  const JobTexts& texts = task.texts;
  const auto faulty = [&](const Diagnostics& faults) -> WorkedPointer {
    if (task.cancel) return ended(Worked::End::cancelled);
    return std::make_shared<Worked>(Worked{Worked::End::faulty, faults, {}});
  };
  const auto job = read_texts(texts);
  if (!job) return faulty(job.mistakes());
  job::Run run;
  run.watch.cancel = &task.cancel;
  std::atomic<int> last = -1;
  run.watch.progress = [&](double share, std::string_view doing) {
    const int hundredth = int(share * 100);
    if (task.cancel || !options_.tell || last.exchange(hundredth) == hundredth) return;
    options_.tell({texts.id, texts.version, stage_of(task.work), share, std::string(doing)});
  };
  run.keep = options_.solutions;
  run.sound_field = options_.sound_field && task.work != Work::parts;
  auto pack = job::run_all(*job, run);
  if (!pack) return faulty(pack.mistakes());
  if (task.work == Work::papers && !texts.recordings.empty() && !job->order)
    put_recordings(texts.recordings, *pack);
  auto made = task.work == Work::papers ? paper_texts(*job, *pack, run.watch)
                                        : stage_texts(*job, *pack, task.work);
  if (!made) return faulty(made.mistakes());
  if (task.cancel) return ended(Worked::End::cancelled);
  if (options_.tell) options_.tell({texts.id, texts.version, stage_of(task.work), 1, "done"});
  Worked done{Worked::End::done, {}, std::move(*made)};
  keep(task.key, done);
  return std::make_shared<Worked>(std::move(done));
}

// ---- what is kept -------------------------------------------------------------------------------

WorkedPointer StageDesk::held(const std::string& key) {
  const auto found = held_.find(key);
  if (found == held_.end()) return nullptr;
  order_.splice(order_.begin(), order_, found->second.second);
  return found->second.first;
}

void StageDesk::hold(const std::string& key, WorkedPointer result) {
  if (held_.contains(key)) return;
  held_bytes_ += bytes_of(*result);
  order_.push_front(key);
  held_[key] = {std::move(result), order_.begin()};
  while (held_bytes_ > options_.most_bytes && order_.size() > 1) {
    const auto oldest = held_.find(order_.back());
    held_bytes_ -= bytes_of(*oldest->second.first);
    held_.erase(oldest);
    order_.pop_back();
  }
}

// A kept answer: each name and its text, both led by their lengths.

std::optional<Worked> StageDesk::kept(const std::string& key) const {
  if (options_.build.empty() || !options_.answers.find) return std::nullopt;
  const auto bytes = options_.answers.find(key);
  if (!bytes) return std::nullopt;
  Worked out;
  std::string_view rest = *bytes;
  const auto next = [&]() -> std::optional<std::string> {
    const auto end = rest.find('\n');
    if (end == std::string_view::npos || end == 0 || end > 12) return std::nullopt;
    std::size_t size = 0;
    for (const char sign : rest.substr(0, end)) {
      if (sign < '0' || sign > '9') return std::nullopt;
      size = size * 10 + std::size_t(sign - '0');
    }
    rest.remove_prefix(end + 1);
    if (size > rest.size()) return std::nullopt;
    std::string text(rest.substr(0, size));
    rest.remove_prefix(size);
    return text;
  };
  while (!rest.empty()) {
    auto name = next();
    auto text = name ? next() : std::nullopt;
    if (!text) return std::nullopt;
    out.texts[*name] = std::move(*text);
  }
  return out;
}

void StageDesk::keep(const std::string& key, const Worked& worked) const {
  if (options_.build.empty() || !options_.answers.put) return;
  std::string bytes;
  for (const auto& [name, text] : worked.texts)
    bytes += std::to_string(name.size()) + "\n" + name + std::to_string(text.size()) + "\n" + text;
  options_.answers.put(key, bytes);
}

}  // namespace roomwright::app
