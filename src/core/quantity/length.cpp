// Lengths as people write them; see quantity.h. Reading is exact: every number is kept as a
// fraction of whole numbers until the one rounding to a nanometre.
#include <algorithm>
#include <cmath>
#include <optional>

#include "core/quantity/quantity.h"

namespace roomwright {

namespace {

/// A value in nanometres as numerator / denominator, both within 128 bits.
__extension__ using Wide = __int128;

struct Signs {
  const char* text;
  const char* plain;
};

/// Typographic signs in their plain form, so that one small grammar reads all.
constexpr Signs sign_table[] = {
    {"′", "'"},    {"’", "'"},      {"‘", "'"},      {"″", "\""},     {"”", "\""},   {"“", "\""},
    {"½", " 1/2"}, {"¼", " 1/4"},   {"¾", " 3/4"},   {"⅛", " 1/8"},   {"⅜", " 3/8"}, {"⅝", " 5/8"},
    {"⅞", " 7/8"}, {"\u00a0", " "}, {"\u202f", " "}, {"\u2009", " "}, {"−", "-"},    {"⁄", "/"},
};

std::string plain_signs(std::string_view text) {
  std::string out(text);
  for (const Signs& sign : sign_table) {
    const std::string_view wanted(sign.text);
    for (std::size_t at = out.find(wanted); at != std::string::npos; at = out.find(wanted, at))
      out.replace(at, wanted.size(), sign.plain);
  }
  for (std::size_t at = out.find("''"); at != std::string::npos; at = out.find("''"))
    out.replace(at, 2, "\"");
  return out;
}

struct Fault {
  std::string what, remedy;
};

/// Reads one length from left to right.
class LengthText {
 public:
  LengthText(std::string text, LengthUnit bare) : text_(std::move(text)), bare_(bare) {}

  std::optional<Length> read() {
    skip_blanks();
    bool negative = false;
    if (peek() == '-' || peek() == '+') {
      negative = text_[at_++] == '-';
      skip_blanks();
    }
    if (at_ >= text_.size()) return fail("is empty", "such as 4150 mm or 13' 7 1/2\"");
    Wide total = 0;
    int rank = 9;  // units must fall: feet, then inches
    while (at_ < text_.size()) {
      const auto part = read_part(rank);
      if (!part) return std::nullopt;
      total += *part;
      skip_blanks();
      // `13'-7"`: the dash only joins feet and inches
      if (rank == feet_rank && peek() == '-') {
        ++at_;
        skip_blanks();
      }
    }
    if (total > greatest_typed_length.nanometres())
      return fail("is beyond 10 km", "check the unit");
    const auto nm = static_cast<std::int64_t>(total);
    return Length::from_nm(negative ? -nm : nm);
  }

  const Fault& fault() const { return fault_; }

 private:
  static constexpr int feet_rank = 2;

  char peek() const { return at_ < text_.size() ? text_[at_] : '\0'; }
  bool digit() const { return peek() >= '0' && peek() <= '9'; }
  void skip_blanks() {
    while (peek() == ' ' || peek() == '\t') ++at_;
  }
  std::nullopt_t fail(std::string what, std::string remedy) {
    if (fault_.what.empty()) fault_ = {std::move(what), std::move(remedy)};
    return std::nullopt;
  }

  std::optional<std::int64_t> whole(int most_digits) {
    const std::size_t start = at_;
    std::int64_t value = 0;
    while (digit()) {
      if (static_cast<int>(at_ - start) >= most_digits)
        return fail("has too many digits", "write it shorter");
      value = value * 10 + (text_[at_++] - '0');
    }
    if (at_ == start) return fail("has no number where one is wanted", "such as 163 1/2 in");
    return value;
  }

