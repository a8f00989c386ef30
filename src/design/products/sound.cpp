// How a piece meets sound: its layers as stacks for absorbers.h. A straddling trap is cut into
// strips of equal width, each with its own gap to the walls; a solid trap into strips of its own
// thickness; a cloud counts its lower face and, through the open edge of its gap, part of its upper
// one. Each of the three is an approximation and says so.
#include <algorithm>
#include <cmath>

#include "acoustics/materials/materials.h"
#include "core/numerics/numerics.h"
#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

constexpr int strip_count = 8;       // halving it moves the octave values by under 0.02
constexpr double trap_doubt = 0.20;  // relative; a field solution replaces it
constexpr double cloud_doubt = 0.25;
constexpr double tuned_doubt = 0.15;
constexpr double membrane_doubt = 0.30;
constexpr double outline_doubt = 0.05;  // of a rectangle in its place; common practice, no source
constexpr double plug_doubt = 0.15, screen_doubt = 0.25;
constexpr double block_absorption = 0.05;
constexpr double fine_hole_m = 1.5e-3;  // below it the walls of a hole brake the air noticeably
// A builder's tolerances, 10th to 90th percentile (common practice, no source).
constexpr double hole_tolerance_m = 2e-4, depth_tolerance_m = 2e-3, mass_tolerance = 0.05;
constexpr double stated_spread = 0.10;  // of a stated flow resistivity
constexpr int sample_count = 33;
const double pi = std::acos(-1.0);

/// What is not known well, as one sample has it.
struct Sampled {
  double resistivity = 0;
  double hole_m = 0, depth_m = 0;  ///< added
  double mass = 1;                 ///< factor
  double share = 0.5;              ///< of what is likely: the sample's place, for several boards
};

acoustics::Layer wool_layer(double thickness_m, double resistivity) {
  acoustics::PorousLayer layer;
  layer.thickness_m = thickness_m;
  layer.flow_resistivity_pa_s_m2 = resistivity;
  layer.model = acoustics::PorousModel::miki;
  return layer;
}

/// Cloth, wool, back cloth, air: what stands in front of a rigid wall.
acoustics::Stack flat_stack(const Ingredients& with, double wool_m, double gap_m,
                            double resistivity) {
  acoustics::Stack stack;
  stack.layers.push_back(stretched_cloth(*with.cloth));
  if (wool_m > 0) stack.layers.push_back(wool_layer(wool_m, resistivity));
  if (with.back_cloth) stack.layers.push_back(stretched_cloth(*with.back_cloth));
  if (gap_m > 0) stack.layers.push_back(acoustics::AirLayer{gap_m});
  return stack;
}

double wool_depth_m(const Product& product, const Ingredients& with) {
  return with.board->thickness.metres() * product.spec.board_layers;
}

/// Depth behind the face at the middle of each strip, for a corner of the given angle.
std::vector<double> strip_depths(double face_width_m, double corner_angle_deg) {
  const double slope = std::tan((pi - corner_angle_deg * pi / 180) / 2);
  std::vector<double> depths;
  for (int i = 0; i < strip_count; ++i) {
    const double s = (i + 0.5) / strip_count * face_width_m;
    depths.push_back(std::min(s, face_width_m - s) * slope);
  }
  return depths;
}

std::vector<Strip> straddling_strips(const Product& product, const Ingredients& with,
                                     double resistivity, double corner_angle_deg) {
  std::vector<Strip> strips;
  const double wool_m = wool_depth_m(product, with);
  for (const double depth_m : strip_depths(product.width.metres(), corner_angle_deg))
    strips.push_back(
        {1.0 / strip_count,
         flat_stack(with, wool_m, depth_m + product.depth.metres() - wool_m, resistivity)});
  return strips;
}

std::vector<Strip> solid_strips(const Product& product, const Ingredients& with, double resistivity,
                                double corner_angle_deg) {
  std::vector<Strip> strips;
  for (const double depth_m : strip_depths(product.width.metres(), corner_angle_deg))
    strips.push_back({1.0 / strip_count, flat_stack(with, depth_m, 0, resistivity)});
  return strips;
}

/// From above: back cloth, wool, cloth, free air behind.
acoustics::Stack upper_stack(const Product& product, const Ingredients& with, double resistivity) {
  acoustics::Stack stack;
  if (with.back_cloth) stack.layers.push_back(stretched_cloth(*with.back_cloth));
  stack.layers.push_back(wool_layer(wool_depth_m(product, with), resistivity));
  stack.layers.push_back(stretched_cloth(*with.cloth));
  stack.backing = acoustics::Backing::open;
  return stack;
}

