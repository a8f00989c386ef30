// How a piece meets sound: its layers as stacks for absorbers.h. A straddling trap is cut into
// strips of equal width, each with its own gap to the walls; a solid trap into strips of its own
// thickness; a cloud counts its lower face and, through the open edge of its gap, part of its upper
// one. Each of the three is an approximation and says so.
#include <algorithm>
#include <cmath>

#include "acoustics/materials/materials.h"
#include "design/products/kinds.h"

namespace roomwright::design {

namespace {

constexpr int strip_count = 8;       // halving it moves the octave values by under 0.02
constexpr double trap_doubt = 0.20;  // relative; a field solution replaces it
constexpr double cloud_doubt = 0.25;
constexpr double stated_spread = 0.10;  // of a stated flow resistivity
const double pi = std::acos(-1.0);

struct Resistivity {
  double low = 0, likely = 0, high = 0;
};

/// Stated: ±10 %. Else the library's range for the board's material.
Resistivity resistivity_of(const shop::Board& board) {
  if (board.flow_resistivity_pa_s_m2) {
    const double stated = *board.flow_resistivity_pa_s_m2;
    return {stated * (1 - stated_spread), stated, stated * (1 + stated_spread)};
  }
  if (const auto* known = acoustics::find_porous_board(board.material))
    return {known->flow_resistivity_low_pa_s_m2, known->flow_resistivity_pa_s_m2,
            known->flow_resistivity_high_pa_s_m2};
  return {5000, 15000, 40000};
}

acoustics::Layer cloth_layer(const shop::Cloth& cloth) {
  return acoustics::ScreenLayer{cloth.flow_resistance_pa_s_m, cloth.mass_kg_m2};
}

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
  stack.layers.push_back(cloth_layer(*with.cloth));
  if (wool_m > 0) stack.layers.push_back(wool_layer(wool_m, resistivity));
  if (with.back_cloth) stack.layers.push_back(cloth_layer(*with.back_cloth));
  if (gap_m > 0) stack.layers.push_back(acoustics::AirLayer{gap_m});
  return stack;
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

double wool_depth_m(const Product& product, const Ingredients& with) {
  return with.board->thickness.metres() * product.spec.board_layers;
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
  if (with.back_cloth) stack.layers.push_back(cloth_layer(*with.back_cloth));
  stack.layers.push_back(wool_layer(wool_depth_m(product, with), resistivity));
  stack.layers.push_back(cloth_layer(*with.cloth));
  stack.backing = acoustics::Backing::open;
  return stack;
}

Sound sound_with(const Product& product, const Ingredients& with, double resistivity,
                 double corner_angle_deg) {
  Sound sound;
  sound.face_width_m = product.width.metres();
  sound.face_height_m = product.height.metres();
  const double wool_m = wool_depth_m(product, with);
  const double gap_m = product.depth.metres() - wool_m + product.spec.gap.metres();
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
  }
  return sound;
}

Ingredients ingredients_of(const Product& product, const shop::Shop& shop) {
  Ingredients with;
  with.shop = &shop;
  with.timber = &shop.timber.at(product.spec.timber);
  with.board = &shop.boards.at(product.spec.board);
  with.cloth = &shop.cloths.at(product.spec.cloth);
  if (!product.spec.back_cloth.empty()) with.back_cloth = &shop.cloths.at(product.spec.back_cloth);
  return with;
}

/// Absorption of each sound by octave in m²: its strips over the face, then over the upper face.
/// All stacks go to the engine at once, since they share the face's size.
Result<std::vector<acoustics::OctaveSpectrum>> areas_of(const std::vector<Sound>& sounds,
                                                        const acoustics::Air& air,
                                                        std::vector<std::string>& warnings) {
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
  const auto reports = acoustics::octave_absorptions(stacks, air, options);
  if (!reports) return reports.mistakes();
  std::vector<acoustics::OctaveSpectrum> out(sounds.size());
  for (std::size_t s = 0; s < stacks.size(); ++s) {
    for (std::size_t band = 0; band < out[0].size(); ++band)
      out[owner[s]][band] += areas_m2[s] * (*reports)[s].absorption[band];
    for (const auto& warning : (*reports)[s].warnings)
      if (std::find(warnings.begin(), warnings.end(), warning.what) == warnings.end())
        warnings.push_back(warning.what);
  }
  return out;
}

}  // namespace

Sound sound_of(const Product& product, const Ingredients& with) {
  return sound_with(product, with, resistivity_of(*with.board).likely, 90);
}

Result<PieceAbsorption> absorption_of(const Product& product, const shop::Shop& shop,
                                      const acoustics::Air& air, double corner_angle_deg) {
  const Ingredients with = ingredients_of(product, shop);
  const Resistivity resistivity = resistivity_of(*with.board);
  std::vector<Sound> sounds;
  for (const double value : {resistivity.low, resistivity.likely, resistivity.high})
    sounds.push_back(sound_with(product, with, value, corner_angle_deg));
  PieceAbsorption out;
  const auto areas = areas_of(sounds, air, out.warnings);
  if (!areas) return areas.mistakes();
  const double doubt = product.sound.approximation_doubt;
  const double area_m2 = product.sound.face_width_m * product.sound.face_height_m;
  out.likely_m2 = (*areas)[1];
  for (std::size_t i = 0; i < out.likely_m2.size(); ++i) {
    const auto [least, most] = std::minmax({(*areas)[0][i], (*areas)[1][i], (*areas)[2][i]});
    out.low_m2[i] = least * (1 - doubt);
    out.high_m2[i] = most * (1 + doubt);
    out.coefficient[i] = out.likely_m2[i] / area_m2;
  }
  return out;
}

}  // namespace roomwright::design
