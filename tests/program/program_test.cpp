// The program as its user meets it: commands, exit codes, messages, the pack.
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <random>
#include <sstream>

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
const std::string root = ROOMWRIGHT_SOURCE_DIR;

struct Ran {
  int code = -1;
  std::string out, err;
};

std::string slurp(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

/// Each test has a folder of its own, so that they may run side by side.
class Program : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("roomwright_program_" + std::to_string(getpid()));
    fs::create_directories(folder_);
    // One folder for a whole check, which empties it first.
    setenv("ROOMWRIGHT_KEPT", (root + "/build/kept").c_str(), 1);
  }
  void TearDown() override { fs::remove_all(folder_); }

  Ran run(const std::string& arguments, const std::string& input = "") {
    std::ofstream(folder_ / "in") << input;
    const std::string command = std::string(ROOMWRIGHT_PROGRAM) + " " + arguments + " <" +
                                (folder_ / "in").string() + " >" + (folder_ / "out").string() +
                                " 2>" + (folder_ / "err").string();
    const int status = std::system(command.c_str());
    return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, slurp(folder_ / "out"),
            slurp(folder_ / "err")};
  }
  Json calc(const std::string& kind, const std::string& request) {
    const Ran ran = run("calc " + kind, request);
    EXPECT_EQ(ran.code, 0) << ran.err;
    return ran.code == 0 ? Json::parse(ran.out) : Json();
  }

  fs::path folder_;
};

const std::string demo = root + "/examples/control_room.toml";

TEST_F(Program, helps_and_names_its_version) {
  EXPECT_EQ(run("--help").code, 0);
  EXPECT_NE(run("--help").out.find("pack"), std::string::npos);
  EXPECT_EQ(run("--version").out, "roomwright 0.1.0\n");
  EXPECT_EQ(run("").code, 2);
  EXPECT_EQ(run("sing").code, 2);
  EXPECT_EQ(run("pack " + demo).code, 2) << "--out is required";
}

TEST_F(Program, checks_the_demo) {
  const Ran ran = run("check " + demo);
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_EQ(ran.out, "No mistakes: 17 pieces in Mixing room under the stairs.\n");
}

TEST_F(Program, tells_every_mistake_and_exits_with_2) {
  fs::copy(root + "/tests/wrong/many-mistakes-at-once.toml", folder_ / "job.toml");
  fs::copy(root + "/tests/wrong/shop.toml", folder_ / "shop.toml");
  const Ran ran = run("findings " + (folder_ / "job.toml").string());
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(ran.out.empty());
  EXPECT_NE(ran.err.find("line 13: job file: room.height: has a comma"), std::string::npos)
      << ran.err;
  EXPECT_NE(ran.err.find("7 mistakes."), std::string::npos) << ran.err;
  const Ran json = run("findings --json " + (folder_ / "job.toml").string());
  EXPECT_EQ(Json::parse(json.err)["errors"].size(), 7u);
}

TEST_F(Program, says_what_it_changed_in_a_file_of_an_older_form) {
  std::string text = slurp(demo);
  text.replace(text.find("schema = 1"), 10, "schema = 0");
  std::ofstream(folder_ / "job.toml") << text;
  fs::copy(root + "/examples/shop_metric.toml", folder_ / "shop_metric.toml");
  const Ran ran = run("check " + (folder_ / "job.toml").string());
  EXPECT_EQ(ran.code, 0);
  EXPECT_NE(ran.err.find("an older form, read as: schema 0 is now schema 1"), std::string::npos)
      << ran.err;
}

TEST_F(Program, names_a_file_that_is_not_there) {
  const Ran ran = run("check /nowhere/job.toml");
  EXPECT_EQ(ran.code, 2);
  EXPECT_NE(ran.err.find("/nowhere/job.toml: cannot read: No such file or directory"),
            std::string::npos);
  fs::copy(root + "/tests/wrong/empty.toml", folder_ / "job.toml");
  EXPECT_EQ(run("check " + (folder_ / "job.toml").string()).code, 2);
}

TEST_F(Program, every_stage_prints_text_and_json) {
  for (const char* stage : {"survey", "findings", "treatment", "build", "price", "hang", "proof"}) {
    const Ran text = run(std::string(stage) + " " + demo);
    EXPECT_EQ(text.code, 0) << text.err;
    EXPECT_EQ(text.out.find("\x1b["), std::string::npos) << "no colour where there is no terminal";
    const Ran json = run(std::string(stage) + " --json " + demo);
    EXPECT_TRUE(Json::parse(json.out).contains("statements")) << stage;
    EXPECT_TRUE(json.err.empty());
  }
}

TEST_F(Program, a_panel_over_a_door_is_told_by_check_and_exits_with_1) {
  std::string text = slurp(demo);
  const std::string from = "from = [540, 600]";
  text.replace(text.find(from), from.size(), "from = [1500, 600]");
  std::ofstream(folder_ / "job.toml") << text;
  fs::copy(root + "/examples/shop_metric.toml", folder_ / "shop_metric.toml");
  const Ran ran = run("check " + (folder_ / "job.toml").string());
  EXPECT_EQ(ran.code, 1);
  EXPECT_NE(ran.err.find("pieces.R1: hangs over the door by 660 mm"), std::string::npos) << ran.err;
}

std::map<std::string, std::string> files_below(const fs::path& folder) {
  std::map<std::string, std::string> out;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    if (entry.is_regular_file())
      out[fs::relative(entry.path(), folder).generic_string()] = slurp(entry.path());
  return out;
}

TEST_F(Program, pack_writes_the_same_bytes_twice) {
  const fs::path first = folder_ / "a", second = folder_ / "b";
  ASSERT_EQ(run("pack " + demo + " --out " + first.string()).code, 0);
  ASSERT_EQ(run("pack " + demo + " --out " + second.string()).code, 0);
  const auto a = files_below(first), b = files_below(second);
  EXPECT_EQ(a, b);
  EXPECT_GE(a.size(), 30u);
  for (const char* name :
       {"01-quote.pdf", "02-findings.pdf", "03-cut-sheet.pdf", "04-cloth-and-boards.pdf",
        "05-stations.pdf", "06-shop-drawings.pdf", "07-elevations.pdf", "08-purchase.pdf",
        "10-proof.pdf", "tables/cuts.csv", "drawings/07-elevations-2.svg",
        "drawings/07-elevations-2.dxf", "job.json"})
    EXPECT_TRUE(a.count(name)) << name;
  EXPECT_TRUE(Json::parse(a.at("job.json")).contains("treatment"));
}

