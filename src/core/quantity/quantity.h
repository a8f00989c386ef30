// People's units in and out, and the exact numbers behind them. A Length is a whole number of
// nanometres (1/64 in is 396 875 of them, 1 mm is 1 000 000: both exact), a Money a whole number of
// minor units, a Decimal what someone wrote. None of them is ever a binary fraction; physics asks a
// Length for its metres as a double. Knows no locale.
#pragma once

#include <compare>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/base.h"

namespace roomwright {

// ---- Length ---------------------------------------------------------------------------------

/// A length, exact to the nanometre. Arithmetic is that of whole numbers; what people type stays
/// within ±10 km, so sums of many cannot overflow (2^63 nm is nine million kilometres).
class Length {
 public:
  constexpr Length() = default;
  static constexpr Length from_nm(std::int64_t nanometres) { return Length(nanometres); }
  /// To the nearest nanometre, halves away from zero.
  static constexpr Length from_mm(double millimetres) { return Length(nearest(millimetres * 1e6)); }
  static constexpr Length from_m(double metres) { return Length(nearest(metres * 1e9)); }
  static constexpr Length from_inch(double inches) { return Length(nearest(inches * 25.4e6)); }

  constexpr std::int64_t nanometres() const { return nm_; }
  constexpr double metres() const { return static_cast<double>(nm_) / 1e9; }
  constexpr double millimetres() const { return static_cast<double>(nm_) / 1e6; }
  constexpr double inches() const { return static_cast<double>(nm_) / 25.4e6; }

  constexpr auto operator<=>(const Length&) const = default;
  constexpr Length operator-() const { return Length(-nm_); }
  constexpr Length operator+(Length other) const { return Length(nm_ + other.nm_); }
  constexpr Length operator-(Length other) const { return Length(nm_ - other.nm_); }
  constexpr Length& operator+=(Length other) { return *this = *this + other; }
  constexpr Length& operator-=(Length other) { return *this = *this - other; }
  constexpr Length operator*(std::int64_t count) const { return Length(nm_ * count); }

  /// To a multiple of the grid (above 0): the nearest, halves away from zero; the next at or above;
  /// the next at or below.
  constexpr Length round_to(Length grid) const {
    const std::int64_t half = grid.nm_ / 2;
    return Length((nm_ >= 0 ? (nm_ + half) / grid.nm_ : -((-nm_ + half) / grid.nm_)) * grid.nm_);
  }
  constexpr Length round_up_to(Length grid) const {
    return Length((nm_ / grid.nm_ + (nm_ % grid.nm_ > 0 ? 1 : 0)) * grid.nm_);
  }
  constexpr Length round_down_to(Length grid) const {
    return Length((nm_ / grid.nm_ - (nm_ % grid.nm_ < 0 ? 1 : 0)) * grid.nm_);
  }

