// The stock in the store: several writers at once, and what erasing leaves of it.
#include <gtest/gtest.h>
#include <unistd.h>

#include <atomic>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <thread>

#include "app/api/api.h"

namespace roomwright::app {
namespace {

namespace stock_fs = std::filesystem;

class StockTest : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = stock_fs::temp_directory_path() / ("roomwright_stock_" + std::to_string(getpid()));
    stock_fs::remove_all(folder_);
    stock_fs::create_directories(folder_);
    StoreOptions options;
    options.create = true;
    options.durable = false;
    options.when = "2026-11-27T08:00:00Z";
    auto opened = open_store((folder_ / "shop.store").string(), options);
    ASSERT_TRUE(opened.ok()) << opened.mistakes().text();
    store_ = std::move(*opened);
    for (int i = 0; i < 4; ++i)
      ASSERT_TRUE(store_->create(job_name(i), "job", "title = \"x\"\n", stamp()).ok());
  }
  void TearDown() override {
    store_.reset();
    stock_fs::remove_all(folder_);
  }
  static std::string job_name(int i) { return "J" + std::to_string(i); }
  static Stamp stamp() { return {"Ada", "2026-11-27T15:04:05Z", ""}; }
  static shop::Move move(shop::MoveKind kind, shop::Amount amount, const std::string& job = "") {
    return {kind, {shop::ItemKind::board, "wool", Length(), ""}, amount, 0, job, "", "", ""};
  }
  Result<std::vector<shop::Move>> post(const shop::Move& one) {
    return post_moves(
        *store_, {},
        [&](const Stock&) -> Result<std::vector<shop::Move>> {
          return std::vector<shop::Move>{one};
        },
        stamp());
  }

  stock_fs::path folder_;
  std::unique_ptr<Store> store_;
};

TEST_F(StockTest, four_writers_at_once_promise_nothing_twice) {
  constexpr int boards = 30;
  ASSERT_TRUE(post(move(shop::MoveKind::receive, boards)).ok());
  std::atomic<int> given{0}, refused{0};
  std::vector<std::thread> writers;
  for (int w = 0; w < 4; ++w)
    writers.emplace_back([&, w] {
      for (int i = 0; i < 12; ++i) {
        const auto done = post_moves(
            *store_, {},
            [&](const Stock& stock) -> Result<std::vector<shop::Move>> {
              const auto plan = shop::reserve_plan(
                  stock.ledger,
                  {{move(shop::MoveKind::reserve, 1).slot,
                    stock.ledger.holdings().begin()->second.promised_to(job_name(w)) + 1}},
                  job_name(w), {});
              if (!plan.short_of.empty())
                return Complaint{"stock", plan.short_of[0].sentence, {}, {}, 0};
              return plan.moves;
            },
            stamp());
        ++(done ? given : refused);
      }
    });
  for (auto& writer : writers) writer.join();
  EXPECT_EQ(given, boards) << "every board was promised once";
  EXPECT_EQ(refused, 4 * 12 - boards);
  const auto stock = read_stock(*store_, {});
  ASSERT_TRUE(stock.ok()) << stock.mistakes().text();
  const auto& holding = stock->ledger.holdings().begin()->second;
  EXPECT_EQ(holding.promised(), boards);
  EXPECT_EQ(holding.available(), 0);
  EXPECT_EQ(stock->moves.size(), 1u + boards);
}

TEST_F(StockTest, a_move_is_read_back_as_it_was_made) {
  shop::Move made{shop::MoveKind::offcut,
                  {shop::ItemKind::stick, "deep", 712_mm, "7"},
                  1,
                  0,
                  "J1",
                  "R3",
                  "rack 2",
                  "left over"};
  ASSERT_TRUE(post(made).ok());
  const auto stock = read_stock(*store_, {});
  ASSERT_TRUE(stock.ok());
  const shop::Move& read = stock->moves.at(0).move;
  EXPECT_EQ(read.slot, made.slot);
  EXPECT_EQ(read.job, "J1");
  EXPECT_EQ(read.label, "R3");
  EXPECT_EQ(read.location, "rack 2");
  EXPECT_EQ(stock->ledger.next_label(), "R4");
  Entry broken;
  broken.body = R"({"move": "give", "amount": -1})";
  EXPECT_GE(read_move(broken).mistakes().size(), 3u);
}

TEST_F(StockTest, erasing_a_job_gives_its_promises_back_and_keeps_the_counts) {
  ASSERT_TRUE(post(move(shop::MoveKind::receive, 10)).ok());
  ASSERT_TRUE(post(move(shop::MoveKind::reserve, 6, "J1")).ok());
  ASSERT_TRUE(post(move(shop::MoveKind::use, 2, "J1")).ok());
  ASSERT_TRUE(erase_jobs(*store_, {"J1"}, stamp()).ok());
  const auto stock = read_stock(*store_, {});
  ASSERT_TRUE(stock.ok()) << stock.mistakes().text();
  const auto& holding = stock->ledger.holdings().begin()->second;
  EXPECT_EQ(holding.in_hand, 8);
  EXPECT_EQ(holding.available(), 8);
}

}  // namespace
}  // namespace roomwright::app
