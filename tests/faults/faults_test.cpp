// The store when everything goes wrong: nothing that was acknowledged is lost, and what went wrong
// is said so that a person can act on it.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <sched.h>
#include <sqlite3.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <functional>
#include <sstream>
#include <thread>

#include "app/store/store.h"
#include "faults/failing_disk.h"

namespace roomwright::app {
namespace {

namespace fs = std::filesystem;
using faults::DiskFault;
using faults::fail_after;

const std::string counting = "# counts\nn = 0\n";

std::string slurp(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream bytes;
  bytes << file.rdbuf();
  return bytes.str();
}

class Faults : public testing::Test {
 protected:
  static void SetUpTestSuite() { faults::install_failing_disk(); }
  void SetUp() override {
    // Memory where there is some: a process that is killed needs no disk to lose its writes.
    const fs::path fast = "/dev/shm";
    folder_ = (::access(fast.c_str(), W_OK) == 0 ? fast : fs::temp_directory_path()) /
              ("roomwright_faults_" + std::to_string(getpid()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    path_ = (folder_ / "shop.store").string();
  }
  void TearDown() override {
    fail_after(-1, DiskFault::full);
    fs::permissions(folder_, fs::perms::owner_all);
    fs::remove_all(folder_);
  }

  static Stamp stamp() { return {"Ada", "2026-11-27T15:04:05Z", ""}; }
  static Result<std::unique_ptr<Store>> open_at(const std::string& path, bool create = true) {
    StoreOptions options;
    options.create = create;
    options.opener = "roomwright serve";
    options.when = "2026-11-27T08:00:00Z";
    return open_store(path, options);
  }
  std::unique_ptr<Store> opened() {
    auto out = open_at(path_);
    EXPECT_TRUE(out.ok()) << out.mistakes().text();
    return out ? std::move(*out) : nullptr;
  }
  /// n := n + 1, and the same number in a journal; what n is then, or the complaint.
  static Result<int> count_on(Store& store, int n) {
    const auto done =
        store.edit("count", n + 1, {{"n", std::to_string(n), std::to_string(n + 1)}}, stamp());
    if (!done) return done.mistakes();
    return n + 1;
  }
  static int counted(Store& store) {
    const auto found = store.document("count");
    if (!found) return -1;
    return std::stoi(found->text.substr(found->text.find("n = ") + 4));
  }
  static void expect_sound(Store& store) {
    const auto report = store.check();
    ASSERT_TRUE(report.ok());
    EXPECT_TRUE(report->faults.empty()) << report->faults.text();
  }
  /// What a child says on its pipe, until it ends or is killed after so many microseconds.
  static std::string said_by(const std::function<void(int)>& child, long kill_after_us = -1,
                             std::size_t but_not_before_it_said = 0) {
    int ends[2];
    if (::pipe(ends) != 0) return "no pipe";
    const pid_t process = ::fork();
    if (process == 0) {
      ::close(ends[0]);
      child(ends[1]);
      ::_exit(0);
    }
    ::close(ends[1]);
    std::string out;
    char block[4096];
    while (out.size() < but_not_before_it_said) {
      const ssize_t n = ::read(ends[0], block, 1);
      if (n <= 0) break;
      out.append(block, std::size_t(n));
    }
    if (kill_after_us >= 0) {
      std::this_thread::sleep_for(std::chrono::microseconds(kill_after_us));
      ::kill(process, SIGKILL);
    }
    for (ssize_t n = 0; (n = ::read(ends[0], block, sizeof block)) > 0;)
      out.append(block, std::size_t(n));
    ::close(ends[0]);
    ::waitpid(process, nullptr, 0);
    return out;
  }
  static void say(int pipe, const std::string& text) {
    if (::write(pipe, text.data(), text.size()) < 0) ::_exit(1);
  }

  fs::path folder_;
  std::string path_;
};

TEST_F(Faults, killed_at_200_random_moments_while_writing_nothing_acknowledged_is_lost) {
  {
    const auto store = opened();
    ASSERT_TRUE(store->create("count", "job", counting, stamp()).ok());
  }
  Random random(1);
  int acknowledged = 0, entries = 0, in_writing = 0;
  for (int round = 0; round < 200; ++round) {
    const std::string said = said_by(
        [&](int pipe) {
          auto store = open_at(path_);
          if (!store) return say(pipe, store.mistakes().text());
          for (int n = counted(**store);;) {
            const auto next = count_on(**store, n);
            if (!next) return say(pipe, next.mistakes().text());
            n = *next;
            say(pipe, "e");
            if (!(*store)->append("time", std::nullopt, {{"saw", "count", "{}"}}, stamp())) return;
            say(pipe, "j");
            if (n % 7 == 0) {
              const std::string bytes(std::size_t(n) * 10, 'x');
              if (!(*store)->put_file({"f", "photo", "count", "", ""}, bytes, stamp())) return;
            }
          }
        },
        long(random.below(3'000)), random.below(12));
    ASSERT_EQ(said.find_first_not_of("ej"), std::string::npos) << said;
    acknowledged += int(std::count(said.begin(), said.end(), 'e'));
    entries += int(std::count(said.begin(), said.end(), 'j'));
    const auto store = opened();
    ASSERT_TRUE(store) << round;
    const int found = counted(*store), rows = int(store->entries("time")->size());
    ASSERT_GE(found, acknowledged) << "an acknowledged edit is lost";
    ASSERT_LE(found, acknowledged + 1) << "one may have been in writing, no more";
    ASSERT_GE(rows, entries) << "an acknowledged entry is lost";
    ASSERT_LE(rows, entries + 1);
    ASSERT_EQ(store->documents()->at(0).version, found + 1);
    in_writing += found + rows - acknowledged - entries;
    acknowledged = found, entries = rows;
    if (round % 50 == 0) expect_sound(*store);
  }
  const auto store = opened();
  expect_sound(*store);
  EXPECT_GT(acknowledged, 200) << "the children hardly wrote";
  RecordProperty("acknowledged", acknowledged);
  RecordProperty("in_writing", in_writing);
}

TEST_F(Faults, a_full_disk_at_any_write_loses_nothing_and_is_told) {
  for (long writes = 0; writes < 60; ++writes) {
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    {
      const auto store = opened();
      ASSERT_TRUE(store->create("count", "job", counting, stamp()).ok());
      int n = 0;
      fail_after(writes, DiskFault::full);
      for (;;) {
        const auto next = count_on(*store, n);
        if (next) {
          n = *next;
          ASSERT_LT(n, 100) << "the disk never failed";
          continue;
        }
        EXPECT_NE(next.mistakes().text().find("the disk is full; nothing of this change was kept"),
                  std::string::npos)
            << next.mistakes().text();
        break;
      }
      EXPECT_FALSE(count_on(*store, n).ok()) << "it is full still";
      EXPECT_EQ(counted(*store), n) << writes;
      fail_after(-1, DiskFault::full);  // somebody frees space
      const auto next = count_on(*store, n);
      ASSERT_TRUE(next.ok()) << next.mistakes().text();
      expect_sound(*store);
    }
    const auto store = opened();
    expect_sound(*store);
  }
}

TEST_F(Faults, the_power_goes_in_the_middle_of_any_write) {
  for (long writes = 0; writes < 60; ++writes) {
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    int n = 0;
    {
      const auto store = opened();
      ASSERT_TRUE(store->create("count", "job", counting, stamp()).ok());
      fail_after(writes, DiskFault::torn);
      for (int i = 0; i < 100; ++i) {
        const auto next = count_on(*store, n);
        if (!next) break;
        n = *next;
      }
    }
    fail_after(-1, DiskFault::full);
    const auto store = opened();
    ASSERT_TRUE(store);
    EXPECT_GE(counted(*store), n) << writes;
    EXPECT_LE(counted(*store), n + 1) << writes;
    expect_sound(*store);
  }
}

TEST_F(Faults, a_real_disk_of_two_megabytes_fills_up) {
  const std::string said = said_by([&](int pipe) {
    if (::unshare(CLONE_NEWNS) != 0 ||
        ::mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) != 0 ||
        ::mount("none", folder_.c_str(), "tmpfs", 0, "size=2m") != 0)
      return say(pipe, "skip");
    auto store = open_at(path_);
    if (!store || !(*store)->create("count", "job", counting, stamp()))
      return say(pipe, "no store");
    for (int n = 0; n < 100'000;) {
      const auto next = count_on(**store, n);
      if (next) {
        n = *next;
        continue;
      }
      say(pipe, next.mistakes().text());
      const bool all = counted(**store) == n;
      store->reset();
      auto again = open_at(path_);
      const bool sound = again ? (*again)->check()->faults.empty() && counted(**again) == n : false;
      return say(pipe, all && sound ? "all there" : "lost");
    }
  });
  if (said == "skip") GTEST_SKIP() << "this user may not mount a small disk";
  EXPECT_NE(said.find("the disk is full"), std::string::npos) << said;
  EXPECT_NE(said.find("all there"), std::string::npos) << said;
}

TEST_F(Faults, a_read_only_file_or_folder_is_told_and_can_still_be_looked_at) {
  {
    const auto store = opened();
    ASSERT_TRUE(store->create("count", "job", counting, stamp()).ok());
  }
  fs::permissions(path_, fs::perms(0444));
  for (const auto perms : {fs::perms(0777), fs::perms(0555)}) {
    fs::permissions(folder_, perms);
    const std::string said = said_by([&](int pipe) {
      if (::getuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0))
        return say(pipe, "skip");
      auto store = open_at(path_);
      say(pipe, store ? "opened" : store.mistakes().text());
      StoreOptions looking;
      looking.reading = true;
      auto look = open_store(path_, looking);
      say(pipe, look ? (*look)->document("count")->text : look.mistakes().text());
    });
    if (said == "skip") GTEST_SKIP() << "no other user to try as";
    const bool file =
        said.find("is read-only for this user: nothing can be saved") != std::string::npos;
    const bool folder =
        said.find("cannot be opened for writing: Permission denied") != std::string::npos;
    EXPECT_TRUE(file || folder) << said;
    EXPECT_NE(said.find("give write permission"), std::string::npos) << said;
    EXPECT_NE(said.find(counting), std::string::npos) << said;
  }
}

TEST_F(Faults, a_second_process_is_told_who_has_the_store_and_the_lock_ends_with_its_holder) {
  auto store = opened();
  const std::string said = said_by([&](int pipe) {
    auto second = open_at(path_);
    say(pipe, second ? "opened" : second.mistakes().text());
  });
  EXPECT_NE(said.find("is open already: roomwright serve, process " + std::to_string(getpid())),
            std::string::npos)
      << said;
  EXPECT_NE(said.find("since 2026-11-27T08:00:00Z"), std::string::npos) << said;
  EXPECT_FALSE(open_at(path_).ok()) << "nor twice in one process";
  store.reset();
  EXPECT_TRUE(open_at(path_).ok());
}

TEST_F(Faults, flipped_bytes_are_never_taken_for_what_was_written) {
  std::string big = "# pages\n";
  for (int i = 0; i < 2000; ++i) big += "k" + std::to_string(i) + " = " + std::to_string(i) + "\n";
  std::string photo;
  for (int i = 0; i < 50'000; ++i) photo += char(i * 31 % 251);
  {
    const auto store = opened();
    ASSERT_TRUE(store->create("big", "job", big, stamp()).ok());
    ASSERT_TRUE(store->create("count", "job", counting, stamp()).ok());
    for (int n = 0; n < 50; ++n) ASSERT_TRUE(count_on(*store, n).ok());
    ASSERT_TRUE(store->put_file({"p", "photo", "", "", ""}, photo, stamp()).ok());
  }
  const std::string whole = slurp(path_);
  Random random(3);
  int found = 0, told = 0;
  for (int trial = 0; trial < 120; ++trial) {
    std::string bad = whole;
    const std::size_t at = trial == 0 ? 4 : random.below(std::uint32_t(whole.size()));
    for (std::size_t i = at; i < std::min(at + 16, bad.size()); ++i) bad[i] = char(bad[i] ^ 0x5a);
    for (const char* part : {"-wal", "-shm"}) fs::remove(path_ + part);
    std::ofstream(path_, std::ios::binary) << bad;
    auto store = open_at(path_, false);
    bool wrong = !store;
    std::string says = store ? "" : store.mistakes().text();
    if (store) {
      const auto report = (*store)->check();
      says = report->faults.text();
      wrong = !report->faults.empty();
      for (const auto& [id, text] :
           {std::pair<std::string, std::string>{"big", big}, {"count", "# counts\nn = 50\n"}}) {
        const auto read = (*store)->document(id);
        if (read) {
          EXPECT_EQ(read->text, text) << at;
        } else {
          EXPECT_TRUE(wrong) << "check has not found what reading met: " << read.mistakes().text();
        }
      }
      const auto bytes = (*store)->file_bytes(1);
      if (bytes) EXPECT_TRUE(*bytes == photo) << at;
      const auto steps = (*store)->history("count");
      for (const Step& step : steps ? *steps : std::vector<Step>{}) {
        const bool same = step.who == "Ada" && step.when == stamp().when && step.note.empty();
        EXPECT_TRUE(same || wrong) << "a step is not the one that was written, and check passes it";
      }
    }
    found += wrong;
    told += says.find("roomwright store restore BACKUP") != std::string::npos;
  }
  EXPECT_GT(found, 60) << "of 120; the rest fell where nothing is kept";
  EXPECT_GT(told, found * 9 / 10);
}

TEST_F(Faults, a_half_written_backup_is_refused_and_nothing_changes) {
  const std::string backup = (folder_ / "b.store").string();
  {
    const auto store = opened();
    ASSERT_TRUE(store->create("count", "job", counting, stamp()).ok());
    for (int n = 0; n < 200; ++n) ASSERT_TRUE(count_on(*store, n).ok());
    ASSERT_TRUE(store->backup(backup).ok());
    ASSERT_TRUE(count_on(*store, 200).ok());
  }
  const std::string whole = slurp(backup), before = slurp(path_);
  for (const double part : {0.0, 0.02, 0.3, 0.5, 0.9, 0.99}) {
    std::ofstream(backup, std::ios::binary)
        << whole.substr(0, std::size_t(double(whole.size()) * part));
    const auto done = restore_store(backup, path_, "2026-11-28T08:00:00Z");
    ASSERT_FALSE(done.ok()) << part;
    EXPECT_EQ(slurp(path_), before) << part;
  }
  const auto store = opened();
  EXPECT_EQ(counted(*store), 201);
}

TEST_F(Faults, a_process_killed_while_it_backs_up_leaves_a_whole_backup_or_none) {
  {
    const auto store = opened();
    ASSERT_TRUE(store->create("count", "job", counting, stamp()).ok());
    const std::string photo(3'000'000, 'p');
    ASSERT_TRUE(store->put_file({"p", "photo", "", "", ""}, photo, stamp()).ok());
  }
  Random random(5);
  int whole = 0;
  for (int round = 0; round < 30; ++round) {
    const std::string to = (folder_ / ("b" + std::to_string(round) + ".store")).string();
    said_by(
        [&](int) {
          auto store = open_at(path_);
          if (store) (void)(*store)->backup(to).ok();
        },
        long(random.below(60'000)));
    if (!fs::exists(to)) continue;
    ++whole;
    StoreOptions looking;
    looking.reading = true;
    auto copy = open_store(to, looking);
    ASSERT_TRUE(copy.ok()) << copy.mistakes().text();
    expect_sound(**copy);
  }
  EXPECT_LT(whole, 30);
  const auto store = opened();
  expect_sound(*store);
  EXPECT_TRUE(store->backup((folder_ / "last.store").string()).ok());
}

// ---- schemas
// --------------------------------------------------------------------------------------

void run_sql(const std::string& path, const std::string& sql) {
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &database), SQLITE_OK);
  char* says = nullptr;
  EXPECT_EQ(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, &says), SQLITE_OK) << says;
  sqlite3_close(database);
}

TEST_F(Faults, every_released_schema_is_brought_forward_with_all_that_it_holds) {
  int schemas = 0;
  for (const auto& entry :
       fs::directory_iterator(fs::path(ROOMWRIGHT_SOURCE_DIR) / "tests/faults/released")) {
    ++schemas;
    const std::string path = (folder_ / entry.path().stem()).string() + ".store";
    run_sql(path, slurp(entry.path()));
    auto store = open_at(path, false);
    ASSERT_TRUE(store.ok()) << entry.path() << store.mistakes().text();
    expect_sound(**store);
    EXPECT_EQ((*store)->document("D-017")->text, "# first\ntitle = \"Größe\"\nheight = 2430\n");
    EXPECT_EQ((*store)->document("D-017", 1)->text, "# first\ntitle = \"Größe\"\nheight = 2480\n");
    EXPECT_EQ((*store)->history("D-017")->size(), 4u);
    EXPECT_EQ(*(*store)->file_bytes(1), "a photo's bytes");
    EXPECT_EQ((*store)->entries("time")->at(0).body, "{\"minutes\":5}");
    const auto undone = (*store)->undo("D-017", 4, stamp());
    ASSERT_TRUE(undone.ok()) << undone.mistakes().text();
    EXPECT_EQ((*store)->document("D-017")->text, (*store)->document("D-017", 1)->text);
  }
  EXPECT_EQ(schemas, 1) << "one file for each schema that was ever released";
}

TEST_F(Faults, a_newer_schema_is_refused_untouched) {
  opened();
  run_sql(path_, "PRAGMA user_version = 99; PRAGMA wal_checkpoint(TRUNCATE);");
  const std::string before = slurp(path_);
  const auto store = open_at(path_);
  ASSERT_FALSE(store.ok());
  EXPECT_NE(store.mistakes().text().find("was written by a newer program (its schema is 99"),
            std::string::npos)
      << store.mistakes().text();
  EXPECT_EQ(slurp(path_), before);
}

TEST_F(Faults, a_migration_that_fails_leaves_the_file_as_it_was_and_a_backup) {
  {
    const auto store = opened();
    ASSERT_TRUE(store->create("count", "job", counting, stamp()).ok());
  }
  run_sql(path_, "PRAGMA user_version = 0;");  // the first step meets tables that are there already
  ASSERT_FALSE(open_at(path_).ok());
  EXPECT_EQ(store_backups(path_).size(), 1u);
  run_sql(path_, "PRAGMA user_version = 1;");
  const auto store = opened();
  EXPECT_EQ(counted(*store), 0);
  expect_sound(*store);
}

TEST_F(Faults, what_is_no_store_is_told_apart) {
  EXPECT_NE(open_at(path_, false).mistakes().text().find("is not there"), std::string::npos);
  std::ofstream(path_) << "";
  EXPECT_NE(open_at(path_, false).mistakes().text().find("is empty"), std::string::npos);
  std::ofstream(path_) << std::string(5000, 'x');
  EXPECT_NE(open_at(path_).mistakes().text().find("is not a store"), std::string::npos);
  fs::remove(path_);
  run_sql(path_, "CREATE TABLE t (x);");
  EXPECT_NE(open_at(path_).mistakes().text().find("is a database of another program"),
            std::string::npos);
}

}  // namespace
}  // namespace roomwright::app