TEST_F(Program, pack_says_where_it_cannot_write) {
  std::ofstream(folder_ / "file") << "x";
  const Ran ran = run("pack " + demo + " --out " + (folder_ / "file" / "below").string());
  EXPECT_EQ(ran.code, 1);
  EXPECT_NE(ran.err.find("cannot be made"), std::string::npos) << ran.err;
}

TEST_F(Program, completion_is_there_for_three_shells) {
  for (const char* shell : {"bash", "zsh", "fish"})
    EXPECT_NE(run(std::string("completion ") + shell).out.find("findings"), std::string::npos);
  EXPECT_EQ(run("completion tcsh").code, 2);
}

// ---- listening ----------------------------------------------------------------------------------

/// A take of 16-bit samples: a short knock every quarter second, on each channel its own.
std::string take(int channels, double seconds, double amplitude, int rate = 48000) {
  const auto number = [](std::uint32_t value, int bytes) {
    std::string out;
    for (int i = 0; i < bytes; ++i) out += char((value >> (8 * i)) & 255);
    return out;
  };
  std::string data;
  for (int i = 0; i < int(seconds * rate); ++i)
    for (int channel = 0; channel < channels; ++channel) {
      const double t = std::fmod(double(i) / rate, 0.25);
      const double x =
          amplitude * std::exp(-40 * t) * std::sin(2 * 3.14159 * (300 + 400 * channel) * t);
      data += number(std::uint32_t(std::int32_t(std::lround(32767 * x))), 2);
    }
  return "RIFF" + number(36 + std::uint32_t(data.size()), 4) + "WAVEfmt " + number(16, 4) +
         number(1, 2) + number(channels, 2) + number(rate, 4) + number(rate * channels * 2, 4) +
         number(channels * 2, 2) + number(16, 2) + "data" + number(std::uint32_t(data.size()), 4) +
         data;
}

/// Samples of a 24-bit WAV file whose data stand at its end.
std::vector<double> samples_of_24_bits(const std::string& file) {
  const auto at = file.find("data") + 8;
  std::vector<double> out;
  for (std::size_t i = at; i + 3 <= file.size(); i += 3) {
    std::int32_t value = 0;
    for (int k = 0; k < 3; ++k)
      value |= std::int32_t(std::uint32_t(static_cast<unsigned char>(file[i + k])) << (8 * k + 8));
    out.push_back(value / 2147483648.0);
  }
  return out;
}

const std::string drum_room = root + "/examples/drum_room.toml";

TEST_F(Program, listen_writes_each_seat_today_and_treated_of_one_loudness) {
  std::ofstream(folder_ / "take.wav", std::ios::binary) << take(1, 1, 0.5, 44100);
  const Ran ran = run("listen " + drum_room + " --dry " + (folder_ / "take.wav").string() +
                      " --out " + (folder_ / "heard").string());
  ASSERT_EQ(ran.code, 0) << ran.err;
  for (const char* said : {"moderate level", "no head", "Hz and rays above", "LKFS",
                           "room_microphone_today.wav", "the take through kit"})
    EXPECT_NE(ran.out.find(said), std::string::npos) << said << ran.out;
  const auto files = files_below(folder_ / "heard");
  ASSERT_EQ(files.size(), 4u);
  double level[2] = {};
  for (const int treated : {0, 1}) {
    const auto& file =
        files.at(treated ? "room_microphone_treated.wav" : "room_microphone_today.wav");
    EXPECT_EQ(file.substr(22, 2), std::string("\2\0", 2)) << "two channels";
    EXPECT_EQ(file.substr(24, 4), std::string("\x80\xbb\0\0", 4)) << "48 kHz";
    double peak = 0;
    for (const double x : samples_of_24_bits(file)) {
      peak = std::max(peak, std::abs(x));
      level[treated] += x * x;
    }
    EXPECT_LT(peak, std::pow(10.0, -1 / 20.0));
    EXPECT_GT(peak, 0.01);
  }
  EXPECT_NEAR(10 * std::log10(level[0] / level[1]), 0, 4) << "weighted and gated, so not quite 0";
  EXPECT_TRUE(files.count("IR_room_microphone_kit_today.wav"));
  EXPECT_TRUE(files.count("IR_room_microphone_kit_treated.wav"));
}

TEST_F(Program, listen_answers_json_and_gives_the_same_bytes_twice) {
  std::ofstream(folder_ / "take.wav", std::ios::binary) << take(2, 0.6, 0.5);
  const std::string call =
      "listen --json " + drum_room + " --dry " + (folder_ / "take.wav").string();
  const Ran first = run(call + " --out " + (folder_ / "a").string());
  ASSERT_EQ(first.code, 0) << first.err;
  const Json out = Json::parse(first.out);
  EXPECT_EQ(out["files"].size(), 4u);
  EXPECT_LE(out["seats"][0]["peak_db"].get<double>(), -1);
  EXPECT_EQ(out["plays"].size(), 2u);
  EXPECT_FALSE(out["caution"].get<std::string>().empty());
  ASSERT_EQ(run(call + " --out " + (folder_ / "b").string()).code, 0);
  EXPECT_EQ(files_below(folder_ / "a"), files_below(folder_ / "b"));
}

TEST_F(Program, listen_says_what_is_wrong_with_the_take) {
  const auto told = [&](const std::string& bytes) {
    std::ofstream(folder_ / "take.wav", std::ios::binary) << bytes;
    const Ran ran = run("listen " + drum_room + " --dry " + (folder_ / "take.wav").string());
    EXPECT_EQ(ran.code, 2) << ran.out;
    EXPECT_TRUE(ran.out.empty());
    return ran.err;
  };
  EXPECT_NE(told("no sound").find("is no WAV or FLAC file"), std::string::npos);
  EXPECT_NE(told(take(1, 0.5, 0)).find("is silent; choose a take that holds sound"),
            std::string::npos);
  EXPECT_NE(told(take(1, 121, 0.1, 8000)).find("is longer than 120 s; cut a shorter piece"),
            std::string::npos);
  EXPECT_NE(told(take(3, 0.5, 0.1)).find("from 1 to 2, got 3"), std::string::npos);
  const Ran none = run("listen " + drum_room + " --dry /nowhere/take.wav");
  EXPECT_EQ(none.code, 2);
  EXPECT_NE(none.err.find("/nowhere/take.wav: cannot read: No such file"), std::string::npos);
  EXPECT_EQ(run("listen " + drum_room).code, 2) << "--dry is required";
}

