// Limits of what one caller may take, and what passes between threads.
#include <gtest/gtest.h>

#include <unistd.h>
#include <atomic>
#include <chrono>
#include <filesystem>
#include <thread>

#include "app/server/addresses.h"
#include "app/server/body.h"
#include "app/server/limits.h"
#include "app/server/lines.h"

namespace roomwright::app {
namespace {

TEST(Limits, a_burst_is_served_and_then_so_many_a_second) {
  Rates rates(10, 5);
  for (int i = 0; i < 5; ++i) EXPECT_TRUE(rates.take("a", 100));
  EXPECT_FALSE(rates.take("a", 100));
  EXPECT_TRUE(rates.take("b", 100)) << "others are not held up";
  EXPECT_TRUE(rates.take("a", 100.11));
  EXPECT_FALSE(rates.take("a", 100.11));
  EXPECT_TRUE(rates.take("a", 200));
  EXPECT_FALSE([&] {
    bool all = true;
    for (int i = 0; i < 5; ++i) all = rates.take("a", 200) && all;
    return all;
  }()) << "the reserve is never more than the burst";
}

TEST(Limits, strangers_that_left_are_forgotten) {
  Rates rates(10, 5);
  for (int i = 0; i < 1500; ++i) rates.take("peer " + std::to_string(i), 1.0 + i);
  EXPECT_LT(rates.size(), 1100u);
}

TEST(Limits, connections_are_counted_in_total_and_for_each_peer) {
  Connections open(3, 2);
  EXPECT_TRUE(open.enter("a"));
  EXPECT_TRUE(open.enter("a"));
  EXPECT_FALSE(open.enter("a"));
  EXPECT_TRUE(open.enter("b"));
  EXPECT_FALSE(open.enter("c"));
  open.leave("a");
  EXPECT_TRUE(open.enter("c"));
  open.leave("nobody");
  EXPECT_EQ(open.open(), 3);
}

TEST(Limits, a_transfer_is_too_slow_only_after_its_grace) {
  EXPECT_FALSE(too_slow(9, 1, 4096, 10));
  EXPECT_FALSE(too_slow(12, 9000, 4096, 10));
  EXPECT_TRUE(too_slow(12, 8000, 4096, 10));
}

TEST(Workers, do_all_that_they_took_and_refuse_what_is_too_much) {
  std::atomic<int> done{0}, taken{0};
  std::atomic<bool> go{false};
  {
    Workers workers(2, 3);
    for (int i = 0; i < 20; ++i)
      taken += workers.submit([&] {
        while (!go) std::this_thread::yield();
        ++done;
      });
    EXPECT_GE(taken, 3);
    EXPECT_LE(taken, 5);
    go = true;
  }
  EXPECT_EQ(done, taken);
}

TEST(Pipe, a_writer_waits_for_a_slow_taker_and_stops_when_it_has_left) {
  int woken = 0;
  PartPipe pipe(10, [&] { ++woken; });
  EXPECT_TRUE(pipe.write("0123456789"));
  std::atomic<int> state{0};
  std::thread writer([&] {
    state = pipe.write("more") ? 1 : 2;
    while (pipe.write("0123456789")) {
    }
    state = 3;
  });
  std::this_thread::sleep_for(std::chrono::milliseconds(20));
  EXPECT_EQ(state, 0) << "it waits";
  EXPECT_EQ(pipe.take(), "0123456789");
  while (state == 0) std::this_thread::yield();
  EXPECT_EQ(state, 1);
  pipe.leave();
  writer.join();
  EXPECT_EQ(state, 3);
  EXPECT_FALSE(pipe.write("x"));
}

TEST(Events, one_event_is_a_few_lines) {
  EXPECT_EQ(event_text({7, "change", "{}"}), "id: 7\nevent: change\ndata: {}\n\n");
  EXPECT_EQ(event_text({0, "progress", "a\r\nid: 9"}), "event: progress\ndata: a  id: 9\n\n");
}

TEST(Events, a_listener_that_does_not_keep_up_gets_what_waits_and_is_let_go) {
  EventQueue queue(60, [] {});
  for (int i = 1; i <= 5; ++i) queue.push({i, "change", "{}"});
  bool full = false;
  EXPECT_EQ(queue.take(full),
            "id: 1\nevent: change\ndata: {}\n\nid: 2\nevent: change\ndata: {}\n\n");
  EXPECT_TRUE(full);
  queue.push({6, "change", "{}"});
  EXPECT_EQ(queue.take(full), "") << "after a gap nothing more: the listener would not notice it";
}

TEST(Events, progress_that_finds_no_room_is_missed_without_harm) {
  EventQueue queue(40, [] {});
  queue.push({1, "change", "{}"});
  queue.push({0, "progress", "{\"fraction\": 0.5}"});
  bool full = true;
  queue.take(full);
  EXPECT_FALSE(full);
  int woken = 0;
  EventQueue other(40, [&] { ++woken; });
  other.leave();
  other.push({1, "change", "{}"});
  EXPECT_EQ(woken, 0) << "nobody is woken who has left";
}

TEST(Body, small_ones_stay_in_memory_and_large_ones_lie_in_a_file_without_a_name) {
  const std::filesystem::path folder =
      std::filesystem::temp_directory_path() / ("roomwright_body_" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  SpooledBody small(folder.string());
  small.add("abc");
  small.add("def");
  EXPECT_FALSE(small.heavy());
  EXPECT_TRUE(small.finish());
  EXPECT_EQ(small.bytes(), "abcdef");
  SpooledBody large(folder.string());
  std::string all;
  for (int i = 0; i < 100; ++i) {
    const std::string part(65536 + i, char('a' + i % 26));
    all += part;
    large.add(part);
    if (large.heavy()) {
      EXPECT_TRUE(large.flush());
    }
  }
  EXPECT_TRUE(large.finish());
  EXPECT_EQ(large.size(), all.size());
  EXPECT_TRUE(large.bytes() == all);
  EXPECT_TRUE(std::filesystem::is_empty(folder));
  std::filesystem::remove_all(folder);
  SpooledBody nowhere("/nowhere/at/all");
  nowhere.add("x");
  EXPECT_FALSE(nowhere.flush());
}

TEST(Addresses, near_is_what_is_private_or_on_a_network_of_ours) {
  const std::vector<LocalAddress> own = {{"192.0.2.2", "255.255.255.0"}};
  for (const char* peer :
       {"192.168.3.4", "10.1.2.3", "172.16.0.1", "169.254.7.7", "127.0.0.1", "192.0.2.99"})
    EXPECT_TRUE(is_near(peer, own)) << peer;
  for (const char* peer : {"8.8.8.8", "172.32.0.1", "192.0.3.1", "100.64.0.1", "::1", "", "x"})
    EXPECT_FALSE(is_near(peer, own)) << peer;
}

}  // namespace
}  // namespace roomwright::app
