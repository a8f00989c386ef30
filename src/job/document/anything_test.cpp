// Anything at all may be handed to the reader: kept inputs of the fuzzer, texts with slips in them,
// and files made to exhaust a machine. It answers in bounded time, with a job that keeps what
// document.h promises or with mistakes.
#include <gtest/gtest.h>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>

#include "job/document/trial.h"

namespace roomwright::job {
namespace {

namespace fs = std::filesystem;

/// The invariants of document.h, by their numbers.
void expect_whole(const Job& job) {
  std::set<std::string> labels, speakers, seats, features, keys;
  ASSERT_GE(job.room.plan_m.size(), 3u);                                          // (1)
  ASSERT_EQ(job.finish.size(), std::size_t(acoustics::surface_count(job.room)));  // (2)
  for (const std::string& key : job.finish) EXPECT_TRUE(acoustics::find_surface_material(key));
  for (const auto& one : job.products) EXPECT_TRUE(keys.insert(one.key).second);  // (3)
  for (const auto& one : job.pieces) {
    EXPECT_TRUE(labels.insert(one.label).second);
    EXPECT_TRUE(job.product(one.product));
    EXPECT_TRUE(one.surface >= 0 || (one.corner >= 0 && one.corner < int(job.plan.size())));
  }
  EXPECT_FALSE(job.loudspeakers.empty() || job.seats.empty());
  for (const auto& one : job.loudspeakers) {
    EXPECT_TRUE(speakers.insert(one.label).second);
    EXPECT_TRUE(acoustics::contains(  // (4)
        job.room, {one.at.x.metres(), one.at.y.metres(), one.at.z.metres()}));
  }
  for (const auto& one : job.seats) {
    EXPECT_TRUE(seats.insert(one.label).second);
    EXPECT_TRUE(
        acoustics::contains(job.room, {one.at.x.metres(), one.at.y.metres(), one.at.z.metres()}));
  }
  for (const auto& one : job.features) {
    EXPECT_TRUE(features.insert(one.label).second);
    EXPECT_LT(one.surface, acoustics::surface_count(job.room));
    EXPECT_TRUE(one.from_u < one.to_u && one.from_v < one.to_v);
  }
}

/// An order has products and pieces, and nothing of a room.
void expect_whole_order(const Job& job) {
  std::set<std::string> labels, keys;
  std::size_t pieces = 0;
  for (const auto& one : job.products) EXPECT_TRUE(keys.insert(one.key).second);
  for (const auto& item : job.order->items) {
    EXPECT_TRUE(job.product(item.product));
    pieces += std::size_t(item.count);
  }
  EXPECT_EQ(job.pieces.size(), pieces);
  for (const auto& one : job.pieces) {
    EXPECT_TRUE(labels.insert(one.label).second);
    EXPECT_TRUE(job.product(one.product));
  }
  EXPECT_TRUE(job.room.plan_m.empty() && job.loudspeakers.empty() && job.seats.empty());
}

/// Reads, and looks at the answer.
void expect_an_answer(const Sources& sources) {
  const auto job = read_job(sources);
  (void)shop_file_of(sources.job_text);
  if (!job) {
    EXPECT_FALSE(job.mistakes().empty());
    EXPECT_LE(job.mistakes().size(), 2 * most_mistakes_told + 2);
    for (const Complaint& fault : job.mistakes().items()) {
      EXPECT_FALSE(fault.what.empty());
      EXPECT_TRUE(fault.where.rfind("job file", 0) == 0 || fault.where.rfind("shop file", 0) == 0);
    }
  } else {
    job->order ? expect_whole_order(*job) : expect_whole(*job);
  }
}

TEST(Anything, kept_inputs_of_the_fuzzer_get_an_answer) {
  int inputs = 0;
  for (const auto& entry :
       fs::directory_iterator(fs::path(ROOMWRIGHT_SOURCE_DIR) / "tests/fuzz/corpus/document")) {
    const std::string text = read_file(entry.path().string()).value();
    const auto cut = text.find("\n====\n");
    Sources sources{text.substr(0, cut), ""};
    if (cut != std::string::npos) sources.shop_text = text.substr(cut + 6);
    SCOPED_TRACE(entry.path().filename());
    expect_an_answer(sources);
    ++inputs;
  }
  EXPECT_GE(inputs, 10);
}

/// One slip: a letter changed, some lost, some added, some repeated.
void slip(std::string& text, Random& random) {
  const auto size = static_cast<std::uint32_t>(text.size());
  if (size == 0) return;
  const std::size_t at = random.below(size);
  switch (random.below(5)) {
    case 0:
      text[at] = static_cast<char>(random.below(256));
      break;
    case 1:
      text.erase(at, random.below(30));
      break;
    case 2:
      text.insert(at,
                  std::string(1 + random.below(3), "0123456789-.[]{}\"=\n,e"[random.below(21)]));
      break;
    case 3:
      if (const auto digit = text.find_first_of("0123456789", at); digit != std::string::npos)
        text[digit] = static_cast<char>('0' + random.below(10));
      break;
    default:
      text.insert(at, text.substr(random.below(size), random.below(60)));
  }
}

TEST(Anything, slips_in_the_examples_get_an_answer) {
  Random random(1);
  std::vector<Sources> starts;
  for (const auto& [job, shop] :
       {std::pair{"control_room", "shop_metric"}, std::pair{"tracking_room", "shop_inch"},
        std::pair{"panel_order", "shop_metric"}}) {
    const std::string job_text = source(std::string("examples/") + job + ".toml");
    const std::string shop_text = source(std::string("examples/") + shop + ".toml");
    starts.push_back({job_text, shop_text});
    starts.push_back(
        {json_text(read_document(job_text)->tree()), json_text(read_document(shop_text)->tree())});
  }
  const int rounds = std::getenv("ROOMWRIGHT_LONG") ? 20000 : 600;
  int whole = 0;
  for (int round = 0; round < rounds; ++round) {
    Sources sources = starts[round % starts.size()];
    std::string& text = random.below(2) ? sources.job_text : sources.shop_text;
    for (std::uint32_t n = 1 + random.below(4); n > 0; --n) slip(text, random);
    expect_an_answer(sources);
    whole += read_job(sources).ok() ? 1 : 0;
    if (HasFailure()) {
      ADD_FAILURE() << sources.job_text << "\n====\n" << sources.shop_text;
      return;
    }
  }
  EXPECT_GT(whole, rounds / 20) << "some slips leave a file as good as it was";
}

std::string many(const std::string& text, std::size_t bytes) {
  std::string out;
  while (out.size() + text.size() <= bytes) out += text;
  return out;
}

/// The dotted keys took the stack once, the long key gigabytes; the others are their relatives.
TEST(Anything, files_made_to_exhaust_a_machine_get_an_answer_within_seconds) {
  const std::size_t size = 2'000'000;
  std::string keys, headers;
  for (int i = 0; keys.size() < size; ++i) keys += "k" + std::to_string(i) + "=1\n";
  for (int i = 0; headers.size() < size; ++i)
    headers += "[a.b.c.d.e.f.g.h.i.j.k.l.m" + std::to_string(i) + "]\n";
  const std::string dots = many("a.", size);
  const std::vector<std::pair<std::string, std::string>> bombs = {
      {"dotted key", dots + "a=1"},
      {"dotted header", "[" + dots + "a]"},
      {"dotted key in a list", "x=[1,{" + dots + "a=1}]"},
      {"dotted key after odd quotes", "x=[''''b'''',{" + dots + "a=1}]"},
      {"dotted key after odd double quotes", "x=[\"\"\"\"b\\\"\"\"\"\",{" + dots + "a=1}]"},
      {"dotted key after a comment", "# 'tis \"\"\" so\n" + dots + "a=1"},
      {"long key over a list", std::string(900'000, 'k') + "=[" + many("0,", size / 2) + "0]"},
      {"long list", "plan=[" + many("0,", size) + "0]"},
      {"brackets", "a=" + many("[", size)},
      {"braces", "a=" + many("{a=", size)},
      {"many keys", keys},
      {"many headers", headers},
      {"many seats", many("[[seats]]\n", size)},
      {"one text", "title=\"" + std::string(size, 'x') + "\""},
      {"JSON brackets", "{\"a\":" + many("[", size)},
      {"JSON objects", "{\"a\":" + many("{\"a\":", size)},
      {"JSON list", "{\"a\":[" + many("0,", size) + "0]}"},
      {"more than 2 MB", std::string((2u << 20) + 1, ' ')},
  };
  const std::string shop = source("tests/wrong/shop.toml");
  const std::string job = source("tests/wrong/unknown-key.toml");
  for (const auto& [name, bomb] : bombs) {
    SCOPED_TRACE(name);
    const auto start = std::chrono::steady_clock::now();
    EXPECT_FALSE(read_job({bomb, shop}).ok());
    EXPECT_FALSE(read_job({job, bomb}).ok());
    EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(20));
  }
}

}  // namespace
}  // namespace roomwright::job