TEST_F(Program, listen_says_where_it_cannot_write) {
  std::ofstream(folder_ / "take.wav", std::ios::binary) << take(1, 0.5, 0.5);
  std::ofstream(folder_ / "file") << "x";
  const Ran ran = run("listen " + drum_room + " --dry " + (folder_ / "take.wav").string() +
                      " --out " + (folder_ / "file" / "below").string());
  EXPECT_EQ(ran.code, 1);
  EXPECT_NE(ran.err.find("cannot be made"), std::string::npos) << ran.err;
}

TEST_F(Program, findings_and_treatment_trace_rays_when_asked) {
  const Ran text = run("findings --rays " + drum_room);
  EXPECT_EQ(text.code, 0) << text.err;
  EXPECT_NE(text.out.find("Rays from kit to room microphone"), std::string::npos);
  EXPECT_NE(text.out.find("would halve it"), std::string::npos);
  const Json json = Json::parse(run("treatment --rays --json " + drum_room).out);
  const Json& rows = json["rays"]["pairs"][0]["rows"];
  ASSERT_EQ(rows.size(), 8u);
  EXPECT_GT(rows[4]["t20_s"]["value"].get<double>(), 0.1);
  EXPECT_GT(rows[4]["t20_s"]["standard_error"].get<double>(), 0);
  EXPECT_FALSE(Json::parse(run("treatment --json " + drum_room).out).contains("rays"));
}

// ---- calculators ----------------------------------------------------------------------------

TEST_F(Program, calc_absorber_meets_a_tabulated_value) {
  const Json out = calc(
      "absorber",
      R"({"layers": [{"kind": "porous", "thickness_m": 0.05, "flow_resistivity_pa_s_m2": 10000}],
    "air": {"density_kg_m3": 1.204, "sound_speed_m_s": 343.2}, "incidence": "normal", "frequencies_hz": [1000]})");
  // Source: Miki (1990), 50 mm of 10 000 Pa s/m² at 1 kHz, computed table
  // (tests/figures/porous_absorption.csv, case P02)
  EXPECT_NEAR(out["absorption"][0].get<double>(), 0.882612, 1e-4);
}

TEST_F(Program, calc_rating_decay_modes_reflections_answer) {
  EXPECT_EQ(
      calc(
          "rating",
          R"({"absorption": {"125": 0.1, "250": 0.35, "500": 0.75, "1000": 1.0, "2000": 0.6, "4000": 0.45}})")
          ["shape"],
      "M");
  const Json decay = calc(
      "decay",
      R"({"room": {"size_m": [5, 4, 2.6]}, "air": {"sound_speed_m_s": 343.2, "attenuation": false},
    "surfaces": {"default": {"absorption": 0.2}}, "method": "sabine"})");
  // Source: Sabine, 24 ln 10 / c, 5.0 × 4.0 × 2.6 m with 0.2 all round, computed table
  EXPECT_NEAR(decay["bands"][3]["t_s"].get<double>(), 0.4823178, 1e-6);
  const Json bare = calc(
      "decay",
      R"({"volume_m3": 52, "areas_m2": {"floor": 20, "rest": 66.8}, "air": {"sound_speed_m_s": 343.2, "attenuation": false},
    "surfaces": {"default": {"absorption": 0.2}}, "method": "eyring"})");
  EXPECT_NEAR(bare["bands"][3]["t_s"].get<double>(), 0.4322937, 1e-6);
  const Json modes =
      calc("modes",
           R"({"room": {"size_m": [5, 4, 2.6]}, "air": {"sound_speed_m_s": 343.2}, "max_hz": 50})");
  EXPECT_NEAR(modes["modes"][0]["hz"].get<double>(), 34.32, 1e-9);
  EXPECT_EQ(modes["modes"][0]["kind"], "axial");
  const Json paths = calc(
      "reflections",
      R"({"room": {"size_m": [5, 4, 2.6]}, "sources": [{"at_m": [1.2, 1.3, 1.2]}], "receivers_m": [[2.4, 2, 1.2]]})");
  EXPECT_EQ(paths["pairs"][0]["paths"].size(), 6u);
}

TEST_F(Program, calc_cutting_keeps_decimals_exact) {
  const Json out = calc(
      "cutting",
      R"({"stock": [{"name": "stick", "length": 2438.4, "cost": 4.98}], "parts": [{"name": "rail", "length": 609.6, "count": 4}], "kerf": 3.175})");
  EXPECT_EQ(out["cost"].get<double>(), 9.96);
  EXPECT_TRUE(out["proven"].get<bool>());
  EXPECT_EQ(out["sticks"][0]["cuts"][1]["from"].get<double>(), 612.775);
}

TEST_F(Program, calc_cutting_values_offcuts_and_counts_setup) {
  const Json out = calc("cutting", R"({"stock": [{"name": "stick", "length": 2438.4, "cost": 7.48}],
    "parts": [{"name": "rail", "length": 609.6, "count": 3}, {"name": "post", "length": 609.6}],
    "kerf": 3.175, "keep": {"least": 300, "value_per_length": 0.002}, "bundle": 2})");
  // Two parts and two kerfs leave 1212.85 mm of each stick.
  EXPECT_NEAR(out["cost"].get<double>(), 2 * (7.48 - 0.002 * 1212.85), 1e-9);
  EXPECT_TRUE(out["proven"].get<bool>());
  EXPECT_EQ(out["settings"].get<int>(), 1);
  EXPECT_EQ(out["patterns"].get<int>(), 1);
  EXPECT_EQ(out["loads"].get<int>(), 1);
}

TEST_F(Program, calc_layout_on_a_roll) {
  const Json out = calc(
      "layout",
      R"({"roll": {"width": 1400}, "parts": [{"name": "face", "width": 700, "height": 900.5, "count": 4}], "pile": "one-way"})");
  EXPECT_EQ(out["used"].get<double>(), 1801.0);
  EXPECT_TRUE(out["proven"].get<bool>());
}

TEST_F(Program, calc_layout_knows_packs_selvedges_triangles_and_matching_pieces) {
  const Json boards = calc(
      "layout",
      R"({"sheets": [{"name": "wool", "width": 1200, "height": 600, "cost": 40, "per_pack": 6}], "parts": [{"name": "trap", "width": 400, "height": 400, "count": 7, "triangle": true}]})");
  EXPECT_EQ(boards["used"].get<double>(), 40.0);
  EXPECT_EQ(boards["placed"].size(), 4u);
  EXPECT_EQ(boards["packs"][0]["left_over"].get<int>(), 4);
  EXPECT_TRUE(boards["proven"].get<bool>());
  const Json cloth = calc(
      "layout",
      R"({"roll": {"width": 150, "selvedge": 2.5}, "repeat": 64, "parts": [{"name": "a", "width": 90, "height": 70, "match": false}, {"name": "b", "width": 90, "height": 50, "count": 2, "match": "pair"}]})");
  EXPECT_EQ(cloth["used"].get<double>(), 184.0);
  EXPECT_EQ(cloth["placed"][0]["x"].get<double>(), 2.5);
}

