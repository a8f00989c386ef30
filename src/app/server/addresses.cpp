// See addresses.h.
#include "app/server/addresses.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <cstdint>
#include <optional>

namespace roomwright::app {

namespace {

std::optional<std::uint32_t> number_of(const std::string& text) {
  in_addr out{};
  if (::inet_pton(AF_INET, text.c_str(), &out) != 1) return std::nullopt;
  return ntohl(out.s_addr);
}

std::string text_of(const sockaddr* address) {
  char text[INET_ADDRSTRLEN] = {};
  ::inet_ntop(AF_INET, &reinterpret_cast<const sockaddr_in*>(address)->sin_addr, text, sizeof text);
  return text;
}

bool within(std::uint32_t address, std::uint32_t network, int bits) {
  return (address ^ network) >> (32 - bits) == 0;
}

/// Source: RFC 1918, 3; RFC 3927, 2.1 (link-local); RFC 6598, 7 (shared between a carrier's
/// customers: not near).
bool is_private(std::uint32_t address) {
  return within(address, 0x0A000000, 8) || within(address, 0xAC100000, 12) ||
         within(address, 0xC0A80000, 16) || within(address, 0xA9FE0000, 16);
}

}  // namespace

std::vector<LocalAddress> local_addresses() {
  ifaddrs* all = nullptr;
  if (::getifaddrs(&all) != 0) return {};
  std::vector<LocalAddress> out;
  for (const ifaddrs* one = all; one; one = one->ifa_next) {
    const bool usable = one->ifa_addr && one->ifa_netmask && one->ifa_addr->sa_family == AF_INET &&
                        (one->ifa_flags & IFF_UP) && !(one->ifa_flags & IFF_LOOPBACK);
    if (usable) out.push_back({text_of(one->ifa_addr), text_of(one->ifa_netmask)});
  }
  ::freeifaddrs(all);
  std::stable_partition(out.begin(), out.end(), [](const LocalAddress& one) {
    return is_private(number_of(one.text).value_or(0));
  });
  return out;
}

std::string machine_name() {
  char name[256] = {};
  if (::gethostname(name, sizeof name - 1) != 0) return {};
  std::string out(name);
  out = out.substr(0, out.find('.'));
  for (char& c : out) c = char(std::tolower(static_cast<unsigned char>(c)));
  const bool good = !out.empty() && out.size() <= 63 && out.front() != '-' && out.back() != '-' &&
                    out != "localhost" && std::all_of(out.begin(), out.end(), [](unsigned char c) {
                      return std::isalnum(c) || c == '-';
                    });
  return good ? out : std::string();
}

bool is_near(const std::string& peer, const std::vector<LocalAddress>& own) {
  const auto address = number_of(peer);
  if (!address) return false;
  if (within(*address, 0x7F000000, 8) || is_private(*address)) return true;
  return std::any_of(own.begin(), own.end(), [&](const LocalAddress& one) {
    const auto here = number_of(one.text), mask = number_of(one.mask);
    return here && mask && *mask != 0 && (*here & *mask) == (*address & *mask);
  });
}

}  // namespace roomwright::app
