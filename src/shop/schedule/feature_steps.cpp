// Steps that a station has only where the job asks for them: by the features of its operations.
#include "shop/schedule/plans.h"

namespace roomwright::shop {

namespace {

struct FeatureSteps {
  Station station;
  const char* feature;
  std::vector<const char*> steps;
  const char* caution;  ///< empty: none besides the station's own
};

const std::vector<FeatureSteps>& feature_steps() {
  static const std::vector<FeatureSteps> all = {
      {Station::saw,
       "lap",
       {"Half-laps: set the depth on scrap of the same section until two halves lie flush; saw the "
        "shoulder first, then the waste."},
       "The guard is off for a lap only if the manual gives another for it; never cut into a "
       "clamp."},
      {Station::saw,
       "mitre",
       {"Mitres: set the swing that the drawing gives, cut one end of all, then the stop and the "
        "other; try four of them round a square before the rest."},
       ""},
      {Station::saw,
       "rip_metre",
       {"Rip cleats and stiles at the table saw, the good side down, before they are cut to "
        "length; mark which half is whose."},
       "Ripping: riving knife, guard, push stick; stand beside the line of the blade."},
      {Station::saw,
       "plate",
       {"Cut sheets by the layout sheet, the longest cuts first, two people at a full sheet."},
       ""},
      {Station::drill_screw,
       "hole",
       {"Drill fronts on a scrap board, from the good side; strike the grid from one corner."},
       ""},
      {Station::drill_screw,
       "spline",
       {"Splines: groove both mitres from the face side with one fence, glue, press the spline "
        "home, "
        "clamp round the corner."},
       ""},
      {Station::finish,
       "cleat",
       {"Screw the cleat's strip to the top rail, its point down and to the wall; the spacer to "
        "the "
        "foot. Pack the wall's strip with its screws."},
       ""},
      {Station::finish,
       "clip",
       {"Mark the clips from one template for the frame and the wall alike."},
       ""},
      {Station::finish,
       "foot",
       {"Screw the feet under the lower rail, stand the screen up and push it at the top: it must "
        "come back."},
       ""},
      {Station::finish,
       "seal_metre",
       {"Run the seal round the plug's back without a gap; fit the grips; try the plug in a gauge "
        "of "
        "the reveal's size."},
       ""},
  };
  return all;
}

}  // namespace

void add_feature_steps(StationRow& row) {
  for (const FeatureSteps& entry : feature_steps()) {
    if (entry.station != row.station) continue;
    bool there = false;
    for (const StationRow::Line& line : row.lines) there = there || line.feature == entry.feature;
    if (!there) continue;
    for (const char* step : entry.steps) row.steps.emplace_back(step);
    if (*entry.caution) row.cautions.emplace_back(entry.caution);
  }
}

}  // namespace roomwright::shop