 private:
  constexpr explicit Length(std::int64_t nanometres) : nm_(nanometres) {}
  static constexpr std::int64_t nearest(double value) {
    return static_cast<std::int64_t>(value < 0 ? value - 0.5 : value + 0.5);
  }
  std::int64_t nm_ = 0;
};

constexpr Length operator""_mm(unsigned long long mm) {
  return Length::from_nm(static_cast<std::int64_t>(mm) * 1'000'000);
}
constexpr Length operator""_in(unsigned long long inches) {
  return Length::from_nm(static_cast<std::int64_t>(inches) * 25'400'000);
}
inline constexpr Length eighth_inch = Length::from_nm(3'175'000);
inline constexpr Length sixteenth_inch = Length::from_nm(1'587'500);

/// Lengths that people type lie within this.
inline constexpr Length greatest_typed_length = Length::from_nm(10'000'000'000'000);

enum class LengthUnit { m, cm, mm, ft, in };
inline const std::vector<std::string>& length_unit_names() {
  static const std::vector<std::string> names = {"m", "cm", "mm", "ft", "in"};
  return names;
}

/// Reads `13' 7 1/2"`, `13ft 7.5in`, `4.15 m`, `415 cm`, `4150 mm`, `163 1/2 in`, `3/8"`, `7½"`,
/// typographic primes and quotes too; a bare number takes the unit given. Decimals are read digit
/// by digit and rounded to the nearest nanometre, halves away from zero. Errors: what stands at
/// fault and how to write it.
Result<Length> read_length(std::string_view text, LengthUnit bare);

/// A number that stood bare in a document, by the digits in which it is written.
Result<Length> read_length(double number, LengthUnit bare);

/// How a shop reads and writes.
struct Units {
  bool metric = true;
  int denominator = 16;  ///< of inches: 2, 4, 8, 16, 32 or 64
  bool operator==(const Units&) const = default;
};

/// `14 3/8"`, `0"`, `-3/16"`; with feet `1'-0"`, `13'-7 1/2"`. Rounded to the denominator, halves
/// away from zero, with carry.
std::string print_inches(Length length, int denominator = 16, bool feet = false);
/// `1200 mm`, halves away from zero.
std::string print_mm(Length length);
/// `3.2 mm`: for clearances, where a whole millimetre says too little.
std::string print_mm_tenths(Length length);
/// Whole millimetres or inches: what stands on a shop's sheet.
std::string print_length(Length length, const Units& units);
/// The same without `mm` or with the inch sign: for dimensions on drawings, where the title block
/// names the unit.
std::string print_dimension(Length length, const Units& units);
/// Clearances and small differences: tenths of a millimetre, or 64ths of an inch.
std::string print_fine(Length length, const Units& units);
/// `4.15 m` or `13'-7 3/8"`.
std::string print_room_length(double metres, const Units& units);
/// `12.3 m²` or `132 ft²`; `38.2 m³` or `1349 ft³`; `8.4 kg` or `18.5 lb`.
std::string print_area(double square_metres, const Units& units);
std::string print_volume(double cubic_metres, const Units& units);
std::string print_mass(double kilograms, const Units& units);

// ---- Decimal and Money ----------------------------------------------------------------------

/// A decimal number as it was written: mantissa × 10^-scale.
struct Decimal {
  std::int64_t mantissa = 0;
  int scale = 0;  ///< 0 … 9
  double value() const;
  /// In the fewest digits.
  std::string text() const;
  bool operator==(const Decimal& other) const;
};

/// `12`, `-0.5`, `19.6`: at most 15 digits, 9 of them after the point. Errors: what is at fault.
Result<Decimal> read_decimal(std::string_view text);
/// The digits in which the number is written shortest; errors where it has more than Decimal holds.
Result<Decimal> read_decimal(double number);

/// How a fraction of a minor unit, or of a decimal's last place, is treated.
enum class Rounding { half_up, half_even, up, down };  ///< half_up, up: away from zero

struct Currency {
  std::string code = "EUR";  ///< ISO 4217
  int digits = 2;            ///< of the minor unit
  std::string sign = "€";    ///< before the amount
  bool operator==(const Currency&) const = default;
};
/// The currencies that we know by code; nullptr for others.
const Currency* find_currency(std::string_view code);
const std::vector<std::string>& currency_codes();

/// An amount in whole minor units. Which currency it is in stands once, beside it.
class Money {
 public:
  constexpr Money() = default;
  static constexpr Money minor(std::int64_t units) { return Money(units); }
  constexpr std::int64_t minor_units() const { return units_; }
  constexpr auto operator<=>(const Money&) const = default;
  constexpr Money operator+(Money other) const { return Money(units_ + other.units_); }
  constexpr Money operator-(Money other) const { return Money(units_ - other.units_); }
  constexpr Money operator-() const { return Money(-units_); }
  constexpr Money& operator+=(Money other) { return *this = *this + other; }
  constexpr Money operator*(std::int64_t count) const { return Money(units_ * count); }

  /// Times a decimal (a quantity, or a rate), rounded once.
  Money times(const Decimal& factor, Rounding rounding) const;
  /// Times numerator / denominator (denominator above 0), rounded once.
  Money times(std::int64_t numerator, std::int64_t denominator, Rounding rounding) const;
  /// So many per cent of it.
  Money percent(const Decimal& rate, Rounding rounding) const;

 private:
  constexpr explicit Money(std::int64_t units) : units_(units) {}
  std::int64_t units_ = 0;
};

/// The largest amount that a document may state, so that a job's sums cannot overflow.
inline constexpr Money greatest_typed_money = Money::minor(100'000'000'000);

/// A decimal as money. Errors: more places than the currency has; beyond greatest_typed_money.
Result<Money> money_of(const Decimal& amount, const Currency& currency);

/// Splits a total in proportion to weights (each at least 0, not all 0; else in equal parts) so
/// that the parts add up to it: largest remainder, the first of equals.
std::vector<Money> allocate(Money total, const std::vector<std::int64_t>& weights);

/// `€ 1,234.50`, `-$ 3.00`.
std::string print_money(Money money, const Currency& currency);
/// `1234.50`: for tables that programs read.
std::string plain_money(Money money, const Currency& currency);

}  // namespace roomwright
