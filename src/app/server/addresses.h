// Private to app/server: this machine on the local network.
#pragma once

#include <string>
#include <vector>

namespace roomwright::app {

struct LocalAddress {
  std::string text;  ///< `192.168.1.20`
  std::string mask;  ///< `255.255.255.0`
};

/// IPv4 addresses of interfaces that are up, without loopback; those of private networks (RFC 1918)
/// first.
std::vector<LocalAddress> local_addresses();

/// `shop-desk`: lower case, the first word of the machine's name; empty where it has none that may
/// stand in a certificate.
std::string machine_name();

/// Is this peer on a network that the machine itself is on: private, link-local, loopback, or in
/// the mask of one of its own addresses?
bool is_near(const std::string& peer, const std::vector<LocalAddress>& own);

}  // namespace roomwright::app
