// The store, the stock and inspection as a person at the command line meets them.
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

namespace {

namespace desk_fs = std::filesystem;
using DeskJson = nlohmann::json;

struct DeskRan {
  int code = -1;
  std::string out, err;
};

std::string bytes_of(const desk_fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

class Desk : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = desk_fs::temp_directory_path() / ("roomwright_desk_" + std::to_string(getpid()));
    desk_fs::remove_all(folder_);
    desk_fs::create_directories(folder_);
    // Never the user's own store.
    setenv("XDG_DATA_HOME", (folder_ / "data").c_str(), 1);
    unsetenv("ROOMWRIGHT_STORE");
    setenv("ROOMWRIGHT_WHO", "Ada", 1);
  }
  void TearDown() override { desk_fs::remove_all(folder_); }

  DeskRan run(const std::string& arguments, const std::string& input = "") {
    std::ofstream(folder_ / "in") << input;
    const std::string command = std::string(ROOMWRIGHT_PROGRAM) + " " + arguments + " <" +
                                (folder_ / "in").string() + " >" + (folder_ / "out").string() +
                                " 2>" + (folder_ / "err").string();
    const int status = std::system(command.c_str());
    return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, bytes_of(folder_ / "out"),
            bytes_of(folder_ / "err")};
  }
  DeskJson json(const std::string& arguments, const std::string& input = "") {
    const DeskRan ran = run(arguments + " --json", input);
    EXPECT_EQ(ran.code, 0) << arguments << "\n" << ran.out << ran.err;
    return ran.code == 0 ? DeskJson::parse(ran.out) : DeskJson();
  }
  void expect_done(const std::string& arguments, const std::string& says) {
    const DeskRan ran = run(arguments);
    EXPECT_EQ(ran.code, 0) << arguments << "\n" << ran.out << ran.err;
    EXPECT_NE(ran.out.find(says), std::string::npos) << arguments << "\n" << ran.out;
  }
  void import_demo() { expect_done("store import " + demo, "control_room: brought in"); }

  const std::string root = ROOMWRIGHT_SOURCE_DIR;
  const std::string demo = root + "/examples/control_room.toml";
  desk_fs::path folder_;
};

TEST_F(Desk, a_job_and_its_shop_come_in_and_go_out_byte_for_byte) {
  import_demo();
  const DeskRan list = run("store list");
  EXPECT_NE(list.out.find("shop_metric.toml"), std::string::npos)
      << "the shop file beside the job came along";
  EXPECT_EQ(run("store export control_room").out, bytes_of(demo));
  expect_done("store export control_room --out " + (folder_ / "job.toml").string(), "version 1");
  EXPECT_EQ(bytes_of(folder_ / "job.toml"), bytes_of(demo));
  expect_done("store import " + demo, "nothing to change");
  expect_done("store check", "Sound: 2 documents");
  EXPECT_TRUE(desk_fs::exists(folder_ / "data/roomwright/shop.store"));
}

TEST_F(Desk, edits_are_steps_that_can_be_undone_and_conflicts_tell_both_values) {
  import_demo();
  const std::string to_2430 = R"([{"at": "room.height", "from": 2480, "to": 2430}])";
  EXPECT_EQ(json("store edit control_room --note measured", to_2430)["version"], 2);
  EXPECT_NE(run("store export control_room").out.find("height = 2430\n"), std::string::npos);
  const DeskRan refused = run("store edit control_room --base 1",
                              R"([{"at": "room.height", "from": 2480, "to": 2500}])");
  EXPECT_EQ(refused.code, 1);
  EXPECT_NE(refused.err.find("room.height: was 2480, is 2430, wanted 2500"), std::string::npos)
      << refused.err;
  const DeskJson merged =
      json("store edit control_room --base 1", R"([{"at": "revision", "from": "B", "to": "C"}])");
  EXPECT_EQ(merged["merged"], true);
  expect_done("store undo control_room", "taken back, now version 4");
  expect_done("store undo control_room", "taken back, now version 5");
  EXPECT_EQ(run("store export control_room").out, bytes_of(demo));
  expect_done("store redo control_room", "made again");
  const DeskRan history = run("store history control_room");
  EXPECT_NE(history.out.find("Ada  edited: measured"), std::string::npos) << history.out;
  EXPECT_NE(history.out.find("room.height: 2480 → 2430"), std::string::npos) << history.out;
}

