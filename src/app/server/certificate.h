// Private to app/server: the certificates of the local network. No outside authority can vouch for
// a machine in a workshop, so the store has a small authority of its own; a phone that trusts it
// once trusts this machine's address for as long as the authority lives. The authority may vouch
// only for private addresses, the networks that the machine was on when it was made, and names
// under
// `.local`: whoever steals its key cannot pose as a bank.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "app/server/addresses.h"
#include "core/base/base.h"

namespace roomwright::app {

struct ServerCertificate {
  std::string authority_pem;  ///< what a phone is to trust
  std::string chain_pem;      ///< the machine's own, then the authority's
  std::string key_pem;
  std::string fingerprint;  ///< SHA-256 of the authority, `AB:CD:…`
  std::string until;        ///< the authority's last day, `2036-11-24`
  bool renewed = false;     ///< the machine's own was made anew
};

struct CertificateNames {
  std::vector<LocalAddress> addresses;
  std::string machine;  ///< may be empty
};

/// From the folder, or made anew where it is not there, does not fit the names any more, or ends
/// within 30 days. Files and folder are for their owner alone. Errors: the folder cannot be
/// written; the files in it are damaged.
Result<ServerCertificate> certificate_for(const std::string& folder, const CertificateNames& names,
                                          std::int64_t now_s);

/// The authority's certificate as a phone downloads it (DER).
std::string authority_der(const ServerCertificate& certificate);

}  // namespace roomwright::app
