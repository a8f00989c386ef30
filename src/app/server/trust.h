// Private to app/server: /trust, the plain page that says how a phone comes to trust this shop's
// own certificate. It needs no script and no role: whoever is not trusted yet must be able to read
// it.
#pragma once

#include <string>

#include "app/server/certificate.h"
#include "app/service/service.h"

namespace roomwright::app {

struct TrustPage {
  std::string lan_address;  ///< empty: the local network is off
  ServerCertificate certificate;
};

/// Answers GET of `/trust` and of what lies under it.
PageAnswer answer_trust(const TrustPage& page, std::string_view path);

}  // namespace roomwright::app