acoustics::Layer front_layer(const Product& product, const Ingredients& with,
                             const Sampled& sampled) {
  const TunedFront& front = *product.spec.tuned;
  const double thickness_m = with.front->thickness.metres(), open = open_share(product);
  if (front.front == Front::membrane)
    return acoustics::MembraneLayer{thickness_m * with.front->density_kg_m3 * sampled.mass};
  if (front.front == Front::slotted) {
    const double slot_m = std::max(5e-4, front.slot.metres() + sampled.hole_m);
    return acoustics::SlottedLayer{thickness_m, slot_m, open * slot_m / front.slot.metres(),
                                   slot_m < fine_hole_m};
  }
  const double hole_m = std::max(3e-4, front.hole.metres() + sampled.hole_m);
  const double by = hole_m / front.hole.metres();
  return acoustics::PerforatedLayer{thickness_m, hole_m, std::min(0.9, open * by * by),
                                    hole_m < fine_hole_m};
}

/// Cloth, front, then board and air in the order that the product has them.
acoustics::Stack tuned_stack(const Product& product, const Ingredients& with,
                             const Sampled& sampled) {
  acoustics::Stack stack;
  if (with.cloth) stack.layers.push_back(stretched_cloth(*with.cloth));
  stack.layers.push_back(front_layer(product, with, sampled));
  const double cavity_m = std::max(1e-3, product.spec.tuned->cavity.metres() + sampled.depth_m);
  const double fill_m = with.board ? std::min(cavity_m, wool_depth_m(product, with)) : 0;
  const double air_m = cavity_m - fill_m;
  const FillPlace place = product.spec.tuned->fill;
  const double before_m = place == FillPlace::behind_front ? 0
                          : place == FillPlace::middle     ? air_m / 2
                                                           : air_m;
  const auto add_air = [&](double thickness_m) {
    if (thickness_m > 1e-6) stack.layers.push_back(acoustics::AirLayer{thickness_m});
  };
  add_air(before_m);
  if (fill_m > 0) stack.layers.push_back(wool_layer(fill_m, sampled.resistivity));
  add_air(air_m - before_m);
  return stack;
}

/// A custom piece's layers as they are given, then the air that is left in its frame and behind it.
acoustics::Stack custom_stack(const Product& product, const Ingredients& with,
                              const Sampled& sampled) {
  acoustics::Stack stack;
  const shop::Shop& shop = *with.shop;
  double depth_m = 0;
  for (const CustomLayer& layer : product.spec.custom->layers) {
    if (layer.of == LayerOf::cloth)
      stack.layers.push_back(stretched_cloth(shop.cloths.at(layer.key)));
    if (layer.of == LayerOf::board) {
      const auto wool = wool_resistivity(shop.boards.at(layer.key));
      const double thickness_m = shop.boards.at(layer.key).thickness.metres();
      const double resistivity = sampled.share == 0.5
                                     ? wool.likely_pa_s_m2
                                     : log_normal_between(wool.low_pa_s_m2, wool.likely_pa_s_m2,
                                                          wool.high_pa_s_m2, sampled.share);
      stack.layers.push_back(wool_layer(thickness_m, resistivity));
      depth_m += thickness_m;
    }
    if (layer.of == LayerOf::sheet) {
      const shop::Sheet& sheet = shop.sheets.at(layer.key);
      stack.layers.push_back(
          acoustics::MembraneLayer{sheet.thickness.metres() * sheet.density_kg_m3 * sampled.mass});
      depth_m += sheet.thickness.metres();
    }
    if (layer.of == LayerOf::air) {
      stack.layers.push_back(acoustics::AirLayer{layer.thickness.metres()});
      depth_m += layer.thickness.metres();
    }
  }
  const double behind_m = (product.frame_depth + product.stand_off).metres() - depth_m;
  if (behind_m > 1e-6) stack.layers.push_back(acoustics::AirLayer{behind_m});
  return stack;
}

