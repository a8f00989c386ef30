// What the store promises while nothing fails; tests/faults has the rest.
#include "app/store/store.h"

#include <gtest/gtest.h>
#include <sqlite3.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <thread>

namespace roomwright::app {
namespace {

namespace fs = std::filesystem;

class StoreTest : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("roomwright_store_" + std::to_string(getpid()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    path_ = (folder_ / "shop.store").string();
    open();
  }
  void TearDown() override {
    store_.reset();
    fs::remove_all(folder_);
  }
  void open() {
    store_.reset();
    StoreOptions options;
    options.create = true;
    options.durable = false;
    options.when = "2026-11-27T08:00:00Z";
    options.on_change = [this](std::int64_t sequence) { told_ = sequence; };
    auto opened = open_store(path_, options);
    ASSERT_TRUE(opened.ok()) << opened.mistakes().text();
    store_ = std::move(*opened);
  }
  static Stamp stamp(const std::string& who = "Ada", const std::string& token = "") {
    return {who, "2026-11-27T15:04:05Z", token};
  }
  std::string text(int version = 0) {
    const auto found = store_->document("D-017", version);
    return found ? found->text : found.mistakes().text();
  }
  Saved saved(const Result<Saved>& result) {
    EXPECT_TRUE(result.ok()) << result.mistakes().text();
    return result ? *result : Saved{};
  }
  void expect_sound() {
    const auto report = store_->check();
    ASSERT_TRUE(report.ok());
    EXPECT_TRUE(report->faults.empty()) << report->faults.text();
  }
  Saved make() { return saved(store_->create("D-017", "job", first, stamp())); }

  const std::string first = "# a job\ntitle = \"one\" # its name\nheight = 2480\n";
  fs::path folder_;
  std::string path_;
  std::unique_ptr<Store> store_;
  std::int64_t told_ = 0;
};

// Source: FIPS 180-4, examples of SHA-256 (NIST, Cryptographic Standards and Guidelines, Example
// Values)
TEST(Sha256, gives_the_published_digests) {
  EXPECT_EQ(sha256_hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha256_hex(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha256_hex(std::string(1'000'000, 'a')),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST_F(StoreTest, a_document_is_given_back_byte_for_byte) {
  const std::string odd = "\xef\xbb\xbf# Größe\r\na = 1\t\r\n\r\n";
  ASSERT_TRUE(store_->create("odd", "job", odd, stamp()).ok());
  open();
  EXPECT_EQ(store_->document("odd")->text, odd);
  EXPECT_EQ(store_->documents("job")->size(), 1u);
  EXPECT_EQ(store_->documents("shop")->size(), 0u);
  EXPECT_EQ(store_->documents()->at(0).who, "Ada");
  expect_sound();
}

TEST_F(StoreTest, every_version_can_be_had_again_with_who_and_when) {
  make();
  saved(store_->edit("D-017", 1, {{"height", "2480", "2430"}}, stamp("Ben"), "measured again"));
  saved(store_->edit("D-017", 2, {{"use", "", "\"mixing\""}}, stamp()));
  EXPECT_EQ(text(1), first);
  EXPECT_EQ(text(2), "# a job\ntitle = \"one\" # its name\nheight = 2430\n");
  EXPECT_EQ(text(), "# a job\ntitle = \"one\" # its name\nheight = 2430\nuse = \"mixing\"\n");
  const auto steps = store_->history("D-017");
  ASSERT_EQ(steps->size(), 3u);
  EXPECT_EQ(steps->at(1).who, "Ben");
  EXPECT_EQ(steps->at(1).note, "measured again");
  EXPECT_EQ(steps->at(1).edits, (job::Edits{{"height", "2480", "2430"}}));
  EXPECT_FALSE(store_->document("D-017", 4).ok());
  expect_sound();
}

TEST_F(StoreTest, undo_and_redo_are_steps_that_give_back_every_byte) {
  make();
  saved(store_->edit("D-017", 1, {{"height", "2480", "2430"}}, stamp()));
  saved(store_->replace("D-017", 2, "title = \"two\"\n", stamp()));
  EXPECT_EQ(saved(store_->undo("D-017", 3, stamp())).version, 4);
  EXPECT_EQ(text(), text(2));
  saved(store_->undo("D-017", 4, stamp()));
  EXPECT_EQ(text(), first);
  EXPECT_FALSE(store_->undo("D-017", 5, stamp()).ok()) << "the first version stays";
  saved(store_->redo("D-017", 5, stamp()));
  EXPECT_EQ(text(), text(2));
  saved(store_->redo("D-017", 6, stamp()));
  EXPECT_EQ(text(), "title = \"two\"\n");
  EXPECT_FALSE(store_->redo("D-017", 7, stamp()).ok());
  saved(store_->undo("D-017", 7, stamp()));
  saved(store_->edit("D-017", 8, {{"height", "2430", "2400"}}, stamp()));
  EXPECT_FALSE(store_->redo("D-017", 9, stamp()).ok()) << "another change lies between";
  saved(store_->undo("D-017", 9, stamp()));
  saved(store_->undo("D-017", 10, stamp()));
  EXPECT_EQ(text(), first);
  EXPECT_EQ(store_->history("D-017")->size(), 11u) << "nothing of the history went";
  EXPECT_EQ(text(3), "title = \"two\"\n");
  expect_sound();
}

TEST_F(StoreTest, random_edits_undos_and_redos_are_those_of_a_plain_list) {
  Random random(7);
  make();
  std::vector<std::string> past = {text()}, future;
  int version = 1;
  for (int i = 0; i < 200; ++i) {
    const std::uint32_t what = random.below(4);
    if (what == 0 && past.size() > 1) {
      version = saved(store_->undo("D-017", version, stamp())).version;
      future.push_back(past.back());
      past.pop_back();
    } else if (what == 1 && !future.empty()) {
      version = saved(store_->redo("D-017", version, stamp())).version;
      past.push_back(future.back());
      future.pop_back();
    } else {
      const std::string key = "k" + std::to_string(i);
      version =
          saved(store_->edit("D-017", version, {{key, "", std::to_string(i)}}, stamp())).version;
      past.push_back(text());
      future.clear();
    }
    ASSERT_EQ(text(), past.back());
    ASSERT_EQ(store_->documents()->at(0).can_undo, past.size() > 1);
    ASSERT_EQ(store_->documents()->at(0).can_redo, !future.empty());
  }
  expect_sound();
}

TEST_F(StoreTest, two_that_touch_different_places_are_merged) {
  make();
  saved(store_->edit("D-017", 1, {{"height", "2480", "2430"}}, stamp("Ben")));
  const Saved met =
      saved(store_->edit("D-017", 1, {{"title", "\"one\"", "\"two\""}}, stamp("Ada")));
  EXPECT_TRUE(met.merged);
  EXPECT_EQ(met.version, 3);
  ASSERT_EQ(met.since.size(), 1u);
  EXPECT_EQ(met.since[0].who, "Ben");
  EXPECT_EQ(text(), "# a job\ntitle = \"two\" # its name\nheight = 2430\n");
  expect_sound();
}

TEST_F(StoreTest, two_that_touch_one_place_are_told_both_values_and_nothing_is_written) {
  make();
  saved(store_->edit("D-017", 1, {{"height", "2480", "2430"}}, stamp("Ben")));
  const Saved met = saved(store_->edit(
      "D-017", 1, {{"title", "\"one\"", "\"two\""}, {"height", "2480", "2500"}}, stamp("Ada")));
  ASSERT_EQ(met.conflicts.size(), 1u);
  EXPECT_EQ(met.conflicts[0], (job::Conflict{"height", "2480", "2430", "2500"}));
  EXPECT_EQ(met.version, 2);
  EXPECT_EQ(met.sequence, 0);
  EXPECT_EQ(told_, 2) << "nothing was written, nobody is told";
  EXPECT_EQ(met.since.at(0).who, "Ben");
  EXPECT_EQ(text(), text(2)) << "all or nothing";
  for (const auto& refused :
       {store_->replace("D-017", 1, "title = \"x\"\n", stamp()), store_->undo("D-017", 1, stamp()),
        store_->redo("D-017", 1, stamp()), store_->remove("D-017", 1, stamp())}) {
    ASSERT_TRUE(refused.ok());
    EXPECT_FALSE(refused->conflicts.empty());
  }
  EXPECT_EQ(store_->documents()->at(0).version, 2);
}

TEST_F(StoreTest, a_change_that_was_undone_in_between_is_no_conflict) {
  make();
  saved(store_->edit("D-017", 1, {{"height", "2480", "2430"}}, stamp("Ben")));
  saved(store_->undo("D-017", 2, stamp("Ben")));
  EXPECT_TRUE(
      saved(store_->edit("D-017", 1, {{"height", "2480", "2500"}}, stamp())).conflicts.empty());
}

TEST_F(StoreTest, a_write_that_is_sent_again_changes_nothing) {
  const Saved one = saved(store_->create("D-017", "job", first, stamp("Ada", "t1")));
  EXPECT_EQ(saved(store_->create("D-017", "job", first, stamp("Ada", "t1"))).sequence,
            one.sequence);
  const Saved two = saved(store_->edit("D-017", 1, {{"n", "", "1"}}, stamp("Ada", "t2")));
  EXPECT_EQ(saved(store_->edit("D-017", 1, {{"n", "", "1"}}, stamp("Ada", "t2"))).version,
            two.version);
  ASSERT_TRUE(store_->append("time", std::nullopt, {{"", "", "{}"}}, stamp("Ada", "t3")).ok());
  EXPECT_EQ(store_->append("time", 0, {{"", "", "{}"}}, stamp("Ada", "t3"))->last, 1);
  EXPECT_EQ(store_->entries("time")->size(), 1u);
}

TEST_F(StoreTest, what_is_removed_comes_back_with_undo) {
  make();
  saved(store_->remove("D-017", 1, stamp()));
  EXPECT_TRUE(store_->documents()->at(0).removed);
  EXPECT_FALSE(store_->edit("D-017", 2, {{"n", "", "1"}}, stamp()).ok());
  saved(store_->undo("D-017", 2, stamp()));
  EXPECT_FALSE(store_->documents()->at(0).removed);
  EXPECT_EQ(text(), first);
  saved(store_->redo("D-017", 3, stamp()));
  EXPECT_TRUE(store_->documents()->at(0).removed);
}

TEST_F(StoreTest, wrong_calls_are_told_and_change_nothing) {
  make();
  EXPECT_FALSE(store_->create("D-017", "job", first, stamp()).ok());
  EXPECT_FALSE(store_->create("../x", "job", first, stamp()).ok());
  EXPECT_FALSE(store_->create("x", "job", "a = \n", stamp()).ok());
  EXPECT_FALSE(store_->create("x", "job", first, {"", "2026-11-27T15:04:05Z", ""}).ok());
  EXPECT_FALSE(store_->create("x", "job", first, {"Ada", "yesterday", ""}).ok());
  EXPECT_FALSE(store_->edit("D-018", 1, {{"n", "", "1"}}, stamp()).ok());
  EXPECT_FALSE(store_->edit("D-017", 2, {{"n", "", "1"}}, stamp()).ok());
  EXPECT_FALSE(store_->edit("D-017", 0, {{"n", "", "1"}}, stamp()).ok());
  EXPECT_FALSE(store_->append("document", std::nullopt, {{"", "", "{}"}}, stamp()).ok());
  EXPECT_FALSE(store_->append("time", std::nullopt, {{"", "", "[]"}}, stamp()).ok());
  EXPECT_FALSE(store_->append("time", std::nullopt, {{"", "D-018", "{}"}}, stamp()).ok());
  EXPECT_FALSE(store_->put_file({"", "photo", "", "", ""}, "x", stamp()).ok());
  EXPECT_FALSE(store_->file_bytes(1).ok());
  EXPECT_EQ(*store_->sequence(), 1);
  expect_sound();
}

TEST_F(StoreTest, files_are_kept_once_by_their_content) {
  make();
  std::string bytes;
  for (int i = 0; i < 300'000; ++i) bytes += char(i * 7 % 251);
  const auto one = store_->put_file({"a.wav", "recording", "D-017", "", "seat"}, bytes, stamp());
  const auto two = store_->put_file({"b.wav", "recording", "", "", ""}, bytes, stamp());
  ASSERT_TRUE(one.ok() && two.ok());
  EXPECT_EQ(one->sha256, sha256_hex(bytes));
  EXPECT_EQ(*store_->file_bytes(one->id), bytes);
  EXPECT_EQ(*store_->file_bytes(one->id, 1000, 10), bytes.substr(1000, 10));
  EXPECT_EQ(*store_->file_bytes(one->id, 299'999, 10), bytes.substr(299'999));
  EXPECT_EQ(*store_->file_bytes(one->id, 300'000, 10), "");
  EXPECT_EQ(store_->files("D-017")->size(), 1u);
  EXPECT_EQ(store_->files("")->size(), 1u);
  EXPECT_EQ(store_->files(std::nullopt)->size(), 2u);
  ASSERT_TRUE(store_->set_file_removed(one->id, true, stamp()).ok());
  EXPECT_TRUE(store_->file(one->id)->removed);
  EXPECT_EQ(store_->check()->bytes, 300'000);
  expect_sound();
}

TEST_F(StoreTest, a_journal_grows_only_where_the_caller_has_seen_it_all) {
  make();
  EXPECT_EQ(
      store_->append("stock", 0, {{"a", "D-017", "{\"n\":1}"}, {"b", "", "{}"}}, stamp())->last, 2);
  const auto late = store_->append("stock", 0, {{"a", "", "{}"}}, stamp());
  EXPECT_TRUE(late->refused);
  EXPECT_EQ(late->last, 2);
  EXPECT_EQ(store_->append("stock", 2, {{"a", "", "{}"}}, stamp())->last, 3);
  EXPECT_EQ(store_->append("time", 0, {{"", "", "{}"}}, stamp())->last, 1);
  EXPECT_EQ(store_->entries("stock", {.subject = "a"})->size(), 2u);
  EXPECT_EQ(store_->entries("stock", {.document = "D-017"})->at(0).body, "{\"n\":1}");
  EXPECT_EQ(store_->entries("stock", {.after = 2})->at(0).number, 3);
}

TEST_F(StoreTest, every_write_is_told_in_order) {
  make();
  EXPECT_EQ(told_, 1);
  saved(store_->edit("D-017", 1, {{"n", "", "1"}}, stamp()));
  ASSERT_TRUE(store_->append("time", std::nullopt, {{"saw", "", "{}"}}, stamp()).ok());
  EXPECT_EQ(told_, 3);
  const auto all = store_->changes(1);
  ASSERT_EQ(all->size(), 2u);
  EXPECT_EQ(all->at(0).id, "D-017");
  EXPECT_EQ(all->at(0).version, 2);
  EXPECT_EQ(all->at(1).topic, "time");
  EXPECT_EQ(*store_->sequence(), 3);
}

TEST_F(StoreTest, many_threads_lose_nothing) {
  make();
  std::vector<std::thread> threads;
  for (int t = 0; t < 4; ++t)
    threads.emplace_back([this, t] {
      for (int i = 0; i < 25; ++i) {
        const std::string key = "k" + std::to_string(t) + "_" + std::to_string(i);
        const auto done = store_->edit("D-017", 1, {{key, "", "1"}}, stamp());
        EXPECT_TRUE(done.ok() && done->conflicts.empty());
      }
    });
  for (auto& thread : threads) thread.join();
  EXPECT_EQ(store_->documents()->at(0).version, 101);
  const auto tree = job::text_tree(text());
  EXPECT_EQ(tree->size(), 102u);
  expect_sound();
}

TEST_F(StoreTest, results_can_be_dropped) {
  store_->keep("key", "value");
  EXPECT_EQ(store_->kept("key"), "value");
  fs::remove_all(path_ + ".results");
  EXPECT_FALSE(store_->kept("key"));
  expect_sound();
}

TEST_F(StoreTest, a_backup_is_a_whole_store_that_can_be_put_back) {
  make();
  const std::string copy = (folder_ / "copy.store").string();
  ASSERT_TRUE(store_->backup(copy).ok());
  EXPECT_FALSE(store_->backup(copy).ok()) << "never over another file";
  saved(store_->edit("D-017", 1, {{"n", "", "1"}}, stamp()));
  EXPECT_FALSE(restore_store(copy, path_, "2026-11-28T08:00:00Z").ok()) << "it is open";
  store_.reset();
  const auto aside = restore_store(copy, path_, "2026-11-28T08:00:00Z");
  ASSERT_TRUE(aside.ok()) << aside.mistakes().text();
  open();
  EXPECT_EQ(text(), first);
  store_.reset();
  path_ = *aside;
  open();
  EXPECT_NE(text(), first) << "what was replaced is all there";
}

TEST_F(StoreTest, one_backup_a_day_and_old_ones_thin_out) {
  make();
  const auto today = store_->daily_backup("2026-11-27");
  ASSERT_TRUE(today.ok()) << today.mistakes().text();
  EXPECT_TRUE(fs::exists(*today));
  EXPECT_EQ(*store_->daily_backup("2026-11-27"), "");
  for (int day = 1; day <= 28; ++day) {
    char date[32];
    std::snprintf(date, sizeof date, "2026-12-%02d", day);
    ASSERT_TRUE(store_->daily_backup(date).ok());
  }
  EXPECT_EQ(store_backups(path_).size(), 16u) << "14 days, and the first of two months";
  EXPECT_FALSE(store_->daily_backup("today").ok());
}

TEST_F(StoreTest, looking_needs_no_lock_and_writes_nothing) {
  make();
  StoreOptions looking;
  looking.reading = true;
  auto other = open_store(path_, looking);
  ASSERT_TRUE(other.ok()) << other.mistakes().text();
  EXPECT_EQ((*other)->document("D-017")->text, first);
  EXPECT_FALSE((*other)->edit("D-017", 1, {{"n", "", "1"}}, stamp()).ok());
  saved(store_->edit("D-017", 1, {{"n", "", "1"}}, stamp()));
  EXPECT_EQ((*other)->document("D-017")->version, 2) << "it sees what is written beside it";
}

TEST_F(StoreTest, erasing_leaves_what_must_be_kept_and_no_other_byte) {
  const std::string secret = "the client in the blue house";
  saved(
      store_->create("blue-house", "job", "title = \"x\"\nclient = \"" + secret + "\"\n", stamp()));
  saved(store_->edit("blue-house", 1, {{"client", "\"" + secret + "\"", "\"N.\""}}, stamp()));
  ASSERT_TRUE(
      store_->put_file({secret + ".jpg", "photo", "blue-house", "", ""}, secret + secret, stamp())
          .ok());
  ASSERT_TRUE(
      store_->append("inspection", 0, {{"W1", "blue-house", "{\"n\":\"" + secret + "\"}"}}, stamp())
          .ok());
  ASSERT_TRUE(store_->append("inspection", 1, {{"W1", "", "{}"}}, stamp()).ok());
  ASSERT_TRUE(store_->append("time", 0, {{"saw", "blue-house", "{\"minutes\":5}"}}, stamp()).ok());
  make();
  const auto report =
      store_->erase({{"blue-house"}, {"{\"number\": \"Q-1\", \"total\": \"120.00\"}"}}, stamp());
  ASSERT_TRUE(report.ok()) << report.mistakes().text();
  EXPECT_EQ(report->steps, 2);
  EXPECT_EQ(report->files, 1);
  EXPECT_EQ(report->entries, 1);
  expect_sound();
  EXPECT_FALSE(store_->document("blue-house").ok());
  const auto left = store_->documents();
  ASSERT_EQ(left->size(), 2u);
  const auto stays = store_->document(left->at(1).id);
  EXPECT_TRUE(stays->head.erased);
  EXPECT_EQ(stays->text, "{\"number\": \"Q-1\", \"total\": \"120.00\"}");
  EXPECT_EQ(store_->entries("time")->at(0).body, "{\"minutes\":5}");
  EXPECT_EQ(store_->entries("time")->at(0).document, "");
  EXPECT_EQ(store_->entries("inspection")->size(), 2u);
  store_.reset();
  for (const auto& entry : fs::recursive_directory_iterator(folder_)) {
    if (!entry.is_regular_file()) continue;
    std::ifstream file(entry.path(), std::ios::binary);
    std::stringstream bytes;
    bytes << file.rdbuf();
    EXPECT_EQ(bytes.str().find(secret), std::string::npos) << entry.path();
    EXPECT_EQ(bytes.str().find("blue-house"), std::string::npos) << entry.path();
  }
}

}  // namespace
}  // namespace roomwright::app
