// What is not known well about a stack, carried through to its absorption; see absorbers.h.
#include <algorithm>

#include "acoustics/absorbers/absorbers.h"
#include "core/numerics/numerics.h"

namespace roomwright::acoustics {

namespace {

/// Where a quantity stands in a layer; nullptr where the layer has none.
struct Place {
  Quantity quantity;
  double* operator()(PorousLayer& layer) const {
    return quantity == Quantity::thickness          ? &layer.thickness_m
           : quantity == Quantity::flow_resistivity ? &layer.flow_resistivity_pa_s_m2
                                                    : nullptr;
  }
  double* operator()(AirLayer& layer) const {
    return quantity == Quantity::thickness ? &layer.thickness_m : nullptr;
  }
  double* operator()(ScreenLayer& layer) const {
    if (quantity == Quantity::flow_resistance) return &layer.flow_resistance_pa_s_m;
    return quantity == Quantity::mass && layer.mass_kg_m2 ? &*layer.mass_kg_m2 : nullptr;
  }
  double* operator()(PerforatedLayer& layer) const {
    return quantity == Quantity::thickness ? &layer.thickness_m
           : quantity == Quantity::hole    ? &layer.hole_diameter_m
                                           : nullptr;
  }
  double* operator()(SlottedLayer& layer) const {
    return quantity == Quantity::thickness ? &layer.thickness_m
           : quantity == Quantity::hole    ? &layer.slot_width_m
                                           : nullptr;
  }
  double* operator()(MembraneLayer& layer) const {
    return quantity == Quantity::mass ? &layer.mass_kg_m2 : nullptr;
  }
};

/// With the pitch as it is, the open area goes with the square of a hole and with a slot's width.
void set_quantity(Layer& layer, Quantity quantity, double value) {
  double* place = std::visit(Place{quantity}, layer);
  const double by = value / *place;
  *place = value;
  if (quantity != Quantity::hole) return;
  if (auto* sheet = std::get_if<PerforatedLayer>(&layer))
    sheet->open_area = std::min(0.99, sheet->open_area * by * by);
  if (auto* sheet = std::get_if<SlottedLayer>(&layer))
    sheet->open_area = std::min(0.99, sheet->open_area * by);
}

void check_spreads(Stack stack, const std::vector<LayerSpread>& spreads,
                   const CorridorOptions& corridor, Diagnostics& found) {
  if (spreads.empty() || spreads.size() > EvenPoints::most_dimensions)
    found.add("spreads", "must have from 1 to 12 entries", double(spreads.size()), {});
  if (corridor.samples < 8 || corridor.samples > 4096)
    found.add("samples", "must be from 8 to 4096", double(corridor.samples), {});
  for (std::size_t i = 0; i < spreads.size(); ++i) {
    const std::string where = "spreads[" + std::to_string(i) + "]";
    const LayerSpread& spread = spreads[i];
    const double* place = spread.layer < stack.layers.size()
                              ? std::visit(Place{spread.quantity}, stack.layers[spread.layer])
                              : nullptr;
    if (!place)
      found.add(where + ".layer", "has no such quantity", double(spread.layer),
                "layers count from 0 at the room side");
    else if (!(spread.low > 0 && spread.low <= *place && spread.high >= *place))
      found.add(where + ".low", "and high must hold the layer's own value between them", spread.low,
                "the 10th and the 90th percentile");
  }
}

}  // namespace

Result<AbsorptionCorridor> absorption_corridor(const Stack& stack,
                                               const std::vector<LayerSpread>& spreads,
                                               const Air& air,
                                               const std::vector<double>& frequencies_hz,
                                               const AbsorptionOptions& options,
                                               const CorridorOptions& corridor) {
  Diagnostics found = check_stack(stack);
  if (found.empty()) check_spreads(stack, spreads, corridor, found);
  if (!found.empty()) return found;
  const EvenPoints points(spreads.size(), corridor.seed);
  std::vector<Stack> sampled;
  for (int s = 0; s < corridor.samples; ++s) {
    const auto point = points.point(static_cast<std::uint32_t>(s));
    Stack one = stack;
    for (std::size_t i = 0; i < spreads.size(); ++i) {
      Layer& layer = one.layers[spreads[i].layer];
      const double own = *std::visit(Place{spreads[i].quantity}, layer);
      set_quantity(layer, spreads[i].quantity,
                   log_normal_between(spreads[i].low, own, spreads[i].high, point[i]));
    }
    sampled.push_back(std::move(one));
  }
  const auto rows = absorptions(sampled, air, frequencies_hz, options);
  if (!rows) return rows.mistakes();
  AbsorptionCorridor out;
  for (std::size_t f = 0; f < frequencies_hz.size(); ++f) {
    std::vector<double> values;
    for (const auto& row : *rows) values.push_back(row[f]);
    out.low.push_back(quantile(values, 0.1));
    out.middle.push_back(quantile(values, 0.5));
    out.high.push_back(quantile(values, 0.9));
  }
  return out;
}

}  // namespace roomwright::acoustics
