// The calculators: each takes one JSON request and gives one JSON answer or every mistake in the
// request. docs/interface.md says the keys. A mistake whose `what` begins with "is not built yet"
// means that the request is sound but we cannot serve it so far.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "core/base/base.h"
#include "core/reading/reading.h"

namespace roomwright::app {

Result<Json> calc_absorber(const Json& request);
Result<Json> calc_rating(const Json& request);
Result<Json> calc_diffuser(const Json& request);
Result<Json> calc_fixing(const Json& request);
/// Reads the files that the request names.
Result<Json> calc_impulse(const Json& request);
Result<Json> calc_modes(const Json& request);
Result<Json> calc_decay(const Json& request);
Result<Json> calc_reflections(const Json& request);
Result<Json> calc_response(const Json& request);
Result<Json> calc_cutting(const Json& request);
Result<Json> calc_layout(const Json& request);

}  // namespace roomwright::app