/// Cloth, wool, cloth in free air: one face of a screen; what passes through is not absorbed.
acoustics::Stack screen_stack(const Product& product, const Ingredients& with, double resistivity,
                              bool back) {
  acoustics::Stack stack;
  const shop::Cloth& behind = with.back_cloth ? *with.back_cloth : *with.cloth;
  const double wool_m = wool_depth_m(product, with);
  const double air_m = product.frame_depth.metres() - wool_m;
  const auto add_air = [&] {
    if (air_m > 1e-6) stack.layers.push_back(acoustics::AirLayer{air_m});
  };
  stack.layers.push_back(stretched_cloth(back ? behind : *with.cloth));
  if (back) add_air();
  stack.layers.push_back(wool_layer(wool_m, resistivity));
  if (!back) add_air();
  stack.layers.push_back(stretched_cloth(back ? *with.cloth : behind));
  stack.backing = acoustics::Backing::open;
  return stack;
}

Sound sound_with(const Product& product, const Ingredients& with, const Sampled& sampled,
                 double corner_angle_deg) {
  Sound sound;
  const double resistivity = sampled.resistivity;
  sound.face_width_m = product.width.metres();
  sound.face_height_m = product.height.metres();
  if (product.spec.stand && with.timber) sound.face_height_m -= with.timber->width.metres();
  if (product.spec.kind == Kind::diffuser) return sound;
  if (product.spec.kind == Kind::tuned_trap) {
    const bool moves = product.spec.tuned->front == Front::membrane;
    sound.strips = {{1, tuned_stack(product, with, sampled)}};
    sound.approximation = moves ? "a limp front before a rigid box: its stiffness is not counted"
                                : "a rigid box that reacts locally";
    sound.approximation_doubt = moves ? membrane_doubt : tuned_doubt;
    return sound;
  }
  if (product.spec.kind == Kind::custom) {
    const double area_m2 = face_area_m2(product);
    const double by = std::sqrt(area_m2 / (sound.face_width_m * sound.face_height_m));
    sound.face_width_m *= by, sound.face_height_m *= by;  // a rectangle of its area
    sound.strips = {{1, custom_stack(product, with, sampled)}};
    if (!is_rectangle(face_outline(product, false))) {
      sound.approximation = "a rectangle of its outline's area: its longer edge is not counted";
      sound.approximation_doubt = outline_doubt;
    }
    return sound;
  }
  const double wool_m = wool_depth_m(product, with);
  const double gap_m = product.frame_depth.metres() - wool_m + product.stand_off.metres();
  switch (product.spec.kind) {
    case Kind::wall_panel:
      sound.strips = {{1, flat_stack(with, wool_m, gap_m, resistivity)}};
      break;
    case Kind::straddling_trap:
      sound.strips = straddling_strips(product, with, resistivity, corner_angle_deg);
      sound.approximation = "eight strips of varying gap behind a flat face";
      sound.approximation_doubt = trap_doubt;
      break;
    case Kind::solid_trap:
      sound.strips = solid_strips(product, with, resistivity, corner_angle_deg);
      sound.approximation = "eight strips of varying depth behind a flat face";
      sound.approximation_doubt = trap_doubt;
      break;
    case Kind::window_plug:
      sound.strips = {{1, flat_stack(with, wool_m, gap_m, resistivity)}};
      sound.approximation = "its back sheet as a rigid wall";
      sound.approximation_doubt = plug_doubt;
      break;
    case Kind::free_screen:
      sound.strips = {{1, screen_stack(product, with, resistivity, false)}};
      sound.upper = {{1, screen_stack(product, with, resistivity, true)}};
      sound.upper_area_m2 = sound.face_width_m * sound.face_height_m;
      sound.approximation =
          "two faces in free air; sound that goes through or round it is not counted";
      sound.approximation_doubt = screen_doubt;
      break;
    case Kind::ceiling_cloud: {
      sound.strips = {{1, flat_stack(with, wool_m, gap_m, resistivity)}};
      sound.upper = {{1, upper_stack(product, with, resistivity)}};
      const double around_m = 2 * (sound.face_width_m + sound.face_height_m);
      sound.upper_area_m2 =
          std::min(sound.face_width_m * sound.face_height_m, around_m * product.spec.gap.metres());
      sound.approximation =
          "two faces: the lower with its gap to a rigid ceiling, the upper through the open edge "
          "of the gap";
      sound.approximation_doubt = cloud_doubt;
      break;
    }
    default:
      break;
  }
  return sound;
}

Ingredients ingredients_of(const Product& product, const shop::Shop& shop) {
  Ingredients with;
  with.shop = &shop;
  const ProductSpec& spec = product.spec;
  if (!spec.timber.empty()) with.timber = &shop.timber.at(spec.timber);
  if (!spec.board.empty()) with.board = &shop.boards.at(spec.board);
  if (!spec.cloth.empty()) with.cloth = &shop.cloths.at(spec.cloth);
  if (spec.tuned) with.front = &shop.sheets.at(spec.tuned->sheet);
  if (!product.spec.back_cloth.empty()) with.back_cloth = &shop.cloths.at(product.spec.back_cloth);
  return with;
}

