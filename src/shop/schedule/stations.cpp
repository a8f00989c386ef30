// The stations in the order of the shop: how often each feature comes, what the shop's standard
// says it takes, and the steps as sentences.
#include <map>

#include "shop/schedule/plans.h"

namespace roomwright::shop {

namespace {

double stop_settings(const Schedule& schedule) {
  double count = 0;
  for (const StickPlan& plan : schedule.sticks) count += static_cast<double>(plan.stops.size());
  return count;
}

std::map<std::string, double> features_at(const Parts& parts, Station station,
                                          const Schedule& schedule) {
  std::map<std::string, double> counts;
  for (const Operation& operation : parts.operations)
    if (operation.station == station) counts[operation.feature] += operation.count;
  if (station == Station::saw && !counts.empty()) counts["stop_setting"] += stop_settings(schedule);
  return counts;
}

std::vector<std::string> steps_at(Station station, const Rules& rules) {
  switch (station) {
    case Station::saw:
      return {"Square one end of each stick: take off the trim that the cut sheet states.",
              "Set the stop to each length of the cut sheet, longest first; cut all of one length "
              "before "
              "moving it."};
    case Station::drill_screw:
      return {"Lay the members out on a flat bench, best faces down.",
              "Glue the joint, hold it square, drill " + std::to_string(rules.screws_per_corner) +
                  " holes a corner, then drive the screws.",
              "Measure both diagonals; they agree within 2 mm before the glue sets."};
    case Station::rout:
      return {
          "Set the bit's depth on a scrap of the same section.",
          "Rout all four sides of the face, against the feed, in the passes that the sheet gives.",
          "No screw may lie in the bit's path: check the list of bench checks first."};
    case Station::sand:
      return {"Break the edges that the cloth touches; no splinter may reach it."};
    case Station::back_cloth:
      return {"Staple the back cloth from the middle of each side outward, flat, not tight."};
    case Station::boards:
      return {"Cut boards on the bench with a long knife against a straight edge.",
              "Press each board in from the front until it lies on the back cloth, flush with the "
              "face; "
              "it holds by its own spring."};
    case Station::face_cloth:
      return {"Lay the cloth face down, pile the way the arrow shows, frame on it.",
              "Staple the middle of each side, then outward, pulling evenly.",
              "Fold each corner to one side, flat, and staple the fold on the back; trim what is "
              "over."};
    case Station::finish:
      return {"Fit the hanging hardware.", "Brush off dust; check square, flat, cloth, staples."};
    case Station::pack:
      return {"Label the back with the piece's mark and its place.",
              "Pack face to face with paper between."};
  }
  return {};
}

std::vector<std::string> cautions_at(Station station) {
  switch (station) {
    case Station::saw:
      return {
          "Saw: guard on, eye and ear protection, dust extraction, hands clear of the line of cut; "
          "follow the machine's manual and local rules."};
    case Station::drill_screw:
      return {"Clamp the work; eye protection."};
    case Station::rout:
      return {
          "Router: eye and ear protection, dust extraction, cable pulled while the bit is changed; "
          "feed against the turn of the bit."};
    case Station::sand:
      return {"Wood dust harms the lungs: extraction and a dust mask."};
    case Station::boards:
      return {
          "Mineral fibre irritates: gloves, long sleeves, dust mask, ventilation; wash in cold "
          "water "
          "afterwards."};
    case Station::back_cloth:
    case Station::face_cloth:
      return {"Staple gun: eye protection, never toward a hand."};
    case Station::pack:
      return {"Two people lift what the packing list marks so."};
    case Station::finish:
      return {};
  }
  return {};
}

StationRow station_row(Station station, const std::map<std::string, double>& counts,
                       const Shop& shop, Diagnostics& found) {
  StationRow row;
  row.station = station;
  const std::string name = station_names[static_cast<std::size_t>(station)];
  if (const auto at = shop.times.set_up_min.find(name); at != shop.times.set_up_min.end())
    row.set_up_min = at->second;
  for (const auto& [feature, count] : counts) {
    const auto at = shop.times.each_min.find(feature);
    if (at == shop.times.each_min.end()) {
      found.add("times." + feature, "has no time in the shop file", {},
                "give the minutes that one takes");
      continue;
    }
    row.lines.push_back({feature, count, at->second});
    row.work_min += count * at->second;
  }
  return row;
}

}  // namespace

namespace {

/// Pieces with re-entrant corners bring patches and strips of their own.
void add_relief_steps(const Parts& parts, StationRow& row) {
  bool patches = false, strips = false;
  for (const ClothPart& cloth : parts.cloths) {
    patches = patches || cloth.name == "corner patch";
    strips = strips || cloth.name == "notch strip";
  }
  if (patches)
    row.steps.push_back(
        "Re-entrant corners: the corner patch first; then cut the cloth from outside to 3 mm short "
        "of the corner, half-way between the two sides, and turn both flaps over the patch.");
  if (strips)
    row.steps.push_back(
        "A narrow notch: line its sides with the notch strips, and glue the short flaps over "
        "them.");
}

}  // namespace

std::vector<StationRow> plan_stations(const Parts& parts, const Shop& shop,
                                      const Schedule& schedule, Diagnostics& found) {
  std::vector<StationRow> rows;
  for (int i = 0; i < station_count; ++i) {
    const auto station = static_cast<Station>(i);
    const auto counts = features_at(parts, station, schedule);
    if (counts.empty()) continue;
    StationRow row = station_row(station, counts, shop, found);
    row.steps = steps_at(station, shop.rules);
    row.cautions = cautions_at(station);
    add_feature_steps(row);
    if (station == Station::face_cloth) add_relief_steps(parts, row);
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace roomwright::shop
