// Private to app/api: the products of a job as JSON.
#pragma once

#include "app/api/api.h"

namespace roomwright::app {

/// Each product as it is made: sizes, weight, centre of gravity, edge, screws, and every finding at
/// the bench with its clearance.
Json products_json(const job::Treatment& treatment);

}  // namespace roomwright::app