TEST_F(Desk, wrong_calls_are_told) {
  EXPECT_EQ(run("store").code, 2);
  const DeskRan none = run("store list");
  EXPECT_EQ(none.code, 1);
  EXPECT_NE(none.err.find("is not there"), std::string::npos) << none.err;
  import_demo();
  EXPECT_EQ(run("store undo nowhere").code, 2);
  EXPECT_EQ(run("store undo control_room").code, 2);
  EXPECT_EQ(run("store edit control_room", "[{\"at\": \"a..b\", \"to\": 1}]").code, 2);
  EXPECT_EQ(run("stock receive plank 3").code, 2);
  EXPECT_EQ(run("stock receive stick:batten_27x68 3").code, 2) << "a stick has a length";
  EXPECT_EQ(run("inspect record control_room NOPE").code, 2);
}

TEST_F(Desk, a_backup_is_made_each_day_and_can_be_put_back) {
  import_demo();
  const DeskRan again = run("store backup");
  EXPECT_NE(again.out.find("Today has its backup already"), std::string::npos) << again.out;
  const std::string copy = (folder_ / "copy.store").string();
  expect_done("store backup " + copy, "is sound");
  expect_done("store remove control_room", "put out of the way");
  expect_done("store restore " + copy, "What was there is in");
  EXPECT_EQ(run("store export control_room").out, bytes_of(demo));
  EXPECT_EQ(run("store restore " + (folder_ / "in").string()).code, 1);
}

TEST_F(Desk, a_job_reserves_all_or_nothing_and_its_offcuts_come_back) {
  import_demo();
  expect_done("stock open shop_metric.toml", "count");
  EXPECT_EQ(run("stock open shop_metric.toml").code, 2) << "once only";
  const DeskRan first = run("stock reserve control_room");
  EXPECT_EQ(first.code, 1);
  EXPECT_NE(first.err.find("Nothing was reserved: all of it or none"), std::string::npos);
  // What it says is short is delivered, item by item, until it fits.
  for (const auto& [item, amount] :
       std::vector<std::pair<std::string, std::string>>{{"cloth:open_weave_grey --lot 7", "90m"},
                                                        {"cloth:fleece_black --lot 1", "90m"},
                                                        {"cloth:heavy_wool_felt --lot 1", "90m"}})
    run("stock receive " + item + " " + amount);
  for (int round = 0; round < 4; ++round) {
    const DeskRan tried = run("stock reserve control_room");
    if (tried.code == 0) break;
    std::istringstream lines(tried.err);
    for (std::string line; std::getline(lines, line);) {
      // `  screw_4x70: 300 wanted, 120 free, 180 short`
      const auto second = line.find(": ");
      const auto last = line.rfind(", ");
      if (line.rfind("  ", 0) != 0 || second == std::string::npos ||
          line.find(" short") == std::string::npos)
        continue;
      std::string name = line.substr(2, second - 2), length;
      const std::string amount = line.substr(last + 2, line.find(" short") - last - 2);
      if (const auto of = name.find(" of "); of != std::string::npos) {
        length = " --length " + name.substr(of + 4, name.find(" mm") - of - 4) + "mm";
        name.resize(of);
      }
      for (const char* kind : {"stick", "board", "sheet", "hardware"}) {
        if ((std::string(kind) == "stick") != !length.empty()) continue;
        const bool hardware =
            name.find("screw") != std::string::npos || name.find("staple") != std::string::npos ||
            name.find("hang") != std::string::npos || name.find("wire") != std::string::npos ||
            name.find("glue") != std::string::npos;
        const bool sheet = name.find("ply") != std::string::npos;
        const std::string fits = hardware ? "hardware" : sheet ? "sheet" : "board";
        if (length.empty() && fits != kind) continue;
        EXPECT_EQ(
            run("stock receive " + std::string(kind) + ":" + name + " " + amount + length).code, 0)
            << line;
      }
    }
  }
  const DeskJson held = json("stock list");
  EXPECT_TRUE(held["hollow"].empty());
  int promised = 0;
  for (const auto& item : held["items"]) promised += int(item.contains("reserved"));
  EXPECT_GT(promised, 8);
  const DeskJson used = json("stock built control_room");
  const auto offcuts = std::count_if(used["moves"].begin(), used["moves"].end(),
                                     [](const auto& move) { return move["move"] == "offcut"; });
  EXPECT_GT(offcuts, 0);
  const DeskRan list = run("stock list");
  EXPECT_NE(list.out.find("R1"), std::string::npos) << list.out;
  EXPECT_NE(run("stock order").out.find("days to deliver"), std::string::npos);
  const DeskJson moves = json("stock history");
  const auto last = moves["moves"].back()["number"].get<int>();
  EXPECT_EQ(json("stock undo " + std::to_string(last))["moves"][0]["move"], "use");
  expect_done("store check", "Sound");
}

