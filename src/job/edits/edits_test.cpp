// Edits have an inverse, meet without loss, and leave the rest of a text alone.
#include "job/edits/edits.h"

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "job/document/document.h"

namespace roomwright::job {
namespace {

Json tree_of(const char* text) {
  return Json::parse(text);
}

// ---- random trees and edits -------------------------------------------------------------------

Json random_value(Random& random, int depth) {
  static const char* const words[] = {"wall", "say \"no\"", "ä\n#", "", "[x]", "4'-2 1/2\""};
  switch (random.below(depth > 0 ? 8 : 5)) {
    case 0:
      return random.between(-5, 5);
    case 1:
      return double(random.between(-40, 40)) / 8;
    case 2:
      return bool(random.below(2));
    case 3:
      return words[random.below(6)];
    case 4:
      return 1e21 * random.unit();
    case 5: {
      Json list = Json::array();
      for (std::uint32_t i = random.below(4); i > 0; --i)
        list.push_back(random_value(random, depth - 1));
      return list;
    }
    case 6: {
      Json list = Json::array();
      for (std::uint32_t i = random.below(4); i > 0; --i)
        list.push_back({{"label", "L" + std::to_string(random.below(9))},
                        {"x", random_value(random, depth - 1)}});
      return list;
    }
    default: {
      static const char* const keys[] = {"a", "b", "from", "odd key", "ü.[0]", "label"};
      Json table = Json::object();
      for (std::uint32_t i = random.below(4); i > 0; --i)
        table[keys[random.below(6)]] = random_value(random, depth - 1);
      return table;
    }
  }
}

Json random_tree(Random& random) {
  Json tree = Json::object();
  for (const char* key : {"schema", "room", "pieces", "a", "odd key"})
    if (random.below(4)) tree[key] = random_value(random, 3);
  return tree;
}

/// Walks down at random and changes what is there.
Edit random_edit(Random& random, const Json& tree) {
  const Json* at = &tree;
  std::string place;
  for (;;) {
    std::string next;
    const Json* below = nullptr;
    if (at->is_object()) {
      if (at->empty() || random.below(5) == 0) {
        std::string key = "new";
        while (at->contains(key)) key += std::to_string(random.below(10));
        return {place + (place.empty() ? "" : ".") + key, "", random_value(random, 2).dump()};
      }
      auto one = at->begin();
      std::advance(one, random.below(std::uint32_t(at->size())));
      const bool bare = one.key().find_first_of(" .[]\xc3") == std::string::npos;
      next = (place.empty() ? "" : ".") + (bare ? one.key() : Json(one.key()).dump());
      below = &*one;
    } else {
      const std::uint32_t index = random.below(std::uint32_t(at->size()) + 1);
      next = "[" + std::to_string(index) + "]";
      if (index == at->size() || random.below(4) == 0)
        return {place + next, "", random_value(random, 2).dump()};
      below = &(*at)[index];
    }
    place += next;
    at = below;
    if (!at->is_structured() || random.below(3) == 0) break;
  }
  const bool out = random.below(3) == 0;
  return {place, at->dump(), out ? "" : random_value(random, 2).dump()};
}

Edits random_edits(Random& random, Json tree, int count) {
  Edits out;
  for (int i = 0; i < count; ++i) {
    out.push_back(random_edit(random, tree));
    const auto made = apply_edits(tree, {out.back()});
    EXPECT_TRUE(made.ok()) << (made.ok() ? "" : made.mistakes().text()) << tree.dump();
  }
  return out;
}

// ---- trees ------------------------------------------------------------------------------------

TEST(Edits, an_edit_and_its_inverse_leave_the_tree_as_it_was) {
  for (std::uint64_t seed = 0; seed < 2000; ++seed) {
    Random random(seed);
    const Json before = random_tree(random);
    Json tree = before;
    const auto made = apply_edits(tree, random_edits(random, tree, 1 + int(random.below(6))));
    ASSERT_TRUE(made.ok());
    const auto back = apply_edits(tree, invert(*made));
    ASSERT_TRUE(back.ok()) << back.mistakes().text();
    ASSERT_EQ(tree.dump(), before.dump()) << seed;
  }
}

TEST(Edits, an_inverse_gives_back_the_very_digits) {
  Json tree = tree_of(R"({"a": 1.0})");
  const auto made = apply_edits(tree, {{"a", "1", "2"}});
  ASSERT_TRUE(made.ok());
  ASSERT_TRUE(apply_edits(tree, invert(*made)).ok());
  EXPECT_EQ(tree.dump(), R"({"a":1.0})");
}

TEST(Edits, the_difference_of_two_trees_leads_from_one_to_the_other) {
  for (std::uint64_t seed = 0; seed < 2000; ++seed) {
    Random random(seed);
    Json tree = random_tree(random);
    Json other = random.below(2) ? random_tree(random) : tree;
    if (other == tree) ASSERT_TRUE(apply_edits(other, random_edits(random, other, 4)).ok());
    const auto made = apply_edits(tree, difference(tree, other));
    ASSERT_TRUE(made.ok()) << seed << made.mistakes().text();
    ASSERT_EQ(tree.dump(), other.dump()) << seed;
  }
}

TEST(Edits, a_piece_put_in_before_others_is_one_edit) {
  const Json before = tree_of(R"({"p": [{"label": "A", "x": 1}, {"label": "B", "x": 2}]})");
  const Json after =
      tree_of(R"({"p": [{"label": "N"}, {"label": "A", "x": 1}, {"label": "B", "x": 3}]})");
  const Edits found = difference(before, after);
  const Edits wanted = {{"p[0]", "", R"({"label":"N"})"}, {"p[2].x", "2", "3"}};
  EXPECT_EQ(found, wanted);
}

TEST(Edits, a_value_that_is_not_the_one_named_is_refused_and_told) {
  Json tree = tree_of(R"({"room": {"height": 2480}})");
  const auto made = apply_edits(tree, {{"room.height", "2400", "2300"}});
  ASSERT_FALSE(made.ok());
  EXPECT_EQ(made.mistakes().items()[0].sentence(),
            "room.height: is not what the edit says it was (2400), got 2480; read the document "
            "again: it may have changed since the edit was made");
  EXPECT_EQ(tree.dump(), R"({"room":{"height":2480}})");
}

TEST(Edits, one_that_cannot_be_made_leaves_the_others_unmade) {
  Json tree = tree_of(R"({"a": 1, "l": []})");
  for (const Edits& bad :
       {Edits{{"a", "1", "2"}, {"b", "1", "2"}}, Edits{{"a", "", "2"}}, Edits{{"l[1]", "", "2"}},
        Edits{{"a[0]", "", "2"}}, Edits{{"l.x", "", "2"}}, Edits{{"a", "", ""}},
        Edits{{"a..b", "1", ""}}, Edits{{"a", "{", ""}}})
    EXPECT_FALSE(apply_edits(tree, bad).ok()) << bad.back().at;
  EXPECT_EQ(tree.dump(), R"({"a":1,"l":[]})");
}

TEST(Edits, are_read_from_json_with_every_mistake_at_once) {
  const auto good = read_edits(
      tree_of(R"([{"at": "a.\"odd key\"[2]", "from": null, "to": [1]}, {"at": "b", "to": 1.5}])"));
  ASSERT_TRUE(good.ok());
  EXPECT_EQ((*good)[0], (Edit{"a.\"odd key\"[2]", "null", "[1]"}));
  EXPECT_EQ(edits_json(*good)[1].dump(), R"({"at":"b","to":1.5})");
  const auto bad = read_edits(
      tree_of(R"([{"at": "a..b", "to": 1}, {"to": 1}, {"at": "a"}, {"at": "a", "tto": 1}, 7])"));
  ASSERT_FALSE(bad.ok());
  EXPECT_GE(bad.mistakes().size(), 5u) << bad.mistakes().text();
  EXPECT_FALSE(read_edits(tree_of("[]")).ok());
}

// ---- two people ---------------------------------------------------------------------------------

TEST(Rebase, either_order_gives_the_same_tree_where_nothing_touches) {
  int met = 0, conflicts = 0;
  for (std::uint64_t seed = 0; seed < 6000; ++seed) {
    Random random(seed);
    const Json base = random_tree(random);
    const Edits mine = random_edits(random, base, 1 + int(random.below(3)));
    const Edits theirs = random_edits(random, base, 1 + int(random.below(3)));
    const Rebased after = rebase(mine, theirs);
    if (!after.conflicts.empty()) {
      ++conflicts;
      continue;
    }
    ++met;
    Json tree = base;
    ASSERT_TRUE(apply_edits(tree, theirs).ok());
    const auto made = apply_edits(tree, after.edits);
    ASSERT_TRUE(made.ok()) << seed << " " << made.mistakes().text();
    // What each put in or changed is there: nothing of either was lost.
    Json other = base;
    ASSERT_TRUE(apply_edits(other, mine).ok());
    const Rebased swapped = rebase(theirs, mine);
    ASSERT_TRUE(swapped.conflicts.empty()) << seed;
    ASSERT_TRUE(apply_edits(other, swapped.edits).ok()) << seed;
    EXPECT_EQ(tree.dump().size(), other.dump().size()) << seed;
  }
  EXPECT_GT(met, 1000);
  EXPECT_GT(conflicts, 300);
}

TEST(Rebase, an_edit_moves_along_with_the_list) {
  const Rebased moved = rebase({{"pieces[3].from", "1", "2"}}, {{"pieces[1]", "", "{}"}});
  EXPECT_TRUE(moved.conflicts.empty());
  EXPECT_EQ(moved.edits, (Edits{{"pieces[4].from", "1", "2"}}));
  EXPECT_EQ(rebase({{"pieces[3].from", "1", "2"}}, {{"pieces[1]", "{}", ""}}).edits,
            (Edits{{"pieces[2].from", "1", "2"}}));
}

TEST(Rebase, a_later_edit_of_mine_stays_with_the_element_i_put_in) {
  const Edits mine = {{"p[1]", "", R"({"x":1})"}, {"p[1].x", "1", "5"}};
  EXPECT_EQ(rebase(mine, {{"p[0]", "", "{}"}, {"p[3]", "", "{}"}}).edits,
            (Edits{{"p[2]", "", R"({"x":1})"}, {"p[2].x", "1", "5"}}));
}

TEST(Rebase, two_values_for_one_place_are_a_conflict_with_both_told) {
  const Rebased met = rebase({{"room.height", "2480", "2430"}}, {{"room.height", "2480", "2500"}});
  EXPECT_EQ(met.conflicts, (std::vector<Conflict>{{"room.height", "2480", "2500", "2430"}}));
}

TEST(Rebase, a_place_and_what_contains_it_are_a_conflict) {
  const Rebased taken = rebase({{"p[0].x", "1", "2"}}, {{"p[0]", R"({"x":1})", ""}});
  EXPECT_EQ(taken.conflicts, (std::vector<Conflict>{{"p[0].x", "1", "", "2"}}));
  const Rebased outer = rebase({{"p[0]", R"({"x":1})", ""}}, {{"p[0].x", "1", "2"}});
  EXPECT_EQ(outer.conflicts, (std::vector<Conflict>{{"p[0]", R"({"x":1})", R"({"x":2})", ""}}));
}

TEST(Rebase, the_same_change_twice_is_made_once) {
  const Rebased met = rebase({{"p[2]", "7", ""}, {"a", "1", "2"}}, {{"p[2]", "7", ""}});
  EXPECT_TRUE(met.conflicts.empty());
  EXPECT_EQ(met.edits, (Edits{{"a", "1", "2"}}));
}

// ---- texts --------------------------------------------------------------------------------------

std::string example(const char* name) {
  std::ifstream file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/examples/" + name, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

/// What a person or a page does: a leaf changes, a key comes or goes, an element is copied or goes.
Edits sensible_edits(Random& random, Json tree, int count) {
  Edits out;
  while (int(out.size()) < count) {
    Edit edit = random_edit(random, tree);
    Json from = edit.from.empty() ? Json() : Json::parse(edit.from);
    if (edit.from.empty() && edit.at.back() == ']') continue;
    if (from.is_structured() && !edit.to.empty()) {
      if (edit.at.back() != ']') continue;
      edit.to = edit.from, edit.from.clear();  // a copy before it
    }
    if (apply_edits(tree, {edit}).ok()) out.push_back(edit);
  }
  return out;
}

int comments_in(const std::string& text) {
  return int(std::count(text.begin(), text.end(), '#'));
}

void expect_text(const std::string& before, const Edits& edits, const std::string& after) {
  const auto out = edit_text(before, edits);
  ASSERT_TRUE(out.ok()) << out.mistakes().text();
  EXPECT_EQ(out->text, after);
  EXPECT_TRUE(out->layout_kept);
}

TEST(EditText, a_value_changes_and_nothing_else) {
  const std::string job = example("control_room.toml");
  const auto out = edit_text(job, {{"room.height", "2480", "2430"}});
  ASSERT_TRUE(out.ok()) << out.mistakes().text();
  std::string wanted = job;
  wanted.replace(wanted.find("height = 2480"), 13, "height = 2430");
  EXPECT_EQ(out->text, wanted);
  EXPECT_TRUE(out->layout_kept);
}

TEST(EditText, keys_are_added_and_taken_out_beside_their_comments) {
  const std::string text = "# head\na = 1 # one\n\n[room] # here\n  x = \"ä\" # two\n# end\n[b]\n";
  expect_text(text, {{"c", "", "[1,2]"}},
              "# head\na = 1 # one\nc = [1, 2]\n\n[room] # here\n  x = \"ä\" # two\n# end\n[b]\n");
  expect_text(text, {{"room.y", "", "2.0"}},
              "# head\na = 1 # one\n\n[room] # here\n  x = \"ä\" # two\n  y = 2.0\n# end\n[b]\n");
  expect_text(text, {{"b.\"odd key\"", "", "true"}},
              "# head\na = 1 # one\n\n[room] # here\n  x = \"ä\" # two\n# end\n[b]\n\"odd key\" = "
              "true\n");
  expect_text(text, {{"a", "1", ""}}, "# head\n\n[room] # here\n  x = \"ä\" # two\n# end\n[b]\n");
  expect_text(text, {{"room", R"({"x":"ä"})", ""}}, "# head\na = 1 # one\n\n# end\n[b]\n");
}

TEST(EditText, elements_of_lists_come_and_go) {
  const std::string text = "l = [\n  1, # one\n  2,\n]\ni = { a = 1, b = 2 }\n";
  expect_text(text, {{"l[2]", "", "3"}}, "l = [\n  1, # one\n  2, 3,\n]\ni = { a = 1, b = 2 }\n");
  expect_text(text, {{"l[0]", "", "3"}}, "l = [\n  3, 1, # one\n  2,\n]\ni = { a = 1, b = 2 }\n");
  expect_text(text, {{"l[1]", "2", ""}}, "l = [\n  1,\n]\ni = { a = 1, b = 2 }\n");
  expect_text(text, {{"i.c", "", "3"}},
              "l = [\n  1, # one\n  2,\n]\ni = { a = 1, b = 2, c = 3 }\n");
  expect_text(text, {{"i.a", "1", ""}}, "l = [\n  1, # one\n  2,\n]\ni = { b = 2 }\n");
}

TEST(EditText, a_block_comes_and_goes_with_its_tables) {
  const std::string text =
      "a = 1\n\n# the first\n[[p]]\nx = 1\n\n[p.t]\ny = 1\n\n# the second\n[[p]]\nx = 2\n";
  expect_text(text, {{"p[0]", R"({"t":{"y":1},"x":1})", ""}},
              "a = 1\n\n# the first\n\n# the second\n[[p]]\nx = 2\n");
  expect_text(text, {{"p[1]", "", R"({"x":9,"t":{"y":9}})"}},
              "a = 1\n\n# the first\n[[p]]\nx = 1\n\n[p.t]\ny = 1\n\n[[p]]\nx = 9\n\n[p.t]\ny = "
              "9\n\n# the second\n[[p]]\nx = 2\n");
  expect_text(text, {{"p[2]", "", R"({"x":9})"}}, text + "\n[[p]]\nx = 9\n");
  expect_text(text, {{"q", "", R"([{"x":9}])"}}, text + "\n[[q]]\nx = 9\n");
  expect_text(text, {{"p[1].x", "2", "3"}, {"p[0].t.y", "1", "4"}},
              "a = 1\n\n# the first\n[[p]]\nx = 1\n\n[p.t]\ny = 4\n\n# the second\n[[p]]\nx = 3\n");
}

TEST(EditText, marks_and_line_ends_of_other_systems_stay) {
  expect_text("\xef\xbb\xbf# c\r\na = 1\r\n[r]\r\nb = 2\r\n", {{"a", "1", "3"}, {"c", "", "4"}},
              "\xef\xbb\xbf# c\r\na = 3\r\nc = 4\r\n[r]\r\nb = 2\r\n");
  expect_text("a = 1", {{"b", "", "2"}}, "a = 1\nb = 2\n");
}

TEST(EditText, of_the_demo_jobs_says_exactly_the_edited_tree_and_keeps_comments) {
  int kept = 0, all = 0;
  for (const char* name : {"control_room.toml", "tracking_room.toml", "drum_room.toml",
                           "shop_metric.toml", "shop_inch.toml"}) {
    const std::string before = example(name);
    for (std::uint64_t seed = 0; seed < 40; ++seed) {
      Random random(seed);
      const auto tree = document_tree(before);
      ASSERT_TRUE(tree.ok());
      const Edits edits = sensible_edits(random, *tree, 3);
      Json wanted = *tree;
      ASSERT_TRUE(apply_edits(wanted, edits).ok());
      const auto out = edit_text(before, edits);
      ASSERT_TRUE(out.ok()) << out.mistakes().text();
      ASSERT_EQ(document_tree(out->text)->dump(), wanted.dump()) << name << seed;
      ++all;
      kept += out->layout_kept;
      EXPECT_TRUE(out->layout_kept) << name << seed << edits_json(edits).dump();
      if (out->layout_kept && wanted.size() >= tree->size())
        EXPECT_GE(comments_in(out->text) + 3, comments_in(before)) << name << seed;
    }
  }
  EXPECT_EQ(kept, all);
}

TEST(EditText, random_texts_say_exactly_the_edited_tree) {
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    Random random(seed);
    const Json tree = random_tree(random);
    const auto text = toml_text(tree);
    ASSERT_TRUE(text.ok());
    ASSERT_EQ(document_tree("#\n" + *text)->dump(), tree.dump()) << *text;
    const Edits edits = random_edits(random, tree, 3);
    Json wanted = tree;
    ASSERT_TRUE(apply_edits(wanted, edits).ok());
    for (const std::string& form : {"#\n" + *text, json_text(tree)}) {
      if (form == "{}") continue;
      const auto out = edit_text(form, edits);
      ASSERT_TRUE(out.ok()) << seed << out.mistakes().text();
      ASSERT_EQ(document_tree(out->text)->dump(), wanted.dump()) << seed << form;
    }
  }
}

TEST(EditText, what_toml_has_not_is_told) {
  EXPECT_FALSE(edit_text("a = 1\n", {{"a", "1", "null"}}).ok());
  EXPECT_FALSE(edit_text("a = 1\n", {{"a", "1", "18446744073709551615"}}).ok());
  EXPECT_TRUE(edit_text("{\"a\": 1}", {{"a", "1", "null"}}).ok());
  const auto unfinished = check_text("[a]\nb = [1, nan]\n");
  ASSERT_FALSE(unfinished.ok());
  EXPECT_EQ(unfinished.mistakes().items()[0].where, "a.b[1]");
}

}  // namespace
}  // namespace roomwright::job