TEST_F(Program, calc_refuses_in_the_interfaces_form) {
  const Ran ran = run(
      "calc absorber",
      R"({"layers": [{"kind": "porous", "thickness_m": -0.05, "flow_resistivity_pa_s_m2": 10000, "oops": 1}], "incidence": "normal", "bands": "octave"})");
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(ran.out.empty());
  const Json errors = Json::parse(ran.err)["errors"];
  ASSERT_EQ(errors.size(), 2u);
  EXPECT_EQ(errors[0]["where"], "layers[0].thickness_m");
  EXPECT_EQ(errors[0]["got"], -0.05);
  EXPECT_EQ(errors[1]["where"], "layers[0].oops");
  for (const char* text : {"", "[]", "{", "{\"a\": 1e999}", "nonsense"})
    for (const char* kind : {"absorber", "rating", "modes", "decay", "reflections", "cutting",
                             "layout", "diffuser", "fixing", "response", "impulse"}) {
      const Ran bad = run(std::string("calc ") + kind, text);
      EXPECT_EQ(bad.code, 2) << kind << " " << text;
      EXPECT_TRUE(Json::parse(bad.err).contains("errors"));
    }
}

TEST_F(Program, calc_diffuser_meets_a_tabulated_row_and_scatters) {
  // Source: Schroeder's sequences, d = s λ/2N at c = 343.2 m/s (tests/figures/diffusers.csv, row 1)
  const Json got = calc("diffuser", R"({"kind": "quadratic-residue", "prime": 7, "design_hz": 500,
    "well_width_m": 0.06, "air": {"sound_speed_m_s": 343.2}, "bands": "third",
    "polar": {"hz": [500, 1000], "periods": 2, "step_deg": 5}})");
  const double wanted_mm[] = {0, 49.029, 196.114, 98.057, 98.057, 196.114, 49.029};
  for (int i = 0; i < 7; ++i) EXPECT_NEAR(got["depths_m"][i], wanted_mm[i] / 1000, 1e-6);
  EXPECT_NEAR(got["low_hz"], 817.14, 0.01);
  EXPECT_NEAR(got["high_hz"], 2860, 0.01);
  EXPECT_EQ(got["polar"]["levels_db"].size(), 2u);
  EXPECT_EQ(got["polar"]["levels_db"][0].size(), 37u);
  EXPECT_EQ(got["absorption"].size(), 24u);
  EXPECT_EQ(run("calc diffuser", R"({"kind": "quadratic-residue", "prime": 9, "design_hz": 500,
    "well_width_m": 0.06})")
                .code,
            2);
}

TEST_F(Program, calc_absorber_gives_a_corridor_where_the_wool_is_estimated) {
  const Json got = calc("absorber", R"({"layers": [{"kind": "porous", "thickness_m": 0.05,
    "fibre": "glass_wool", "density_kg_m3": 48}], "incidence": {"diffuse_to_deg": 78},
    "bands": "octave"})");
  for (std::size_t i = 0; i < 8; ++i) {
    EXPECT_LE(got["corridor"]["low"][i], got["corridor"]["high"][i]);
    EXPECT_NEAR(got["corridor"]["middle"][i], got["absorption"][i].get<double>(), 0.05);
  }
  const Ran bad = run("calc absorber", R"({"layers": [{"kind": "porous", "thickness_m": 0.05,
    "fibre": "straw", "density_kg_m3": 48}], "incidence": "normal", "bands": "octave"})");
  EXPECT_EQ(bad.code, 2);
  EXPECT_EQ(Json::parse(bad.err)["errors"][0]["where"], "layers[0].fibre");
}

TEST_F(Program, calc_fixing_meets_the_worked_withdrawal) {
  // Source: Wood Handbook, FPL-GTR-190, ch. 8: 108.25 G² D L (N, mm), worked: 2386.53 N
  const Json got =
      calc("fixing", R"({"weight_kg": 12, "points": 4, "overhead": true, "pull": "along",
    "into": {"kind": "wood", "specific_gravity": 0.42},
    "screw": {"diameter_m": 0.004166, "penetration_m": 0.03}})");
  EXPECT_NEAR(got["ultimate_n"], 2386.53, 0.01);
  EXPECT_NEAR(got["allowable_n"], 2386.53 / 5, 0.01);
  EXPECT_NEAR(got["safety_factor"], 2386.53 / got["load_n"].get<double>(), 0.01);
  EXPECT_TRUE(got["ok"]);
  EXPECT_FALSE(got["cautions"].empty());
  const Json unknown = calc(
      "fixing", R"({"weight_kg": 12, "points": 2, "pull": "across", "into": {"kind": "unknown"}})");
  EXPECT_TRUE(unknown["allowable_n"].is_null());
  EXPECT_FALSE(unknown["ok"]);
}

TEST_F(Program, places_answers_in_text_and_json) {
  const std::string job = root + "/examples/tracking_room.toml";
  const Ran text = run("places " + job);
  EXPECT_EQ(text.code, 0) << text.err;
  EXPECT_NE(text.out.find("The evenest of"), std::string::npos);
  const Json report =
      Json::parse(run("places --json --treated " + root + "/examples/drum_room.toml").out);
  EXPECT_GT(report["tried"], 5000);
  EXPECT_LE(report["best"][0]["unevenness_db"], report["today"]["unevenness_db"]);
}

TEST_F(Program, pressure_ranks_the_surfaces_and_draws_them) {
  const std::string job = root + "/examples/drum_room.toml", out = (folder_ / "maps").string();
  const Ran text = run("pressure " + job + " --hz 42 --treated --out " + out);
  EXPECT_EQ(text.code, 0) << text.err;
  EXPECT_NE(text.out.find("At 42 Hz sound presses most on"), std::string::npos) << text.out;
  for (const char* name : {"pressure.pdf", "pressure-42Hz.svg", "pressure.csv"})
    EXPECT_TRUE(fs::exists(fs::path(out) / name)) << name;
  const Json report = Json::parse(run("pressure --json --hz 42,60 --plane 1.5m " + job).out);
  EXPECT_EQ(report["plane_m"], 1.5);
  EXPECT_EQ(report["at"].size(), 2u);
  const Json& plane = report["at"][1]["rooms"][0]["maps"].back();
  EXPECT_EQ(plane["level_db"].size(),
            plane["across"].get<std::size_t>() * plane["up"].get<std::size_t>());
  const Ran wrong = run("pressure " + job + " --hz 42,9 --plane 9m --loudspeaker nobody");
  EXPECT_EQ(wrong.code, 2);
  for (const char* part : {"--hz: must be from 20 to 300, got 9", "--plane: must lie between",
                           "--loudspeaker: is not in this job", "3 mistakes."})
    EXPECT_NE(wrong.err.find(part), std::string::npos) << wrong.err;
}

