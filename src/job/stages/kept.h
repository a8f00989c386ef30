// Private to job/stages: long solutions, kept from one run to the next.
#pragma once

#include "job/stages/stages.h"

namespace roomwright::job {

/// acoustics::responses, or what an earlier run kept of it. The key is all that the answer depends
/// on; what was kept is used only where that agrees byte by byte and the value is whole.
Result<std::vector<acoustics::ResponseReport>> kept_responses(
    const acoustics::ResponseRequest& request, const acoustics::ResponseOptions& options,
    const Run& run);

/// What an earlier run kept of it, if it did.
std::optional<std::vector<acoustics::ResponseReport>> known_responses(
    const acoustics::ResponseRequest& request, const acoustics::ResponseOptions& options,
    const Keep& keep);

/// All that acoustics answers about a request depend on, as bytes.
std::string key_of_request(const acoustics::ResponseRequest& request,
                           const acoustics::ResponseOptions& options);

/// Numbers of some kind, made or what an earlier run kept of them. The key names the kind and holds
/// all that they depend on.
Result<std::vector<double>> kept_numbers(const std::string& key, const Keep& keep,
                                         const std::function<Result<std::vector<double>>()>& make);

}  // namespace roomwright::job
