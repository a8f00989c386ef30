// Story sticks and set-ups. A member is marked where another touches its side: both edges, and the
// axis of the screws that go through it into the other's end.
#include <algorithm>
#include <set>

#include "design/making/parts.h"

namespace roomwright::design {

std::vector<Length> staples_along(Length side, Length pitch, Length clear) {
  std::vector<Length> out;
  const Length middle = Length::from_nm(side.nanometres() / 2);
  for (int k = 0; middle - pitch * k >= clear; ++k) {
    out.push_back(middle - pitch * k);
    if (k > 0) out.push_back(middle + pitch * k);
  }
  std::sort(out.begin(), out.end());
  return out;
}

namespace {

/// A member seen along its grain: from lo to hi, its side faces at near and far.
struct Run {
  bool upright = false;
  Length lo, hi, near, far;
};
Run run_of(const Member& member) {
  if (member.height > member.width)
    return {true, member.y, member.y + member.height, member.x, member.x + member.width};
  return {false, member.x, member.x + member.width, member.y, member.y + member.height};
}

void add_mark(StoryStick& stick, Length at, MarkKind kind, const std::string& what) {
  for (const StoryMark& one : stick.marks)
    if (one.at == at && one.kind == kind) return;
  stick.marks.push_back({at, kind, what});
}

/// Whether the other crosses this one, or stands with an end against its side.
bool stands_against(const Run& run, const Run& other) {
  if (run.upright == other.upright) return false;
  return other.lo <= run.far && other.hi >= run.near && other.near < run.hi && other.far > run.lo;
}
bool side_by_side(const Member& a, const Member& b) {
  return a.z <= b.z + b.depth && b.z <= a.z + a.depth;
}

void mark_joints(const Product& product, const Member& marked, StoryStick& stick) {
  const Run run = run_of(marked);
  for (const Member& member : product.members) {
    const Run other = run_of(member);
    if (!stands_against(run, other) || !side_by_side(marked, member)) continue;
    add_mark(stick, other.near - run.lo, MarkKind::edge, member.name);
    add_mark(stick, other.far - run.lo, MarkKind::edge, member.name);
    const Length axis = Length::from_nm((other.near + other.far).nanometres() / 2);
    add_mark(stick, axis - run.lo, MarkKind::screw, "screws");
  }
}

/// Staples along the outer side that the member is part of, and hangers on an upper rail.
void mark_outside(const Product& product, const shop::Rules& rules, const Run& run,
                  StoryStick& stick) {
  const Length across = run.upright ? product.width : product.height;
  const Length side = run.upright ? product.height : product.width;
  if (run.near != Length() && run.far != across) return;
  if (!product.spec.cloth.empty())
    for (const Length at : staples_along(side, rules.staple_pitch, rules.wrap))
      if (at > run.lo && at < run.hi) add_mark(stick, at - run.lo, MarkKind::staple, "");
  if (run.upright || run.far != across || product.spec.kind != Kind::wall_panel) return;
  for (int i = 0; i < rules.hangers_per_panel; ++i)
    add_mark(stick,
             Length::from_nm(side.nanometres() * (2 * i + 1) / (2 * rules.hangers_per_panel))
                     .round_to(rules.grid) -
                 run.lo,
             MarkKind::hanger, "hanger");
}

void sort_marks(StoryStick& stick) {
  std::stable_sort(stick.marks.begin(), stick.marks.end(),
                   [](const StoryMark& a, const StoryMark& b) { return a.at < b.at; });
}

std::vector<StoryStick> sticks_of_frame(const Product& product, const shop::Shop& shop) {
  std::vector<StoryStick> out;
  for (const Member& member : product.members) {
    const Run run = run_of(member);
    auto at = std::find_if(out.begin(), out.end(), [&](const StoryStick& one) {
      return one.member == member.name && one.length == run.hi - run.lo;
    });
    if (at == out.end()) {
      StoryStick stick;
      stick.member = member.name;
      stick.from = run.upright ? "lower end" : "left end";
      stick.members = 0;
      stick.length = run.hi - run.lo;
      stick.width = run.far - run.near;
      add_mark(stick, Length(), MarkKind::end, "end");
      add_mark(stick, stick.length, MarkKind::end, "end");
      out.push_back(stick);
      at = out.end() - 1;
    }
    ++at->members;
    mark_joints(product, member, *at);
    mark_outside(product, shop.rules, run, *at);
  }
  // A stick with nothing but its ends is what the stop is for.
  out.erase(std::remove_if(out.begin(), out.end(),
                           [](const StoryStick& one) { return one.marks.size() <= 2; }),
            out.end());
  return out;
}

/// Boxes and diffusers: one stick across, one up, with the edges of plates and the rows of holes.
std::vector<StoryStick> sticks_of_plates(const Product& product) {
  StoryStick across{"width", "left end", 1, product.width, Length::from_mm(30), {}};
  StoryStick up{"height", "lower end", 1, product.height, Length::from_mm(30), {}};
  for (StoryStick* stick : {&across, &up}) {
    add_mark(*stick, Length(), MarkKind::end, "end");
    add_mark(*stick, stick->length, MarkKind::end, "end");
  }
  const auto mark = [](StoryStick& stick, Length at, const std::string& what) {
    if (at > Length() && at < stick.length) add_mark(stick, at, MarkKind::edge, what);
  };
  for (const Plate& plate : product.plates) {
    if (plate.name == "side" || plate.name == "fin") {
      mark(across, plate.x, plate.name);
      mark(across, plate.x + plate.width, plate.name);
    }
    if (plate.name == "end" || plate.name == "slat") {
      mark(up, plate.y, plate.name);
      mark(up, plate.y + plate.height, plate.name);
    }
  }
  for (const Member& member : product.members) {
    mark(across, member.x, member.name);
    mark(up, member.y, member.name);
  }
  std::set<Length> columns, rows;
  for (const Vec2& hole : holes_of(product)) {
    columns.insert(Length::from_m(hole.x).round_to(Length::from_nm(1000)));
    rows.insert(Length::from_m(hole.y).round_to(Length::from_nm(1000)));
  }
  for (const Length at : columns) add_mark(across, at, MarkKind::hole, "holes");
  for (const Length at : rows) add_mark(up, at, MarkKind::hole, "holes");
  return {across, up};
}

}  // namespace

std::vector<StoryStick> story_sticks(const Product& product, const shop::Shop& shop) {
  std::vector<StoryStick> out =
      product.plates.empty() ? sticks_of_frame(product, shop) : sticks_of_plates(product);
  for (StoryStick& stick : out) sort_marks(stick);
  return out;
}

namespace {

/// Where the screws of the frame's first joint lie, from the face: as the product was checked with
/// them. Those of a screen's feet lie outside the frame's depth.
std::vector<Length> screw_places(const Product& product, Length depth) {
  std::vector<Length> out;
  const std::string* joint = nullptr;
  for (const Screw& screw : product.screws) {
    const Length from_face = Length::from_m(screw.at.z).round_to(Length::from_nm(1000));
    if (from_face <= Length() || from_face >= depth) continue;
    if (!joint) joint = &screw.joint;
    if (screw.joint == *joint && screw.number == int(out.size()) + 1) out.push_back(from_face);
  }
  return out;
}

void set_drills(SetUp& set_up, const shop::Hardware& screw, const shop::Timber& timber,
                const Units& units) {
  set_up.screw = screw.name;
  set_up.thread = screw.diameter.value_or(Length());
  set_up.screw_length = screw.length.value_or(Length());
  set_up.screwed = set_up.thread > Length() && set_up.screw_length > Length();
  if (!set_up.screwed) return;
  const Drills drills = drills_for(set_up.thread, timber.specific_gravity, units);
  set_up.clearance_hole = drills.clearance;
  set_up.pilot_hole = drills.pilot;
  set_up.pilot_depth = set_up.screw_length - set_up.member_width;
  set_up.head = set_up.thread * 2;
}

}  // namespace

SetUp set_up_of(const Product& product, const shop::Shop& shop) {
  SetUp out;
  for (const shop::StickPart& stick : product.parts.sticks) {
    const auto at = std::find_if(out.stops.begin(), out.stops.end(), [&](const Setting& one) {
      return one.member == stick.name && one.stop == stick.length;
    });
    if (at == out.stops.end())
      out.stops.push_back({stick.name, stick.length, stick.count});
    else
      at->count += stick.count;
  }
  std::stable_sort(out.stops.begin(), out.stops.end(),
                   [](const Setting& a, const Setting& b) { return a.stop > b.stop; });
  out.profile = product.edge_profile;
  if (product.members.empty() || !product.plates.empty()) return out;
  const Member& member = product.members.front();
  out.member_width = std::min(member.width, member.height);
  out.member_depth = member.depth;
  if (const auto at = shop.hardware.find(shop.rules.corner_screw); at != shop.hardware.end())
    set_drills(out, at->second, shop.timber.at(product.spec.timber), shop.units);
  out.passes = product.bit_heights;
  int number = 0;
  for (const Length from_face : screw_places(product, out.member_depth)) {
    ScrewHole hole{from_face, "", true};
    const std::string name = "screw " + std::to_string(++number) + " against the router bit";
    for (const BenchCheck& check : product.checks)
      if (check.what == name) hole.check = check.sentence, hole.ok = check.ok;
    out.holes.push_back(hole);
  }
  return out;
}

Making making_of(const Product& product, const shop::Shop& shop) {
  return {story_sticks(product, shop), set_up_of(product, shop), folds_of(product, shop),
          back_cloth_steps(product, shop)};
}

}  // namespace roomwright::design
