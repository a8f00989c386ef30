// Decimals and money: whole numbers with one named rounding each; see quantity.h.
#include <algorithm>
#include <charconv>
#include <cmath>

#include "core/quantity/quantity.h"

namespace roomwright {

namespace {

__extension__ using Wide128 = __int128;

Wide128 ten_to(int power) {
  Wide128 value = 1;
  for (int i = 0; i < power; ++i) value *= 10;
  return value;
}

/// numerator / denominator (above 0) as a whole number, rounded as named.
Wide128 divided(Wide128 numerator, Wide128 denominator, Rounding rounding) {
  const bool negative = numerator < 0;
  const Wide128 size = negative ? -numerator : numerator;
  Wide128 whole = size / denominator;
  const Wide128 twice = (size % denominator) * 2;
  bool away = false;
  switch (rounding) {
    case Rounding::half_up:
      away = twice >= denominator;
      break;
    case Rounding::half_even:
      away = twice > denominator || (twice == denominator && whole % 2 != 0);
      break;
    case Rounding::up:
      away = twice > 0;
      break;
    case Rounding::down:
      break;
  }
  if (away) ++whole;
  return negative ? -whole : whole;
}

Money money_from_wide(Wide128 units) {
  RW_ASSERT(units <= INT64_MAX && units >= INT64_MIN);
  return Money::minor(static_cast<std::int64_t>(units));
}

}  // namespace

double Decimal::value() const {
  return static_cast<double>(mantissa) / std::pow(10.0, scale);
}

std::string Decimal::text() const {
  std::int64_t digits = mantissa;
  int places = scale;
  while (places > 0 && digits % 10 == 0) {
    digits /= 10;
    --places;
  }
  std::string out = std::to_string(std::abs(digits));
  while (static_cast<int>(out.size()) <= places) out.insert(out.begin(), '0');
  if (places > 0) out.insert(out.size() - static_cast<std::size_t>(places), ".");
  return (mantissa < 0 ? "-" : "") + out;
}

bool Decimal::operator==(const Decimal& other) const {
  return Wide128(mantissa) * ten_to(other.scale) == Wide128(other.mantissa) * ten_to(scale);
}

Result<Decimal> read_decimal(std::string_view text) {
  const auto wrong = [&](const char* what) {
    return Complaint{"", what, "\"" + std::string(text.substr(0, 40)) + "\"", "such as 19.5", 0};
  };
  std::size_t at = 0;
  const bool negative = !text.empty() && text[0] == '-';
  if (negative) ++at;
  Decimal out;
  int digits = 0;
  bool point = false, any = false;
  for (; at < text.size(); ++at) {
    const char letter = text[at];
    if (letter == '.' && !point && any) {
      point = true;
      continue;
    }
    if (letter == ',') return wrong("has a comma where a point is wanted");
    if (letter < '0' || letter > '9') return wrong("is not a decimal number");
    any = true;
    out.mantissa = out.mantissa * 10 + (letter - '0');
    if (out.mantissa != 0 && ++digits > 15) return wrong("has more than 15 digits");
    if (point && ++out.scale > 9) return wrong("has more than 9 digits after the point");
  }
  if (!any || text.back() == '.') return wrong("is not a decimal number");
  if (negative) out.mantissa = -out.mantissa;
  return out;
}

Result<Decimal> read_decimal(double number) {
  if (!std::isfinite(number) || std::abs(number) > 1e15)
    return Complaint{"", "is beyond what a decimal holds", number, "give a smaller number", 0};
  char text[64];
  const auto end = std::to_chars(text, text + sizeof text, number, std::chars_format::fixed);
  return read_decimal(std::string_view(text, static_cast<std::size_t>(end.ptr - text)));
}

namespace {

const std::vector<Currency>& known_currencies() {
  static const std::vector<Currency> known = {
      {"AUD", 2, "A$"},  {"CAD", 2, "C$"}, {"CHF", 2, "CHF"}, {"CZK", 2, "Kč"}, {"DKK", 2, "kr"},
      {"EUR", 2, "€"},   {"GBP", 2, "£"},  {"ISK", 0, "kr"},  {"JPY", 0, "¥"},  {"NOK", 2, "kr"},
      {"NZD", 2, "NZ$"}, {"PLN", 2, "zł"}, {"SEK", 2, "kr"},  {"USD", 2, "$"},
  };
  return known;
}

}  // namespace

const Currency* find_currency(std::string_view code) {
  for (const Currency& currency : known_currencies())
    if (currency.code == code) return &currency;
  return nullptr;
}

const std::vector<std::string>& currency_codes() {
  static const std::vector<std::string> codes = [] {
    std::vector<std::string> out;
    for (const Currency& currency : known_currencies()) out.push_back(currency.code);
    return out;
  }();
  return codes;
}

Money Money::times(const Decimal& factor, Rounding rounding) const {
  return money_from_wide(
      divided(Wide128(units_) * factor.mantissa, ten_to(factor.scale), rounding));
}

Money Money::times(std::int64_t numerator, std::int64_t denominator, Rounding rounding) const {
  RW_ASSERT(denominator > 0);
  return money_from_wide(divided(Wide128(units_) * numerator, denominator, rounding));
}

Money Money::percent(const Decimal& rate, Rounding rounding) const {
  return money_from_wide(
      divided(Wide128(units_) * rate.mantissa, ten_to(rate.scale) * 100, rounding));
}

Result<Money> money_of(const Decimal& amount, const Currency& currency) {
  const Wide128 scaled = Wide128(amount.mantissa) * ten_to(currency.digits);
  const Wide128 unit = ten_to(amount.scale);
  if (scaled % unit != 0)
    return Complaint{"", "has more decimal places than " + currency.code + " has", amount.value(),
                     currency.digits == 0 ? "give a whole number"
                                          : "give at most " + std::to_string(currency.digits),
                     0};
  const Wide128 minor = scaled / unit;
  const Wide128 most = greatest_typed_money.minor_units();
  if (minor > most || minor < -most)
    return Complaint{"", "is beyond what a price may be", amount.value(), "check it", 0};
  return Money::minor(static_cast<std::int64_t>(minor));
}

std::vector<Money> allocate(Money total, const std::vector<std::int64_t>& weights) {
  std::vector<Money> parts(weights.size());
  if (weights.empty()) return parts;
  Wide128 sum = 0;
  for (const std::int64_t weight : weights) sum += weight;
  const bool equal = sum <= 0;
  if (equal) sum = static_cast<Wide128>(weights.size());
  const bool negative = total.minor_units() < 0;
  const Wide128 whole = negative ? -Wide128(total.minor_units()) : Wide128(total.minor_units());
  std::vector<std::pair<Wide128, std::size_t>> rests;
  Wide128 given = 0;
  for (std::size_t i = 0; i < weights.size(); ++i) {
    const Wide128 share = whole * (equal ? 1 : weights[i]);
    rests.emplace_back(-(share % sum), i);
    parts[i] = money_from_wide(share / sum);
    given += share / sum;
  }
  std::sort(rests.begin(), rests.end());
  for (Wide128 left = whole - given; left > 0; --left)
    parts[rests[static_cast<std::size_t>(whole - given - left)].second] += Money::minor(1);
  if (negative)
    for (Money& part : parts) part = -part;
  return parts;
}

std::string plain_money(Money money, const Currency& currency) {
  std::string digits = std::to_string(std::abs(money.minor_units()));
  const auto places = static_cast<std::size_t>(currency.digits);
  while (digits.size() <= places) digits.insert(digits.begin(), '0');
  if (places > 0) digits.insert(digits.size() - places, ".");
  return (money.minor_units() < 0 ? "-" : "") + digits;
}

std::string print_money(Money money, const Currency& currency) {
  std::string digits = plain_money(money, currency);
  const bool negative = digits[0] == '-';
  if (negative) digits.erase(0, 1);
  std::size_t point = digits.find('.');
  if (point == std::string::npos) point = digits.size();
  for (std::size_t at = point; at > 3; at -= 3) digits.insert(at - 3, ",");
  return (negative ? "-" : "") + currency.sign + " " + digits;
}

}  // namespace roomwright
