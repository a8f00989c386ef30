// Private to design/making: what making_of gathers.
#pragma once

#include "design/making/making.h"

namespace roomwright::design {

std::vector<StoryStick> story_sticks(const Product& product, const shop::Shop& shop);
SetUp set_up_of(const Product& product, const shop::Shop& shop);
std::vector<FoldPlan> folds_of(const Product& product, const shop::Shop& shop);
std::vector<FoldStep> back_cloth_steps(const Product& product, const shop::Shop& shop);

/// Places of staples along a side of this length: from its middle outward by the pitch, none
/// nearer to an end than `clear`; ascending.
std::vector<Length> staples_along(Length side, Length pitch, Length clear);

}  // namespace roomwright::design