  /// number = whole | whole.decimals | whole blank a/b | a/b, as numerator and denominator.
  bool number(Wide& numerator, Wide& denominator) {
    denominator = 1;
    if (peek() == '.') {
      numerator = 0;
    } else {
      const auto first = whole(12);
      if (!first) return false;
      numerator = *first;
      if (peek() == '/') return fraction(0, *first, numerator, denominator);
    }
    if (peek() == ',') {
      fail("has a comma", "write the decimal point as a point, without groups of thousands");
      return false;
    }
    if (peek() == '.') return decimals(numerator, denominator);
    const std::size_t before = at_;
    skip_blanks();
    if (peek() == '-') {  // 7-1/2
      ++at_;
      skip_blanks();
    }
    const std::size_t start = at_;
    if (digit()) {
      const auto top = whole(4);
      if (top && peek() == '/') return fraction(numerator, *top, numerator, denominator);
    }
    (void)start;
    at_ = before;
    fault_ = {};
    return true;
  }

  bool decimals(Wide& numerator, Wide& denominator) {
    ++at_;
    const std::size_t start = at_;
    while (digit()) {
      if (at_ - start >= 12) {
        fail("has too many digits", "write at most 12 after the point");
        return false;
      }
      numerator = numerator * 10 + (text_[at_++] - '0');
      denominator *= 10;
    }
    if (at_ == start) {
      fail("has no digit after the point", "such as 4.15 m");
      return false;
    }
    return true;
  }

  bool fraction(Wide whole_part, std::int64_t top, Wide& numerator, Wide& denominator) {
    ++at_;
    const auto bottom = whole(4);
    if (!bottom) return false;
    if (*bottom == 0) {
      fail("divides by zero", "such as 12 1/4 in");
      return false;
    }
    if (top >= *bottom && whole_part > 0) {
      fail("has a fraction that is not below 1", "write the whole number apart");
      return false;
    }
    numerator = whole_part * *bottom + top;
    denominator = *bottom;
    return true;
  }

  bool word(std::string_view wanted) {
    if (text_.compare(at_, wanted.size(), wanted) != 0) return false;
    const char after = at_ + wanted.size() < text_.size() ? text_[at_ + wanted.size()] : '\0';
    if ((after >= 'a' && after <= 'z') || (after >= 'A' && after <= 'Z')) return false;
    at_ += wanted.size();
    return true;
  }

