// SHA-256 (FIPS 180-4), by the library that will also speak TLS.
#include <openssl/evp.h>

#include <array>

#include "app/store/store.h"

namespace roomwright::app {

std::string sha256_hex(std::string_view bytes) {
  std::array<unsigned char, 32> digest{};
  const int done =
      EVP_Digest(bytes.data(), bytes.size(), digest.data(), nullptr, EVP_sha256(), nullptr);
  RW_ASSERT(done == 1);
  std::string out;
  for (const unsigned byte : digest)
    for (const unsigned half : {byte >> 4u, byte & 15u}) out += "0123456789abcdef"[half];
  return out;
}

}  // namespace roomwright::app
