// A design in plain words: what it is, what it will do, where the models are weak; and the block
// that a job file takes.
#include <algorithm>

#include "design/tuned/search.h"

namespace roomwright::design {

namespace tuned {

namespace {

constexpr double friction_width = 0.10;       // told from this share of the half width,
constexpr double friction_absorption = 0.05;  // or this much of the absorption
constexpr double wide_drift = 0.08;           // of the frequency
constexpr double wide_doubt = 0.25;           // of the half width
constexpr double squeeze_told = 0.05;         // over ρc
constexpr double waves_across = 8;            // openings closer than a wavelength over this

std::string hz_text(double hz) {
  return fixed(hz, hz < 100 && std::abs(hz - std::round(hz)) >= 0.05 ? 1 : 0) + " Hz";
}

std::string percent(double share) {
  return fixed(100 * share, share < 0.02 ? 2 : share < 0.1 ? 1 : 0) + " %";
}

const std::string& sheet_name(const Named<shop::Sheet>& sheet) {
  return sheet.item->name.empty() ? sheet.key : sheet.item->name;
}

std::string opening_words(const Workshop& with, const Design& design) {
  const Units& units = with.shop->units;
  const std::string sheet = sheet_name(with.sheets[std::size_t(design.sheet)]);
  const std::string opening = size_text(design.opening, units);
  const std::string step = size_text(design.step, units);
  const std::string count = std::to_string(design.openings);
  if (design.front == Front::perforated)
    return count + " holes of " + opening + " at " + step + " each way in " + sheet;
  if (design.front == Front::slotted)
    return count + " slots of " + opening + " between slats of " + step + " of " + sheet;
  return "a plain front of " + sheet + " that moves as a whole";
}

std::string fill_words(const Workshop& with, const Design& design) {
  static const char* const places[] = {" right behind the front", " in the middle of it",
                                       " against the back"};
  const Fill& board = with.boards[std::size_t(design.board)];
  if (!board.item) return " without board";
  const std::string name = board.item->name.empty() ? board.key : board.item->name;
  const std::string layers =
      design.layers == 1 ? "one layer of " : std::to_string(design.layers) + " layers of ";
  const bool full = board.item->thickness * design.layers == design.cavity;
  return full ? " full of " + layers + name
              : " with " + layers + name + places[std::size_t(design.place)];
}

void warn_of_bending(const Workshop& with, const Design& design, std::vector<std::string>& out) {
  if (design.front != Front::membrane) return;
  const double own_hz = own_bending_hz(with, design);
  const double raised = std::sqrt(1 + std::pow(own_hz / with.target.hz, 2)) - 1;
  out.push_back(
      "The front counts as a limp mass; its stiffness is not counted, so the doubt is "
      "larger. With a modulus of " +
      fixed(assumed_modulus_pa / 1e9, 0) + " GPa (from memory) the sheet alone would ring near " +
      hz_text(own_hz) + " and lift the peak by about " + percent(raised) +
      ": build one and measure it before you build more.");
}

void warn_of_posts(const Workshop& with, const Design& design, std::vector<std::string>& out) {
  if (!needs_posts(with, design)) return;
  const Length spacing =
      Length::from_m(post_spacing_m(with, design)).round_down_to(Length::from_mm(10));
  out.push_back("The front counts as rigid, but alone it would bend near " +
                hz_text(own_bending_hz(with, design)) + " (modulus " +
                fixed(assumed_modulus_pa / 1e9, 0) +
                " GPa, from memory): glue posts between it and the back, at most " +
                size_text(spacing, with.shop->units) + " apart.");
}

/// Contact squeezes the flow into the openings' own area.
void warn_of_contact(const Workshop& with, const Design& design, const TrapAnswer& answer,
                     std::vector<std::string>& out) {
  const std::string clear = size_text(design.opening, with.shop->units);
  if (answer.squeeze > squeeze_told)
    out.push_back(
        "The board lies so close behind the openings that the air is squeezed through it "
        "there: that adds about " +
        fixed(answer.squeeze, 1) +
        " ρc, which the layers do not count, so the peak comes out wider and lower. Keep "
        "the board at least " +
        clear + " clear of the front.");
  if (with.cloth && design.front != Front::membrane)
    out.push_back(
        "The cloth counts as if air met it all over; on the front it would brake only at "
        "the openings, " +
        fixed(1 / answer.open_area, 0) + " times as much: hold it at least " + clear +
        " off the front with strips.");
}

void warn_of_friction(const Workshop& with, const Design& design, const TrapPeak& peak,
                      std::vector<std::string>& out) {
  if (design.front == Front::membrane) return;
  Build build;
  build.friction = true;
  const auto got = trap_peak(stack_of(with, design, build), with.air, peak.hz);
  if (!got) return;
  const double wider = got->half_width_hz / peak.half_width_hz - 1;
  if (std::abs(wider) < friction_width &&
      std::abs(got->absorption - peak.absorption) < friction_absorption)
    return;
  out.push_back("The friction of the air in the openings is not counted; by the model for fine " +
                std::string(design.front == Front::slotted ? "slots" : "holes") +
                " the peak would absorb " + percent(got->absorption) + " with a half width of " +
                hz_text(got->half_width_hz) + ".");
}

void warn_of_sizes(const Workshop& with, const Design& design, std::vector<std::string>& out) {
  const Inside inside = inside_of(with, design.box);
  const double c = with.air.sound_speed_m_s;
  const double longest_m = std::max(inside.width, inside.height).metres();
  if (with.target.hz > c / (2 * longest_m))
    out.push_back(
        "Above " + hz_text(c / (2 * longest_m)) +
        " sound can run along the cavity: part it with battens across so that each part "
        "is shorter than " +
        size_text(Length::from_m(c / (2 * with.target.hz)).round_down_to(Length::from_mm(10)),
                  with.shop->units) +
        " (half a wavelength).");
  if (design.step.metres() > c / with.target.hz / waves_across)
    out.push_back(
        "The openings lie further apart than an eighth of a wavelength: the front is no "
        "longer even to the sound (common practice, no source).");
}

void warn_of_ranges(const Workshop& with, const TrapAnswer& answer, std::vector<std::string>& out) {
  const TrapRange& width = answer.half_width_hz;
  const TrapRange& drift = answer.drift_hz;
  if (width.high - width.low > wide_doubt * answer.peak.half_width_hz)
    out.push_back(
        "The board's flow resistivity is known only roughly: the half width may come out "
        "from " +
        hz_text(width.low) + " to " + hz_text(width.high) + ", the peak's absorption from " +
        percent(answer.peak_absorption.low) + " to " + percent(answer.peak_absorption.high) + ".");
  if (drift.high - drift.low > wide_drift * with.target.hz)
    out.push_back("Small errors move it far: the peak may lie from " + hz_text(drift.low) + " to " +
                  hz_text(drift.high) + ". Build one, measure it, then drill the rest.");
}

void warn_by_layers(const Workshop& with, const Design& design, std::vector<std::string>& out) {
  const auto report =
      acoustics::absorption(stack_of(with, design, {}), with.air,
                            {with.target.hz / 2, with.target.hz, with.target.hz * 2}, {});
  if (!report) return;
  for (const Complaint& warning : report->warnings)
    out.push_back("The layers' model: " + warning.what + "; " + warning.remedy + ".");
}

}  // namespace

std::string size_text(Length length, const Units& units) {
  constexpr std::int64_t sixty_fourth = 396'875;
  if (units.metric || length.nanometres() % sixty_fourth != 0)
    return shortest(length.millimetres()) + " mm";
  std::string text = print_inches(length, 64);
  text.pop_back();
  return text + " in";
}

std::string trap_name(const Workshop& with, const Design& design) {
  const Units& units = with.shop->units;
  const shop::Sheet& sheet = *with.sheets[std::size_t(design.sheet)].item;
  const std::string start = "trap " + hz_text(with.target.hz) + ", ";
  if (design.front == Front::membrane) return start + size_text(sheet.thickness, units) + " plate";
  return start + size_text(design.opening, units) +
         (design.front == Front::slotted ? " slots" : " holes");
}

std::string front_text(const Workshop& with, const Design& design) {
  const std::string& key = with.sheets[std::size_t(design.sheet)].key;
  const std::string opening = size_text(design.opening, with.shop->units);
  if (design.front == Front::perforated)
    return "a perforated front of " + key + " with holes of " + opening;
  if (design.front == Front::slotted)
    return "a slotted front of " + key + " with slots of " + opening;
  return "a plain front of " + key;
}

namespace {

/// To the shop's own grid: a sum of sheets need not lie on it.
std::string rounded_text(Length length, const Units& units) {
  return size_text(length.round_to(units.metric ? Length::from_mm(1) : sixteenth_inch), units);
}

}  // namespace

std::string sentence_of(const Workshop& with, const Design& design, const TrapAnswer& answer) {
  const Units& units = with.shop->units;
  return "A box " + size_text(with.target.width, units) + " wide, " +
         size_text(with.target.height, units) + " high and " +
         rounded_text(outside_depth(with, design), units) +
         " deep: " + opening_words(with, design) + ", before a cavity of " +
         size_text(design.cavity, units) + fill_words(with, design) +
         ". Of sound that meets it straight on it takes " + percent(answer.peak.absorption) +
         " at " + hz_text(answer.peak.hz) + ", half as much " + hz_text(answer.peak.half_width_hz) +
         " away (mean of both sides); built to usual tolerances its peak lies between " +
         hz_text(answer.drift_hz.low) + " and " + hz_text(answer.drift_hz.high) + ".";
}

std::vector<std::string> warnings_of(const Workshop& with, const Design& design,
                                     const TrapAnswer& answer, const Product& product) {
  std::vector<std::string> out;
  warn_of_bending(with, design, out);
  warn_of_posts(with, design, out);
  warn_of_contact(with, design, answer, out);
  warn_of_friction(with, design, answer.peak, out);
  warn_of_sizes(with, design, out);
  warn_of_ranges(with, answer, out);
  warn_by_layers(with, design, out);
  for (const BenchCheck& check : product.checks)
    if (!check.ok) out.push_back(check.sentence);
  return out;
}

namespace {

/// Basic strings as TOML has them.
std::string quoted(const std::string& text) {
  static const char* const digits = "0123456789ABCDEF";
  std::string out = "\"";
  for (const char letter : text) {
    const auto code = static_cast<unsigned char>(letter);
    if (letter == '"' || letter == '\\')
      out += std::string("\\") + letter;
    else if (code < 0x20 || code == 0x7F)
      out += std::string("\\u00") + digits[code / 16] + digits[code % 16];
    else
      out += letter;
  }
  return out + "\"";
}

/// `key = value` a line.
struct Block {
  const Units& units;
  std::string text;
  void add(const char* key, const std::string& value) {
    text += std::string(key) + " = " + value + "\n";
  }
  void named(const char* key, const std::string& value) {
    if (!value.empty()) add(key, quoted(value));
  }
  void length(const char* key, Length value) { add(key, quoted(size_text(value, units))); }
  void size(const char* key, Length value) {
    if (value != Length()) length(key, value);
  }
};

void add_tuned(Block& block, const TunedFront& tuned) {
  static const char* const fronts[] = {"perforated", "slotted", "membrane"};
  static const char* const places[] = {"behind_front", "middle", "at_back"};
  block.text += "[products.tuned]\n";
  block.named("front", fronts[std::size_t(tuned.front)]);
  block.named("sheet", tuned.sheet);
  block.size("hole", tuned.hole);
  block.size("pitch", tuned.pitch);
  block.size("slot", tuned.slot);
  block.size("slat", tuned.slat);
  block.length("cavity", tuned.cavity);
  block.named("fill_at", places[std::size_t(tuned.fill)]);
}

}  // namespace

}  // namespace tuned

std::string product_toml(const ProductSpec& spec, const Units& units) {
  static const char* const kinds[] = {"wall_panel",    "straddling_trap", "solid_trap",
                                      "ceiling_cloud", "tuned_trap",      "diffuser"};
  RW_ASSERT(!spec.wells);
  tuned::Block block{units, "[[products]]\n"};
  block.named("key", spec.key);
  block.named("name", spec.name);
  block.named("kind", kinds[std::size_t(spec.kind)]);
  block.named("timber", spec.timber);
  block.named("sheet", spec.sheet);
  block.named("board", spec.board);
  if (spec.board_layers != 1) block.add("board_layers", std::to_string(spec.board_layers));
  block.named("cloth", spec.cloth);
  block.named("back_cloth", spec.back_cloth);
  if (spec.width) block.length("width", *spec.width);
  if (spec.height) block.length("height", *spec.height);
  block.size("chamfer", spec.chamfer);
  block.size("gap", spec.gap);
  if (spec.tuned) tuned::add_tuned(block, *spec.tuned);
  return block.text;
}

}  // namespace roomwright::design