/// Frequencies that share an octave evenly; three are the thirds. A tuned trap's peak is narrow.
std::vector<double> inside_octaves(int to_each) {
  std::vector<double> hz;
  for (const auto& band : acoustics::octave_bands())
    for (int i = 0; i < to_each; ++i)
      hz.push_back(band.centre_hz * std::pow(10.0, 0.3 * (2 * i + 1 - to_each) / (2.0 * to_each)));
  return hz;
}

/// Absorption of each sound by octave in m²: its strips over the face, then over the upper face.
/// All stacks go to the engine at once, since they share the face's size.
Result<std::vector<acoustics::OctaveSpectrum>> areas_of(const std::vector<Sound>& sounds,
                                                        const acoustics::Air& air, bool tuned) {
  std::vector<acoustics::Stack> stacks;
  std::vector<double> areas_m2;
  std::vector<std::size_t> owner;
  for (std::size_t i = 0; i < sounds.size(); ++i) {
    const double face_m2 = sounds[i].face_width_m * sounds[i].face_height_m;
    for (const auto& [strips, area_m2] :
         {std::pair{&sounds[i].strips, face_m2}, {&sounds[i].upper, sounds[i].upper_area_m2}})
      for (const Strip& strip : *strips) {
        stacks.push_back(strip.stack);
        areas_m2.push_back(strip.area_share * area_m2);
        owner.push_back(i);
      }
  }
  acoustics::AbsorptionOptions options;
  options.size_m = acoustics::Size2{sounds[0].face_width_m, sounds[0].face_height_m};
  options.same_on_every_machine = true;
  if (tuned) options.reaction = acoustics::Reaction::local;
  const int to_each = tuned ? 12 : 3;
  const auto rows = acoustics::absorptions(stacks, air, inside_octaves(to_each), options);
  if (!rows) return rows.mistakes();
  std::vector<acoustics::OctaveSpectrum> out(sounds.size());
  for (std::size_t s = 0; s < stacks.size(); ++s)
    for (std::size_t i = 0; i < (*rows)[s].size(); ++i)
      out[owner[s]][i / static_cast<std::size_t>(to_each)] += areas_m2[s] * (*rows)[s][i] / to_each;
  return out;
}

/// What the models of a stack warn of, once each.
std::vector<std::string> warnings_of(const Sound& sound, const acoustics::Air& air) {
  std::vector<std::string> out;
  for (const Strip& strip : sound.strips)
    for (const auto& warning : acoustics::model_warnings(strip.stack, air, inside_octaves(3)))
      if (std::find(out.begin(), out.end(), warning.what) == out.end()) out.push_back(warning.what);
  return out;
}

std::vector<Sampled> samples_of(const acoustics::FlowResistivity& wool, bool tuned) {
  std::vector<Sampled> out;
  const EvenPoints points(4, 1);
  for (int i = 0; i < sample_count; ++i) {
    const auto point = points.point(static_cast<std::uint32_t>(i));
    const auto spread = [&](std::size_t at) {
      return normal_quantile(point[at]) / normal_quantile(0.9);
    };
    const double share = tuned ? point[0] : (i + 0.5) / sample_count;
    Sampled one{
        log_normal_between(wool.low_pa_s_m2, wool.likely_pa_s_m2, wool.high_pa_s_m2, share)};
    one.share = share;
    if (tuned) {
      one.hole_m = hole_tolerance_m * spread(1);
      one.depth_m = depth_tolerance_m * spread(2);
      one.mass = 1 + mass_tolerance * spread(3);
    }
    out.push_back(one);
  }
  return out;
}

