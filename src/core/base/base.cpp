// The small machinery behind base.h.
#include "core/base/base.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <thread>

namespace roomwright {

std::string Complaint::sentence() const {
  std::string out;
  if (line > 0) out += "line " + std::to_string(line) + ": ";
  if (!where.empty()) out += where + ": ";
  out += what;
  if (const auto* number = std::get_if<double>(&got)) out += ", got " + shortest(*number);
  if (const auto* text = std::get_if<std::string>(&got)) out += ", got " + *text;
  if (!remedy.empty()) out += "; " + remedy;
  return out;
}

void Diagnostics::add(std::string where, std::string what, Got got, std::string remedy) {
  items_.push_back({std::move(where), std::move(what), std::move(got), std::move(remedy), 0});
}

void Diagnostics::add_all(const Diagnostics& other) {
  items_.insert(items_.end(), other.items_.begin(), other.items_.end());
}

std::string Diagnostics::text() const {
  std::string out;
  for (const auto& item : items_) out += item.sentence() + "\n";
  return out;
}

void assertion_failed(const char* condition, const char* file, int line) {
  std::fprintf(stderr, "roomwright: our own mistake: %s does not hold (%s:%d)\n", condition, file,
               line);
  std::abort();
}

Random::Random(std::uint64_t seed) : state_(0) {
  next();
  state_ += seed;
  next();
}

std::uint32_t Random::next() {
  const std::uint64_t old = state_;
  state_ = old * 6364136223846793005ULL + 1442695040888963407ULL;
  const auto shifted = static_cast<std::uint32_t>(((old >> 18u) ^ old) >> 27u);
  const auto turn = static_cast<std::uint32_t>(old >> 59u);
  return (shifted >> turn) | (shifted << ((32u - turn) & 31u));
}

std::uint32_t Random::below(std::uint32_t count) {
  RW_ASSERT(count > 0);
  const std::uint32_t threshold = (0u - count) % count;  // rejects the uneven start of the range
  for (;;) {
    const std::uint32_t drawn = next();
    if (drawn >= threshold) return drawn % count;
  }
}

std::int64_t Random::between(std::int64_t lo, std::int64_t hi) {
  RW_ASSERT(lo <= hi);
  const std::uint64_t span = static_cast<std::uint64_t>(hi) - static_cast<std::uint64_t>(lo) + 1;
  const std::uint64_t high = next();
  const std::uint64_t drawn = (high << 32u) | next();
  return span == 0 ? static_cast<std::int64_t>(drawn)
                   : static_cast<std::int64_t>(static_cast<std::uint64_t>(lo) + drawn % span);
}

double Random::unit() {
  const std::uint64_t high = next();
  const std::uint64_t drawn = (high << 32u) | next();
  return static_cast<double>(drawn >> 11u) * 0x1.0p-53;
}

int default_threads() {
  return std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
}

void parallel_for(std::size_t count, int threads, const std::function<void(std::size_t)>& body) {
  const std::size_t wanted = static_cast<std::size_t>(threads > 0 ? threads : default_threads());
  const std::size_t used = std::min(wanted, count);
  if (used <= 1) {
    for (std::size_t i = 0; i < count; ++i) body(i);
    return;
  }
  std::atomic<std::size_t> next{0};
  auto work = [&] {
    for (std::size_t i = next++; i < count; i = next++) body(i);
  };
  std::vector<std::thread> helpers;
  for (std::size_t t = 1; t < used; ++t) helpers.emplace_back(work);
  work();
  for (auto& helper : helpers) helper.join();
}

namespace {

Complaint system_fault(const std::string& path, const char* doing) {
  const int fault = errno;
  return {path, std::string("cannot ") + doing + ": " + std::strerror(fault), {}, {}, 0};
}

}  // namespace

Result<Done> write_file(const std::string& path, std::string_view bytes) {
  const std::string beside = path + ".part" + std::to_string(::getpid());
  const int file = ::open(beside.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
  if (file < 0) return system_fault(path, "write");
  std::size_t written = 0;
  while (written < bytes.size()) {
    const ssize_t step = ::write(file, bytes.data() + written, bytes.size() - written);
    if (step < 0 && errno == EINTR) continue;
    if (step <= 0) {
      Complaint fault = system_fault(path, "write");
      ::close(file);
      ::unlink(beside.c_str());
      return fault;
    }
    written += static_cast<std::size_t>(step);
  }
  if (::fsync(file) != 0 && errno != EINVAL) {
    Complaint fault = system_fault(path, "write");
    ::close(file);
    ::unlink(beside.c_str());
    return fault;
  }
  if (::close(file) != 0 || ::rename(beside.c_str(), path.c_str()) != 0) {
    Complaint fault = system_fault(path, "write");
    ::unlink(beside.c_str());
    return fault;
  }
  return Done{};
}

Result<std::string> read_file(const std::string& path, std::size_t max_bytes) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return system_fault(path, "read");
  std::string bytes;
  char block[1 << 16];
  for (;;) {
    const ssize_t step = ::read(file, block, sizeof block);
    if (step < 0 && errno == EINTR) continue;
    if (step < 0) {
      Complaint fault = system_fault(path, "read");
      ::close(file);
      return fault;
    }
    if (step == 0) break;
    bytes.append(block, static_cast<std::size_t>(step));
    if (bytes.size() > max_bytes) {
      ::close(file);
      return Complaint{path,
                       "is larger than " + std::to_string(max_bytes) + " bytes",
                       {},
                       "give a smaller file",
                       0};
    }
  }
  ::close(file);
  return bytes;
}

std::string shortest(double value) {
  char text[32];
  const auto end = std::to_chars(text, text + sizeof text, value).ptr;
  return std::string(text, end);
}

std::string fixed(double value, int decimals) {
  if (!std::isfinite(value)) return shortest(value);
  // Scaling first makes halves go away from zero where the decimal text has one: 0.125 -> 0.13.
  const double scale = std::pow(10.0, decimals);
  double scaled = value * scale;
  if (std::abs(scaled) < 1e15) {
    scaled = std::round(scaled);
    value = scaled / scale;
  }
  if (value == 0) value = 0;  // no minus sign on zero
  char text[64];
  const auto end =
      std::to_chars(text, text + sizeof text, value, std::chars_format::fixed, decimals);
  return end.ec == std::errc() ? std::string(text, end.ptr) : shortest(value);
}

}  // namespace roomwright
