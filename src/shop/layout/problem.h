// Private to shop/layout: the order in the form in which it is solved. Parts and material are
// larger by one kerf each: then a kerf lies behind every part, none is needed at the far edge, and
// the rest of the folder knows no kerf. With a repeat, heights are rounded up to it, so that
// whatever is stacked begins at multiples.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "shop/layout/layout.h"

namespace roomwright::shop {

struct Item {
  std::int64_t width = 0, height = 0;  ///< enlarged
  std::int64_t count = 0;
  std::int64_t value = 0;
  bool turns = false;      ///< may lie both ways, and they differ
  std::int64_t slack = 0;  ///< what rounding to the repeat added to the height
  std::vector<std::pair<int, std::int64_t>> owners;  ///< part of the order, and its count
};
struct Material {
  std::int64_t width = 0, height = 0;  ///< enlarged
  std::int64_t cost = 0;
  std::int64_t count = -1;  ///< -1: as many as wanted
  std::int64_t per_pack = 1;
  int sheet = 0;
};
/// A roll is the one material of a problem, with height 0.
struct LayoutProblem {
  std::vector<Item> items;
  std::vector<Material> materials;
  std::int64_t kerf = 0, repeat = 0, origin_x = 0;
  bool roll = false, most = false;

  std::int64_t pieces() const;
  double area() const;  ///< of all items
  std::int64_t width(std::size_t item, bool turned) const {
    return turned ? items[item].height : items[item].width;
  }
  std::int64_t height(std::size_t item, bool turned) const {
    return turned ? items[item].width : items[item].height;
  }
  bool fits(std::size_t item, bool turned, const Material& material) const {
    return (!turned || items[item].turns) && width(item, turned) <= material.width &&
           (roll || height(item, turned) <= material.height);
  }
};

/// Every mistake in the order's numbers, and parts that fit nothing.
void check_order(const LayoutOrder& order, Diagnostics& found);

/// For an order without mistakes. Parts of no count, and for most value parts that fit nothing,
/// are left out; equal parts are gathered.
LayoutProblem problem_of(const LayoutOrder& order);

/// Phases of a repeat that are free to choose: the trees of this folder do not serve then.
bool free_phases(const LayoutOrder& order);

/// Cost of so many sheets by material, in whole packs.
std::int64_t cost_of(const LayoutProblem& problem, const std::vector<std::int64_t>& counts);

}  // namespace roomwright::shop
