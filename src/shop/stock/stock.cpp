// The defaults of a shop, metric or inch; docs/shop/rules.md gives each one's reason. All are
// common practice, no source, unless they say otherwise.
#include "shop/stock/stock.h"

namespace roomwright::shop {

namespace {

Rules metric_rules() {
  Rules r;
  r.kerf = 3_mm;
  r.end_trim = 15_mm;
  r.least_offcut = 400_mm;
  r.clearance_across = 6_mm;
  r.clearance_along = Length();
  r.stretcher_span = 1500_mm;
  r.grid = 1_mm;
  r.screw_from_face = 32_mm;
  r.screw_from_back = 14_mm;
  r.screw_clearance = 3_mm;
  r.chamfer_per_pass = 10_mm;
  r.router_bit = 20_mm;
  r.round_per_pass = 6_mm;
  r.round_bit = 12_mm;
  r.wrap = 40_mm;
  r.fold = 20_mm;
  r.roll_end = 80_mm;
  r.staple_pitch = 40_mm;
  r.staple_margin = 2_mm;
  r.cleat_play = 3_mm;
  r.clip_lift = 12_mm;
  r.plug_clearance = 8_mm;
  r.back_cloth_inset = 8_mm;
  r.two_person_length = 1800_mm;
  r.keep_clear = 20_mm;
  r.square_within = 3_mm;
  r.flat_within = 3_mm;
  return r;
}

Rules inch_rules() {
  Rules r;
  r.kerf = eighth_inch;
  r.end_trim = eighth_inch * 4;
  r.least_offcut = 16_in;
  r.clearance_across = eighth_inch * 2;
  r.clearance_along = Length();
  r.stretcher_span = 60_in;
  r.grid = sixteenth_inch;
  r.screw_from_face = eighth_inch * 10;
  r.screw_from_back = eighth_inch * 5;
  r.screw_clearance = eighth_inch;
  r.chamfer_per_pass = eighth_inch * 3;
  r.router_bit = eighth_inch * 6;
  r.round_per_pass = eighth_inch * 2;
  r.round_bit = eighth_inch * 4;
  r.wrap = eighth_inch * 12;
  r.fold = eighth_inch * 6;
  r.roll_end = 3_in;
  r.staple_pitch = eighth_inch * 12;
  r.staple_margin = sixteenth_inch;
  r.cleat_play = eighth_inch;
  r.clip_lift = eighth_inch * 4;
  r.plug_clearance = sixteenth_inch * 5;
  r.back_cloth_inset = sixteenth_inch * 5;
  r.two_person_length = 72_in;
  r.keep_clear = eighth_inch * 6;
  r.square_within = eighth_inch;
  r.flat_within = eighth_inch;
  return r;
}

}  // namespace

Rules default_rules(bool metric) {
  return metric ? metric_rules() : inch_rules();
}

Packing default_packing(bool metric) {
  Packing p;
  p.wrap = metric ? 6_mm : eighth_inch * 2;
  p.carton = metric ? 25_mm : eighth_inch * 8;
  p.between = metric ? 4_mm : eighth_inch;
  // A diffuser's fins and a tuned trap's drilled front bear nothing.
  p.layers_of = {{"diffuser", 1}, {"tuned_trap", 1}, {"solid_trap", 1}};
  return p;
}

LabelSheet default_labels(bool metric) {
  LabelSheet l;
  if (metric) {
    // Eight on A4, edge to edge.
    l.width = 99_mm;
    l.height = 68_mm;
    l.left = 6_mm;
    l.top = Length::from_nm(12'500'000);
  } else {
    // Six on Letter, 4 by 3 1/3 in.
    l.down = 3;
    l.width = 4_in;
    l.height = Length::from_nm(84'666'667);
    l.left = sixteenth_inch * 2 + Length::from_nm(793'750);
    l.top = eighth_inch * 4;
  }
  l.step_across = metric ? l.width : l.width + sixteenth_inch * 3;
  l.step_down = l.height;
  return l;
}

Times default_times() {
  Times times;
  times.set_up_min = {{"saw", 15},        {"drill_screw", 10}, {"rout", 12},
                      {"sand", 4},        {"back_cloth", 5},   {"boards", 10},
                      {"face_cloth", 10}, {"finish", 5},       {"pack", 10}};
  times.each_min = {{"cut", 0.6},
                    {"stop_setting", 2},
                    {"plate", 3},
                    {"corner", 2.5},
                    {"stretcher_joint", 2},
                    {"pass_metre", 0.7},
                    {"edge_metre", 0.5},
                    {"cloth_cut", 2},
                    {"back_staple_metre", 1},
                    {"board", 1},
                    {"board_cut", 1.5},
                    {"face_staple_metre", 2.2},
                    {"corner_fold", 1.5},
                    {"hanger", 1.5},
                    {"inspect", 2},
                    {"label_pack", 3},
                    {"hole", 0.15},
                    {"strip", 1.5},
                    {"block", 0.8},
                    {"lap", 1.5},
                    {"mitre", 0.8},
                    {"spline", 2.5},
                    {"rip_metre", 1},
                    {"cleat", 4},
                    {"clip", 1},
                    {"foot", 3},
                    {"seal_metre", 1.2},
                    {"grip", 1.5}};
  return times;
}

Line default_line() {
  Line line;
  for (const auto& [station, minutes] : default_times().set_up_min) {
    line.machines[station] = station == "saw" || station == "rout" || station == "sand" ? 1 : 2;
    line.wait_min[station] = station == "drill_screw" ? 30 : 0;
  }
  return line;
}

const std::vector<std::string>& time_features() {
  static const std::vector<std::string> features = [] {
    std::vector<std::string> out;
    for (const auto& [feature, minutes] : default_times().each_min) out.push_back(feature);
    return out;
  }();
  return features;
}

}  // namespace roomwright::shop