  /// Nanometres of the unit that follows, and its rank; 0 after a fault.
  std::int64_t unit(int rank_before, int& rank) {
    skip_blanks();
    struct Known {
      std::string_view text;
      std::int64_t nm;
      int rank;
    };
    static constexpr Known known[] = {
        {"mm", 1'000'000, 0},    {"cm", 10'000'000, 0},     {"metres", 1'000'000'000, 0},
        {"m", 1'000'000'000, 0}, {"feet", 304'800'000, 2},  {"foot", 304'800'000, 2},
        {"ft", 304'800'000, 2},  {"inches", 25'400'000, 1}, {"inch", 25'400'000, 1},
        {"in", 25'400'000, 1},
    };
    if (peek() == '\'') return ++at_, rank = feet_rank, 304'800'000;
    if (peek() == '"') return ++at_, rank = 1, 25'400'000;
    for (const Known& one : known)
      if (word(one.text)) return rank = one.rank, one.nm;
    if (at_ >= text_.size()) {
      if (rank_before != 9) return rank = 1, rank_before == feet_rank ? 25'400'000 : 0;
      static constexpr std::int64_t bare[] = {1'000'000'000, 10'000'000, 1'000'000, 304'800'000,
                                              25'400'000};
      return rank = 0, bare[static_cast<int>(bare_)];
    }
    return 0;
  }

  std::optional<Wide> read_part(int& rank) {
    Wide numerator = 0, denominator = 1;
    if (!number(numerator, denominator)) return std::nullopt;
    const std::size_t start = at_;
    int own = 0;
    const std::int64_t nm = unit(rank, own);
    if (nm == 0) {
      std::string rest = text_.substr(start, 12);
      while (!rest.empty() && rest.front() == ' ') rest.erase(rest.begin());
      return fail("has an unknown unit or sign: " + rest,
                  "write m, cm, mm, ft, in, or feet ' and inches \"");
    }
    if (own >= rank) return fail("has its units out of order", "feet first, then inches");
    rank = own == 0 ? 0 : own;
    return (numerator * nm * 2 + denominator) / (denominator * 2);
  }

  std::string text_;
  LengthUnit bare_;
  std::size_t at_ = 0;
  Fault fault_;
};

/// value / step, halves away from zero.
std::int64_t rounded_steps(Length length, std::int64_t step) {
  const std::int64_t nm = length.nanometres();
  return nm >= 0 ? (nm + step / 2) / step : -((-nm + step / 2) / step);
}

int usable_denominator(int denominator) {
  for (const int known : {1, 2, 4, 8, 16, 32, 64})
    if (denominator == known) return known;
  return 16;
}

}  // namespace

Result<Length> read_length(std::string_view text, LengthUnit bare) {
  if (text.size() > 60)
    return Complaint{"", "is too long for a length", {}, "such as 4150 mm or 13' 7 1/2\"", 0};
  LengthText reader(plain_signs(text), bare);
  if (const auto length = reader.read()) return *length;
  return Complaint{"", reader.fault().what, "\"" + std::string(text) + "\"", reader.fault().remedy,
                   0};
}

Result<Length> read_length(double number, LengthUnit bare) {
  static constexpr std::int64_t nm_of[] = {1'000'000'000, 10'000'000, 1'000'000, 304'800'000,
                                           25'400'000};
  const double nm = number * static_cast<double>(nm_of[static_cast<int>(bare)]);
  if (!std::isfinite(nm) || std::abs(nm) > static_cast<double>(greatest_typed_length.nanometres()))
    return Complaint{"", "is beyond 10 km", number, "check the unit", 0};
  return Length::from_nm(std::llround(nm));
}

std::string print_inches(Length length, int denominator, bool feet) {
  denominator = usable_denominator(denominator);
  std::int64_t steps = rounded_steps(length, 25'400'000 / denominator);
  std::string out = steps < 0 ? "-" : "";
  steps = std::abs(steps);
  std::int64_t whole = steps / denominator, top = steps % denominator;
  if (feet) {
    out += std::to_string(whole / 12) + "'-";
    whole %= 12;
  }
  std::int64_t bottom = denominator;
  while (top != 0 && top % 2 == 0) {
    top /= 2;
    bottom /= 2;
  }
  const bool show_whole = whole != 0 || top == 0 || feet;
  if (show_whole) out += std::to_string(whole);
  if (top != 0) out += (show_whole ? " " : "") + std::to_string(top) + "/" + std::to_string(bottom);
  return out + "\"";
}

std::string print_mm(Length length) {
  return std::to_string(rounded_steps(length, 1'000'000)) + " mm";
}

std::string print_mm_tenths(Length length) {
  const std::int64_t tenths = rounded_steps(length, 100'000);
  return (tenths < 0 ? "-" : "") + std::to_string(std::abs(tenths) / 10) + "." +
         std::to_string(std::abs(tenths) % 10) + " mm";
}

std::string print_length(Length length, const Units& units) {
  return units.metric ? print_mm(length) : print_inches(length, units.denominator);
}

std::string print_dimension(Length length, const Units& units) {
  return units.metric ? std::to_string(rounded_steps(length, 1'000'000))
                      : print_inches(length, units.denominator);
}

std::string print_fine(Length length, const Units& units) {
  return units.metric ? print_mm_tenths(length) : print_inches(length, 64);
}

std::string print_room_length(double metres, const Units& units) {
  return units.metric ? fixed(metres, 2) + " m"
                      : print_inches(Length::from_m(metres), units.denominator, true);
}

std::string print_area(double square_metres, const Units& units) {
  return units.metric ? fixed(square_metres, 1) + " m²"
                      : fixed(square_metres / (0.3048 * 0.3048), 0) + " ft²";
}

std::string print_volume(double cubic_metres, const Units& units) {
  return units.metric ? fixed(cubic_metres, 1) + " m³"
                      : fixed(cubic_metres / (0.3048 * 0.3048 * 0.3048), 0) + " ft³";
}

std::string print_mass(double kilograms, const Units& units) {
  return units.metric ? fixed(kilograms, 1) + " kg" : fixed(kilograms / 0.45359237, 1) + " lb";
}

}  // namespace roomwright
