// Private to job/stages: numbers and texts as bytes, for what is kept between runs.
#pragma once

#include <bit>
#include <complex>
#include <cstdint>
#include <string>

#include "core/geometry/geometry.h"

namespace roomwright::job {

/// Numbers as bytes, lowest first.
class Writer {
 public:
  void whole(std::uint64_t value) {
    for (int i = 0; i < 8; ++i) bytes_ += static_cast<char>(value >> (8 * i));
  }
  void number(double value) { whole(std::bit_cast<std::uint64_t>(value)); }
  void number(std::complex<double> value) { number(value.real()), number(value.imag()); }
  void number(Vec2 at) { number(at.x), number(at.y); }
  void number(Vec3 at) { number(at.x), number(at.y), number(at.z); }
  void text(const std::string& value) {
    whole(value.size());
    bytes_ += value;
  }
  template <class List>
  void list(const List& values) {
    whole(values.size());
    for (const auto& value : values) number(value);
  }
  std::string take() { return std::move(bytes_); }

 private:
  std::string bytes_;
};

/// Reads what Writer wrote; `good` is false after anything that does not fit.
class Opener {
 public:
  explicit Opener(const std::string& bytes) : bytes_(bytes) {}
  bool good = true;
  bool at_end() const { return at_ == bytes_.size(); }
  std::uint64_t whole() {
    if (bytes_.size() - at_ < 8) {
      good = false;
      return 0;
    }
    std::uint64_t out = 0;
    for (int i = 0; i < 8; ++i)
      out |= std::uint64_t(static_cast<unsigned char>(bytes_[at_ + std::size_t(i)])) << (8 * i);
    at_ += 8;
    return out;
  }
  double number() { return std::bit_cast<double>(whole()); }
  std::complex<double> complex() {
    const double re = number();
    return {re, number()};
  }
  /// A count that its items can still follow, each of at least so many bytes.
  std::size_t count(std::size_t bytes_each) {
    const std::uint64_t out = whole();
    if (out > (bytes_.size() - at_) / bytes_each) good = false;
    return good ? static_cast<std::size_t>(out) : 0;
  }
  std::string text() {
    const std::size_t size = count(1);
    std::string out = bytes_.substr(at_, size);
    at_ += size;
    return out;
  }

 private:
  const std::string& bytes_;
  std::size_t at_ = 0;
};

}  // namespace roomwright::job