TEST_F(Desk, a_piece_passes_or_goes_back_and_keeps_its_papers) {
  import_demo();
  const DeskJson sheet = json("inspect sheet control_room");
  ASSERT_EQ(sheet["pieces"].size(), 17u);
  const DeskJson& line = sheet["pieces"][0];
  const std::string label = line["label"],
                    diagonal = std::to_string(line["diagonal_m"].get<double>()) + "m";
  const std::string kg = std::to_string(line["mass_kg"].get<double>());
  const DeskRan light = run("inspect record control_room " + label + " --weighs 0.4");
  EXPECT_EQ(light.code, 1);
  EXPECT_NE(light.out.find("is a board missing"), std::string::npos) << light.out;
  EXPECT_NE(light.out.find("still to look at: square, flat, cloth, staples, label"),
            std::string::npos)
      << light.out;
  expect_done("inspect record control_room " + label + " --weighs " + kg + " --diagonal " +
                  diagonal + " --other-diagonal " + diagonal +
                  " --corner-off 1mm --cloth yes --staples yes --label yes",
              label + " passes.");
  expect_done("inspect certificate control_room --piece " + label +
                  " --material open_weave_grey --kind dye_lot --says 'lot 7'",
              "Kept with " + label);
  expect_done("inspect rework control_room --piece " + label +
                  " --station boards --cause weight --minutes 12",
              "weight");
  const DeskRan list = run("inspect list control_room");
  EXPECT_NE(list.out.find("open_weave_grey lot 7"), std::string::npos) << list.out;
  EXPECT_NE(list.out.find("16 pieces have not passed yet"), std::string::npos) << list.out;
  const std::string pdf = (folder_ / "inspection.pdf").string();
  expect_done("inspect sheet control_room --out " + pdf, "is in " + pdf);
  EXPECT_EQ(bytes_of(pdf).substr(0, 5), "%PDF-");
}

TEST_F(Desk, a_client_gets_all_of_it_and_is_erased_on_request) {
  import_demo();
  std::ofstream(folder_ / "left wall.jpg") << "a photo";
  expect_done("store attach control_room '" + (folder_ / "left wall.jpg").string() +
                  "' --kind photo --piece W1",
              "is kept as file 1");
  const std::string client = "'the client of the demo'", out = (folder_ / "theirs").string();
  expect_done("store client " + client + " --out " + out, "1 job");
  EXPECT_EQ(bytes_of(out + "/control_room/control_room.toml"), bytes_of(demo));
  EXPECT_EQ(bytes_of(out + "/control_room/files/1-left wall.jpg"), "a photo");
  expect_done("store erase --client " + client, "With --yes these go for good");
  EXPECT_EQ(run("store export control_room").out, bytes_of(demo)) << "nothing went yet";
  const DeskRan erased = run("store erase --yes --backups --client " + client);
  EXPECT_EQ(erased.code, 0) << erased.err;
  EXPECT_NE(erased.out.find("\"number\": \"D-017\""), std::string::npos) << erased.out;
  EXPECT_NE(erased.out.find("\"total\": "), std::string::npos) << erased.out;
  EXPECT_EQ(run("store client " + client + " --out " + out).code, 2);
  for (const auto& entry : desk_fs::recursive_directory_iterator(folder_ / "data"))
    if (entry.is_regular_file())
      EXPECT_EQ(bytes_of(entry.path()).find("the client of the demo"), std::string::npos)
          << entry.path();
}

TEST_F(Desk, every_command_stands_in_the_man_page_and_in_the_completions) {
  const auto lines_of = [](std::string text, const std::string& from, const std::string& to) {
    text = text.substr(text.find(from));
    std::istringstream lines(text.substr(0, text.find(to)));
    std::vector<std::string> out;
    for (std::string line; std::getline(lines, line);) out.push_back(line);
    return out;
  };
  // Entries of the man page begin with .TP and a line that names one command or several.
  std::string entries = " ";
  bool begins = false;
  for (const auto& line :
       lines_of(bytes_of(root + "/docs/roomwright.1"), ".SH COMMANDS", ".SH OPT")) {
    if (begins) entries += line + " ";
    begins = line == ".TP";
  }
  int commands = 0;
  for (const auto& line : lines_of(run("--help").out, "Subcommands:", "Exit codes")) {
    if (line.size() < 4 || line[0] != ' ' || line[2] == ' ') continue;
    const std::string command = line.substr(2, line.find(' ', 2) - 2);
    ++commands;
    EXPECT_NE(entries.find(" " + command + " "), std::string::npos) << command << " in " << entries;
    for (const char* shell : {"bash", "zsh", "fish"}) {
      std::string script = run(std::string("completion ") + shell).out;
      std::replace(script.begin(), script.end(), '\'', ' ');  // the last of a list
      EXPECT_NE(script.find(" " + command + " "), std::string::npos) << command << " for " << shell;
    }
  }
  EXPECT_GT(commands, 18);
}

}  // namespace
