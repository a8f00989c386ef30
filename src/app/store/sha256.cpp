// SHA-256 by FIPS 180-4, with the constants of its section 4.2.2 and the padding of 5.1.1.
#include <array>
#include <bit>
#include <cstring>

#include "app/store/store.h"

namespace roomwright::app {

namespace {

constexpr std::array<std::uint32_t, 64> sha_constants = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

using ShaState = std::array<std::uint32_t, 8>;

void sha_block(ShaState& state, const unsigned char* block) {
  std::array<std::uint32_t, 64> w{};
  for (std::size_t t = 0; t < 16; ++t)
    w[t] = std::uint32_t(block[4 * t]) << 24u | std::uint32_t(block[4 * t + 1]) << 16u |
           std::uint32_t(block[4 * t + 2]) << 8u | std::uint32_t(block[4 * t + 3]);
  for (std::size_t t = 16; t < 64; ++t) {
    const std::uint32_t a = w[t - 15], b = w[t - 2];
    w[t] = (std::rotr(b, 17) ^ std::rotr(b, 19) ^ (b >> 10u)) + w[t - 7] +
           (std::rotr(a, 7) ^ std::rotr(a, 18) ^ (a >> 3u)) + w[t - 16];
  }
  ShaState v = state;
  for (std::size_t t = 0; t < 64; ++t) {
    const std::uint32_t choice = (v[4] & v[5]) ^ (~v[4] & v[6]);
    const std::uint32_t majority = (v[0] & v[1]) ^ (v[0] & v[2]) ^ (v[1] & v[2]);
    const std::uint32_t one = v[7] +
                              (std::rotr(v[4], 6) ^ std::rotr(v[4], 11) ^ std::rotr(v[4], 25)) +
                              choice + sha_constants[t] + w[t];
    const std::uint32_t two =
        (std::rotr(v[0], 2) ^ std::rotr(v[0], 13) ^ std::rotr(v[0], 22)) + majority;
    v = {one + two, v[0], v[1], v[2], v[3] + one, v[4], v[5], v[6]};
  }
  for (std::size_t i = 0; i < 8; ++i) state[i] += v[i];
}

}  // namespace

std::string sha256_hex(std::string_view bytes) {
  ShaState state = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                    0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
  const std::size_t whole = bytes.size() / 64;
  for (std::size_t i = 0; i < whole; ++i) sha_block(state, data + 64 * i);
  unsigned char tail[128] = {};
  const std::size_t rest = bytes.size() - 64 * whole;
  if (rest > 0) std::memcpy(tail, data + 64 * whole, rest);
  tail[rest] = 0x80;
  const std::size_t blocks = rest < 56 ? 1 : 2;
  const std::uint64_t bits = std::uint64_t(bytes.size()) * 8;
  for (std::size_t i = 0; i < 8; ++i)
    tail[64 * blocks - 1 - i] = static_cast<unsigned char>(bits >> (8 * i));
  for (std::size_t i = 0; i < blocks; ++i) sha_block(state, tail + 64 * i);
  std::string out;
  for (const std::uint32_t word : state)
    for (int shift = 28; shift >= 0; shift -= 4) out += "0123456789abcdef"[word >> shift & 15u];
  return out;
}

}  // namespace roomwright::app