/// A diffuser's wells by octave, over five angles of incidence; where they carry more than plane
/// waves the last value that the model gives is kept.
Result<PieceAbsorption> well_piece(const Product& product, const acoustics::Air& air) {
  PieceAbsorption out;
  const double area_m2 = product.sound.face_width_m * product.sound.face_height_m;
  acoustics::WellAbsorptionOptions options;
  options.frequencies_hz = inside_octaves(3);
  const acoustics::Wells& wells = *product.sound.wells;
  const double most_hz = air.sound_speed_m_s / (2 * wells.well_width_m);
  if (wells.rows == 1) {
    std::vector<double> sum(options.frequencies_hz.size(), 0);
    double weights = 0;
    for (const double angle_deg : {5.0, 20.0, 35.0, 50.0, 65.0}) {
      options.incidence_deg = angle_deg;
      const auto report = acoustics::well_absorption(wells, options, air);
      if (!report) return report.mistakes();
      const double weight = std::sin(2 * angle_deg * pi / 180);
      weights += weight;
      for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += weight * report->absorption[i];
    }
    double last = 0;
    for (std::size_t i = 0; i < sum.size(); ++i) {
      if (options.frequencies_hz[i] <= most_hz) last = sum[i] / weights;
      out.coefficient[i / 3] += last / 3;
    }
  } else {
    out.coefficient.fill(block_absorption);
    out.warnings.push_back(
        "a grid of blocks is taken to absorb 0.05 in every band (common practice, "
        "no source)");
  }
  for (std::size_t i = 0; i < out.coefficient.size(); ++i) {
    out.likely_m2[i] = out.coefficient[i] * area_m2;
    out.low_m2[i] = out.likely_m2[i] * 0.7;   // built ones absorb more than their wells:
    out.high_m2[i] = out.likely_m2[i] * 2.0;  // joints and surfaces (common practice, no source)
  }
  return out;
}

}  // namespace

acoustics::ScreenLayer stretched_cloth(const shop::Cloth& cloth) {
  constexpr double thinner = 0.05;
  return {cloth.flow_resistance_pa_s_m * (1 - 2 * thinner), cloth.mass_kg_m2 * (1 - thinner)};
}

acoustics::FlowResistivity wool_resistivity(const shop::Board& board) {
  if (board.flow_resistivity_pa_s_m2) {
    const double stated = *board.flow_resistivity_pa_s_m2;
    return {stated * (1 - stated_spread), stated, stated * (1 + stated_spread), "stated", {}};
  }
  const auto* known = acoustics::find_porous_board(board.material);
  RW_ASSERT(known);
  if (board.fibre_um) {
    const std::string fibre = known->key.substr(0, known->key.rfind('_'));
    const auto estimate = acoustics::estimate_flow_resistivity(
        {fibre, board.density_kg_m3, *board.fibre_um * 1e-6, board.binder_percent / 100});
    if (estimate) return *estimate;
  }
  return acoustics::flow_resistivity_of(*known, board.density_kg_m3);
}

namespace {

acoustics::FlowResistivity wool_in(const Ingredients& with) {
  return with.board ? wool_resistivity(*with.board)
                    : acoustics::FlowResistivity{10000, 10000, 10000, "", {}};
}

}  // namespace

Sound sound_of(const Product& product, const Ingredients& with) {
  Sound sound = sound_with(product, with, {wool_in(with).likely_pa_s_m2}, 90);
  sound.wells = product.sound.wells;
  return sound;
}

Result<PieceAbsorption> absorption_of(const Product& product, const shop::Shop& shop,
                                      const acoustics::Air& air, double corner_angle_deg) {
  if (product.sound.wells) return well_piece(product, air);
  const Ingredients with = ingredients_of(product, shop);
  const acoustics::FlowResistivity wool = wool_in(with);
  const bool tuned = product.spec.kind == Kind::tuned_trap;
  std::vector<Sound> sounds{sound_with(product, with, {wool.likely_pa_s_m2}, corner_angle_deg)};
  for (const Sampled& sampled : samples_of(wool, tuned))
    sounds.push_back(sound_with(product, with, sampled, corner_angle_deg));
  PieceAbsorption out;
  const auto areas = areas_of(sounds, air, tuned);
  if (!areas) return areas.mistakes();
  out.warnings = warnings_of(sounds[0], air);
  const double doubt = product.sound.approximation_doubt;
  const double area_m2 = product.sound.face_width_m * product.sound.face_height_m;
  out.likely_m2 = (*areas)[0];
  for (std::size_t i = 0; i < out.likely_m2.size(); ++i) {
    std::vector<double> sampled;
    for (std::size_t n = 1; n < areas->size(); ++n) sampled.push_back((*areas)[n][i]);
    out.low_m2[i] = std::min(quantile(sampled, 0.1), out.likely_m2[i]) * (1 - doubt);
    out.high_m2[i] = std::max(quantile(sampled, 0.9), out.likely_m2[i]) * (1 + doubt);
    out.coefficient[i] = out.likely_m2[i] / area_m2;
  }
  return out;
}

}  // namespace roomwright::design