TEST_F(Program, calc_response_gives_maps_that_meet_its_receivers) {
  const Json got = calc("response", R"({"room": {"size_m": [4, 3, 2.4]},
    "surfaces": {"default": {"admittance": 0.02}}, "sources": [{"at_m": [1, 1, 1]}],
    "receivers_m": [[4, 1.2, 1.2], [2, 1.5, 0.8]], "frequencies_hz": [43, 61],
    "maps": [{"surface": "wall1", "step_m": 0.6}, {"plane_z_m": 0.8, "step_m": 0.5}]})");
  ASSERT_EQ(got["maps"].size(), 2u);
  EXPECT_EQ(got["maps"][0]["points_m"].size(), 6u * 5);
  int met = 0;
  for (std::size_t m = 0; m < 2; ++m)
    for (std::size_t p = 0; p < got["maps"][m]["points_m"].size(); ++p) {
      const Json& at = got["maps"][m]["points_m"][p];
      const Json wanted = m == 0 ? Json{4, 1.2, 1.2} : Json{2, 1.5, 0.8};
      bool here = true;
      for (std::size_t d = 0; d < 3; ++d)
        here = here && std::abs(at[d].get<double>() - wanted[d].get<double>()) < 1e-9;
      if (!here) continue;
      ++met;
      for (std::size_t f = 0; f < 2; ++f)
        for (std::size_t part = 0; part < 2; ++part) {
          const double value = got["pressure"][m][f][part].get<double>();
          EXPECT_NEAR(got["maps"][m]["pressure"][p][f][part].get<double>(), value,
                      1e-9 * std::abs(value));
        }
    }
  EXPECT_EQ(met, 2);
  const Ran wrong = run("calc response", R"({"room": {"size_m": [4, 3, 2.4]},
    "sources": [{"at_m": [1, 1, 1]}], "frequencies_hz": [43],
    "maps": [{"surface": "wall1", "plane_z_m": 1, "step_m": 0.6}, {"plane_z_m": 1, "step_m": 0.01}]})");
  EXPECT_EQ(wrong.code, 2);
  EXPECT_NE(wrong.err.find("and only one of them"), std::string::npos) << wrong.err;
  EXPECT_NE(wrong.err.find("more than 20000 points"), std::string::npos) << wrong.err;
}

TEST_F(Program, together_says_who_pays_what_and_writes_its_papers) {
  const std::string first = root + "/examples/control_room.toml",
                    second = root + "/examples/drum_room.toml";
  const std::string out = (folder_ / "together").string();
  const Ran text = run("together " + first + " " + second + " --out " + out);
  EXPECT_EQ(text.code, 0) << text.err;
  EXPECT_NE(text.out.find("Who pays what"), std::string::npos);
  for (const char* name : {"01-shares.pdf", "02-cut-sheet.pdf", "03-cloth-and-boards.pdf",
                           "04-stations.pdf", "05-run.pdf", "together.json"})
    EXPECT_TRUE(fs::exists(fs::path(out) / name)) << name;
  const Json sheet = Json::parse(run("together --json " + first + " " + second).out);
  EXPECT_EQ(sheet["jobs"].size(), 2u);
  EXPECT_TRUE(sheet["exact"]);
  const auto cents = [](const Json& money) {
    return std::llround(std::stod(money.get<std::string>()) * 100);
  };
  EXPECT_EQ(cents(sheet["jobs"][0]["share"]) + cents(sheet["jobs"][1]["share"]),
            cents(sheet["together"]));
  EXPECT_LT(cents(sheet["together"]), cents(sheet["apart"]));
  EXPECT_EQ(run("together " + first).code, 2) << "one job is no run of several";
  const Ran other = run("together " + first + " " + root + "/examples/tracking_room.toml");
  EXPECT_EQ(other.code, 2);
  EXPECT_NE(other.err.find("names another shop file"), std::string::npos) << other.err;
}

TEST_F(Program, a_set_up_is_noted_on_its_own_and_a_wrong_note_changes_nothing) {
  const fs::path shop = folder_ / "noted.toml", log = folder_ / "noted.times.csv";
  fs::copy_file(root + "/examples/shop_metric.toml", shop, fs::copy_options::overwrite_existing);
  fs::remove(log);
  const std::string note = "times " + shop.string() + " --json --note ";
  const Ran first = run(note + "'2026-11-20,a,saw,set_up 1,14'");
  ASSERT_EQ(first.code, 0) << first.err;
  EXPECT_EQ(run(note + "'2026-11-20,a,saw,stop_setting 6,9'").code, 0);
  const std::string kept = slurp(log);
  EXPECT_EQ(kept,
            "date,person,station,work,minutes\n2026-11-20,a,saw,set_up 1,14\n"
            "2026-11-20,a,saw,stop_setting 6,9\n");
  EXPECT_EQ(run(note + "'2026-11-31,a,saw,set_up 1,14'").code, 2);
  EXPECT_EQ(run(note + "'# nothing'").code, 2);
  EXPECT_EQ(slurp(log), kept);
}

