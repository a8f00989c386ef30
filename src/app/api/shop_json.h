// Private to app/api: what the shop cuts, buys, hangs and packs, as JSON.
#pragma once

#include "app/api/api.h"

namespace roomwright::app {

Json build_json(const job::Job& job, const job::BuildSheet& build);
Json price_json(const job::Job& job, const job::PriceSheet& price);
Json hang_json(const job::HangSheet& hang);
Json packing_json(const job::Job& job, const job::PackingSheet& packing);

}  // namespace roomwright::app