TEST_F(Program, times_learn_from_the_log_and_write_only_when_asked) {
  const fs::path shop = folder_ / "shop.toml", log = folder_ / "shop.times.csv";
  fs::copy_file(root + "/examples/shop_metric.toml", shop, fs::copy_options::overwrite_existing);
  std::ofstream(log) << "date,person,station,work,minutes\n"
                        "2026-11-16,a,saw,cut 50,44\n2026-11-17,a,saw,cut 40,34\n"
                        "2026-11-18,b,saw,cut 64,56\n2026-11-19,a,saw,cut 30,26.5\n"
                        "2026-11-19,a,face_cloth,face_staple_metre 10,90\n";
  const std::string before = slurp(shop);
  const Ran told = run("times " + shop.string());
  EXPECT_EQ(told.code, 0) << told.err;
  EXPECT_NE(told.out.find("each.cut"), std::string::npos) << told.out;
  EXPECT_EQ(slurp(shop), before) << "nothing is written without --write";
  const Json report = Json::parse(run("times --json " + shop.string()).out);
  ASSERT_EQ(report["estimates"].size(), 2u);
  EXPECT_TRUE(report["estimates"][0]["moves"]);
  EXPECT_FALSE(report["estimates"][1]["moves"]) << "one day alone";
  EXPECT_EQ(run("times --write " + shop.string()).code, 0);
  const std::string after = slurp(shop);
  EXPECT_NE(after.find("\ncut = 0.8"), std::string::npos) << after;
  // Every line that was there is there still.
  std::istringstream old(before);
  for (std::string line; std::getline(old, line);)
    EXPECT_NE(after.find(line), std::string::npos) << line;
  std::ofstream(log) << "date,person,station,work,minutes\n2026-11-31,a,saw,cut 5,3\n"
                        "2026-11-30,a,lathe,cut 5,3\n";
  const Ran wrong = run("times " + shop.string());
  EXPECT_EQ(wrong.code, 2);
  EXPECT_NE(wrong.err.find("line 2: date"), std::string::npos) << wrong.err;
  EXPECT_NE(wrong.err.find("line 3: station"), std::string::npos) << wrong.err;
  EXPECT_EQ(run("times " + shop.string() + " --log /nowhere/log.csv").code, 2);
}

TEST_F(Program, kept_solutions_change_no_byte_and_broken_ones_are_solved_again) {
  const std::string job = root + "/examples/drum_room.toml", kept = (folder_ / "kept").string();
  setenv("ROOMWRIGHT_KEPT", "", 1);
  const Ran without = run("findings --json " + job);
  setenv("ROOMWRIGHT_KEPT", kept.c_str(), 1);
  EXPECT_EQ(run("findings --json " + job).out, without.out);
  ASSERT_FALSE(fs::is_empty(kept));
  EXPECT_EQ(run("findings --json " + job).out, without.out) << "from what was kept";
  int turn = 0;
  for (const auto& entry : fs::directory_iterator(kept)) {
    std::string bytes = slurp(entry.path());
    if (turn++ % 2 == 0)
      bytes.resize(bytes.size() / 2);  // half written
    else
      bytes[bytes.size() / 2] ^= 1;  // one bit turned
    std::ofstream(entry.path(), std::ios::binary) << bytes;
  }
  EXPECT_EQ(run("findings --json " + job).out, without.out);
  // A folder that cannot be made keeps nothing and stops nothing.
  setenv("ROOMWRIGHT_KEPT", "/proc/no/such/folder", 1);
  EXPECT_EQ(run("findings --json " + job).out, without.out);
}

TEST_F(Program, fill_and_tune_answer_in_text_and_json) {
  EXPECT_NE(run("fill " + demo).out.find("cheapest with"), std::string::npos);
  const Json fill = Json::parse(run("fill --json --instead-of stone_wool_80:50mm " + demo).out);
  EXPECT_TRUE(fill["choices"][0]["best"]);
  EXPECT_FALSE(fill["substitutes"].empty());
  EXPECT_EQ(run("fill --deepest 3mm " + demo).code, 2);
  EXPECT_EQ(run("fill --instead-of moon:50mm " + demo).code, 2);
  const std::string drums = root + "/examples/drum_room.toml";
  const Ran text = run("tune --hz 63 --half-width 20 --deepest 180mm " + drums);
  EXPECT_EQ(text.code, 0) << text.err;
  EXPECT_NE(text.out.find("[products.tuned]"), std::string::npos);
  const Json tune = Json::parse(run("tune --json --hz 63 --half-width 20 " + drums).out);
  EXPECT_NEAR(tune["answers"][0]["peak_hz"], 63, 63 * 0.02);
  EXPECT_EQ(run("tune --hz 5 " + drums).code, 2);
  EXPECT_EQ(run("tune " + drums).code, 2) << "--hz is required";
  // The block goes into a job file as it stands.
  std::string job = slurp(drums);
  std::string block = tune["answers"][0]["toml"].get<std::string>();
  job.insert(job.find("[[products]]"), block + "\n");
  std::ofstream(folder_ / "job.toml") << job;
  fs::copy(root + "/examples/shop_metric.toml", folder_ / "shop_metric.toml");
  EXPECT_EQ(run("check " + (folder_ / "job.toml").string()).code, 0);
}

TEST_F(Program, calc_response_is_a_free_field_in_a_hard_room_at_very_low_frequency) {
  // Source: a rigid room well below its first mode is a spring: p = ρ c² / (V ω²) a (closed form)
  const Json got = calc("response", R"({"room": {"size_m": [5.2, 4.1, 2.6]},
    "air": {"density_kg_m3": 1.204, "sound_speed_m_s": 343.2}, "sources": [{"at_m": [1, 1, 1]}],
    "receivers_m": [[4, 3, 1.5]], "frequencies_hz": [5, 41.5]})");
  const double omega = 2 * std::acos(-1.0) * 5, volume = 5.2 * 4.1 * 2.6;
  const double spring = 1.204 * 343.2 * 343.2 / (volume * omega * omega);
  EXPECT_NEAR(std::abs(got["pressure"][0][0][0].get<double>()) / spring, 1, 0.05);
  EXPECT_EQ(got["level_db"][0].size(), 2u);
  // A wall of wool brings the level at a mode down.
  const Json treated = calc("response", R"({"room": {"size_m": [5.2, 4.1, 2.6]},
    "sources": [{"at_m": [1, 1, 1]}], "receivers_m": [[4, 3, 1.5]], "frequencies_hz": [33, 41.5],
    "patches": [{"surface": "wall1", "from_m": [0.5, 0.3], "to_m": [3.5, 2.3], "layers":
      [{"kind": "porous", "thickness_m": 0.2, "flow_resistivity_pa_s_m2": 8000}]}]})");
  EXPECT_GT(treated["solver"]["unknowns"], 0);
  const Ran wrong = run("calc response", R"({"room": {"size_m": [5.2, 4.1, 2.6]},
    "sources": [{"at_m": [9, 1, 1]}], "receivers_m": [[4, 3, 1.5]], "frequencies_hz": [33],
    "surfaces": {"default": {"admittance": [-0.2, 0]}}})");
  EXPECT_EQ(wrong.code, 2);
}

TEST_F(Program, calc_modes_damps_any_room_by_walls_patches_and_bodies) {
  const auto first_decay = [&](const std::string& more, const char* room) {
    const Json got = calc("modes", "{\"room\": " + std::string(room) +
                                       ", \"air\": {\"sound_speed_m_s\": 343.2}, \"max_hz\": 45, "
                                       "\"surfaces\": {\"default\": {\"admittance\": 0.02}" +
                                       more + "}");
    return got["modes"][0]["decay_s"].get<double>();
  };
  const char* box = R"({"size_m": [5, 4, 2.6]})";
  const double bare = first_decay("}", box);
  // A complex wall and a patch go another way than the exact box: the same where they change
  // nothing.
  EXPECT_NEAR(first_decay(R"(, "wall1": {"admittance": [0.02, 1e-9]}})", box) / bare, 1, 1e-3);
  const char* wool = R"("layers": [{"kind": "porous", "thickness_m": 0.2,
    "flow_resistivity_pa_s_m2": 8000}])";
  const std::string patch = R"(}, "patches": [{"surface": "wall1", "from_m": [0.5, 0.3],
    "to_m": [3.5, 2.3], )" + std::string(wool);
  const double flat = first_decay(patch + "}]", box);
  const double volume = first_decay(patch + ", \"volume\": true}]", box);
  EXPECT_LT(flat, 0.97 * bare);
  EXPECT_LT(volume, flat);  // its edges take up sound too
  EXPECT_NEAR(volume / flat, 1, 0.1);
  EXPECT_GT(first_decay("}", R"({"plan_m": [[0, 0], [5, 0], [5, 4], [3, 4.5], [0, 4]],
    "height_m": 2.6})"),
            0.5);
}

TEST_F(Program, calc_decay_by_rays_agrees_with_eyring_in_a_diffuse_room) {
  const Json got = calc("decay", R"({"room": {"size_m": [5.2, 4.1, 2.6]}, "method": "rays",
    "air": {"attenuation": false}, "rays": 20000, "sources": [{"at_m": [1, 1, 1]}],
    "receivers_m": [[4, 3, 1.5]],
    "surfaces": {"default": {"absorption": 0.2, "scattering": 1}}})");
  const Json eyring = calc("decay", R"({"room": {"size_m": [5.2, 4.1, 2.6]}, "method": "eyring",
    "air": {"attenuation": false}, "surfaces": {"default": {"absorption": 0.2}}})");
  for (int band = 0; band < 8; ++band) {
    const double wanted = eyring["bands"][band]["t_s"];
    EXPECT_NEAR(got["bands"][band]["t_s"].get<double>() / wanted, 1, 0.08);
    EXPECT_GT(got["bands"][band]["t20_s"]["standard_error"].get<double>(), 0);
  }
}

TEST_F(Program, order_prices_panels_without_a_room) {
  const std::string order = root + "/examples/panel_order.toml";
  const Ran text = run("order " + order);
  EXPECT_EQ(text.code, 0) << text.err;
  EXPECT_NE(text.out.find("to pay"), std::string::npos) << text.out;
  EXPECT_NE(text.out.find("cartons"), std::string::npos);
  const Json json = Json::parse(run("order --json " + order).out);
  EXPECT_EQ(json["lines"].size(), 4u);
  EXPECT_GT(json["cartons"].size(), 0u);
  EXPECT_EQ(run("check " + order).out, "No mistakes: 15 pieces in Panels for a practice room.\n");
  for (const char* stage : {"build", "price"}) EXPECT_EQ(run(stage + (" " + order)).code, 0);
}

TEST_F(Program, what_needs_a_room_refuses_an_order_and_order_refuses_a_room) {
  const std::string order = root + "/examples/panel_order.toml";
  for (const char* stage :
       {"survey", "findings", "treatment", "hang", "proof", "fill", "places", "pressure"}) {
    const Ran ran = run(stage + (" " + order));
    EXPECT_EQ(ran.code, 2) << stage;
    EXPECT_NE(ran.err.find("needs a room, and this document is an order"), std::string::npos)
        << ran.err;
  }
  EXPECT_EQ(run("order " + demo).code, 2);
}

TEST_F(Program, pack_of_an_order_writes_the_same_bytes_twice) {
  const std::string order = root + "/examples/panel_order.toml";
  for (const char* name : {"one", "two"})
    ASSERT_EQ(run("pack " + order + " --out " + (folder_ / name).string()).code, 0);
  int files = 0;
  for (const auto& entry : fs::recursive_directory_iterator(folder_ / "one")) {
    if (!entry.is_regular_file()) continue;
    ++files;
    const fs::path other = folder_ / "two" / fs::relative(entry.path(), folder_ / "one");
    EXPECT_EQ(slurp(entry.path()), slurp(other)) << other;
  }
  EXPECT_GT(files, 20);
  EXPECT_TRUE(fs::exists(folder_ / "one/16-how-to-hang.pdf"));
  EXPECT_TRUE(fs::exists(folder_ / "one/drawings/11-story-sticks-whole-1.dxf"));
}

/// A 16-bit WAV file of noise that loses 60 dB in t_s, above steady noise 60 dB below its
/// beginning. Source: RIFF/WAVE, from memory.
void write_decay(const fs::path& path, double t_s, unsigned seed) {
  constexpr unsigned rate = 48000, frames = rate * 3 / 2;
  std::mt19937 random(seed);
  std::normal_distribution<double> normal;
  std::ofstream out(path, std::ios::binary);
  const auto number = [&](unsigned value, int bytes) {
    for (int i = 0; i < bytes; ++i) out.put(char((value >> (8 * i)) & 255));
  };
  out << "RIFF";
  number(36 + 2 * frames, 4);
  out << "WAVEfmt ";
  for (const auto& [value, bytes] :
       {std::pair{16u, 4}, {1u, 2}, {1u, 2}, {rate, 4}, {2 * rate, 4}, {2u, 2}, {16u, 2}})
    number(value, bytes);
  out << "data";
  number(2 * frames, 4);
  for (unsigned i = 0; i < frames; ++i) {
    const double t = double(i) / rate - 0.1;
    const double one = 7000 * normal(random) * (1e-3 + (t >= 0 ? std::pow(10, -3 * t / t_s) : 0));
    number(unsigned(std::lround(std::clamp(one, -32000.0, 32000.0))) & 0xffff, 2);
  }
}

TEST_F(Program, proof_holds_recordings_of_before_and_after_against_what_was_promised) {
  const std::string in = folder_.string() + "/", job = in + "job.toml";
  fs::copy(root + "/examples/shop_metric.toml", folder_);
  std::ofstream(job) << R"(schema = 1
title = "Small room"
date = "2026-11-20"
use = "mixing"
shop = "shop_metric.toml"
region = { units = "mm" }
room = { size = [4000, 3000, 2400] }
surfaces = { default = "plasterboard_two_layers" }
loudspeakers = [{ label = "left", at = [600, 1000, 1200] }]
seats = [{ label = "seat", at = [2000, 1500, 1200] }]
)";
  write_decay(folder_ / "seat_before.wav", 0.8, 1);
  write_decay(folder_ / "seat_left.wav", 0.27, 2);
  write_decay(folder_ / "seat_right.wav", 0.29, 3);
  const std::string sides = " --before " + in + "seat_before.wav --after " + in + "seat_left.wav," +
                            in + "seat_right.wav";
  const Ran ran = run("proof " + job + " --json" + sides + " --out " + in + "papers");
  ASSERT_EQ(ran.code, 0) << ran.err;
  const Json proof = Json::parse(ran.out), measured = proof["measured"];
  EXPECT_EQ(measured["after"]["positions"], Json({"seat left", "seat right"}));
  // Noise of an octave at 1 kHz tells a decay within 3 · 0.9/√(B T); of two positions, less.
  const double after = measured["after"]["bands"][4]["t20_s"]["value"];
  EXPECT_NEAR(after, 0.28, 0.04);
  EXPECT_NEAR(measured["before"]["bands"][4]["t20_s"]["value"], 0.8, 0.1);
  EXPECT_EQ(measured["after"]["levels"].size(), 24u);
  ASSERT_EQ(measured["verdicts"].size(), 12u);
  const Json& promised = proof["predicted"][4];
  ASSERT_GT(promised["low_s"].get<double>(), 0.4) << "the room is bare";
  EXPECT_EQ(measured["verdicts"][4]["verdict"], "not met") << measured["verdicts"][4];
  EXPECT_NE(measured["verdicts"][4]["sentence"].get<std::string>().find("shorter than"),
            std::string::npos);
  EXPECT_EQ(slurp(folder_ / "papers/10-proof.pdf").substr(0, 4), "%PDF");
  const Ran told = run("proof " + job + sides);
  EXPECT_NE(told.out.find("1 kHz is not met: it rings for 0.2"), std::string::npos) << told.out;
  EXPECT_NE(told.out.find("before hanging"), std::string::npos);
  const Ran wrong = run("proof " + job + " --before " + in + "none.wav --after " + job);
  EXPECT_EQ(wrong.code, 2);
  EXPECT_NE(wrong.err.find("--before: “" + in + "none.wav” "), std::string::npos) << wrong.err;
  EXPECT_NE(wrong.err.find("--after: “" + job + "” is no WAV or FLAC file"), std::string::npos)
      << wrong.err;
  EXPECT_EQ(run("proof " + job + " --sweep " + in + "seat_left.wav").code, 2);
}

TEST_F(Program, calc_impulse_asks_for_a_file_and_calc_response_for_an_axis_it_can_stack_along) {
  EXPECT_EQ(run("calc impulse", R"({"file": "/nowhere/ir.wav"})").code, 2);
  const std::string object = R"({"room": {"size_m": [5, 4, 2.5]}, "sources": [{"at_m": [1, 1, 1]}],
    "receivers_m": [[3, 2, 1]], "frequencies_hz": [50], "objects": [{"plan_m": [[0, 0], [0.5, 0],
    [0.5, 0.5], [0, 0.5]], "z_m": [0.2, 1.4], "axis": AXIS, "layers": [{"kind": "porous",
    "thickness_m": 0.5, "flow_resistivity_pa_s_m2": 8000, "model": "miki"}]}]})";
  const auto along = [&](const std::string& axis) {
    std::string request = object;
    return run("calc response", request.replace(request.find("AXIS"), 4, axis));
  };
  EXPECT_EQ(along("[1, 0, 1]").code, 2) << "an oblique axis";
  const Ran upright = along("[1, 0, 0]");
  EXPECT_EQ(upright.code, 0) << upright.err;
  EXPECT_EQ(Json::parse(upright.out)["pressure"].size(), 1u);
  EXPECT_EQ(run("calc weather", "{}").code, 2);
}

TEST_F(Program, calc_response_hangs_bodies_below_a_sloped_ceiling) {
  const auto with = [&](const std::string& bodies) {
    return run("calc response",
               R"({"room": {"plan_m": [[0, 0], [3, 0], [3, 2.5], [0, 2.5]], "ceiling": [[0, 0, 2.2],
    [3, 0, 2.8], [0, 2.5, 2.2]]}, "sources": [{"at_m": [0.5, 0.5, 1]}], "receivers_m": [[2, 2, 1]],
    "surfaces": {"default": {"admittance": 0.02}}, "frequencies_hz": [50, 90], )" +
                   bodies + "}");
  };
  const std::string layers =
      R"("layers": [{"kind": "porous", "thickness_m": 0.1, "flow_resistivity_pa_s_m2": 8000,
      "model": "miki"}, {"kind": "air", "thickness_m": 0.05}])";
  const std::string plan = R"("plan_m": [[1, 0.5], [2, 0.5], [2, 1.5], [1, 1.5]], )";
  const Ran patch = with(R"("patches": [{"surface": "ceiling", "from_m": [1, 0.5],
    "to_m": [2, 1.5], "volume": true, )" +
                         layers + "}]");
  ASSERT_EQ(patch.code, 0) << patch.err;
  const Ran object =
      with("\"objects\": [{" + plan + "\"below_ceiling_m\": [0, 0.15], " + layers + "}]");
  ASSERT_EQ(object.code, 0) << object.err;
  const Json of_patch = Json::parse(patch.out)["level_db"][0];
  const Json of_object = Json::parse(object.out)["level_db"][0];
  for (std::size_t i = 0; i < 2; ++i)
    EXPECT_NEAR(of_patch[i].get<double>(), of_object[i].get<double>(), 1e-9)
        << "the last layer lies against the ceiling";
  for (const auto& [ends, place] : std::vector<std::pair<std::string, std::string>>{
           {"\"below_ceiling_m\": [0, 0.15], \"z_m\": [1, 1.15], ", "objects[0].below_ceiling_m"},
           {"\"below_ceiling_m\": [0.1], ", "objects[0].below_ceiling_m"},
           {"\"below_ceiling_m\": [2.3, 2.45], ", "objects[0].below_ceiling_m"},
           {"\"below_ceiling\": [0, 0.15], \"z_m\": [1, 1.15], ", "objects[0].below_ceiling"},
           {"", "objects[0].z_m"}}) {
    const Ran ran = with("\"objects\": [{" + plan + ends + layers + "}]");
    EXPECT_EQ(ran.code, 2) << ends;
    EXPECT_NE(ran.err.find("\"" + place + "\""), std::string::npos) << ran.err;
  }
}

}  // namespace
