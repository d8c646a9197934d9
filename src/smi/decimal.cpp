#include <fmt/format.h>

#include <optional>

#include "smi/quantity.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

constexpr std::size_t most_places = 18;

struct Parts {
  bool negative = false;
  std::string_view whole;
  std::string_view fraction;
};

std::optional<Parts> parts_of(std::string_view text) {
  Parts parts;
  if (!text.empty() && (text.front() == '-' || text.front() == '+')) {
    parts.negative = text.front() == '-';
    text.remove_prefix(1);
  }
  const auto dot = text.find('.');
  parts.whole = text.substr(0, dot);
  if (dot != std::string_view::npos) parts.fraction = text.substr(dot + 1);
  const auto digits = [](std::string_view some) {
    return some.find_first_not_of("0123456789") == std::string_view::npos;
  };
  const bool dangling = dot != std::string_view::npos && parts.fraction.empty();
  if (parts.whole.empty() || dangling || !digits(parts.whole) || !digits(parts.fraction)) return std::nullopt;
  while (parts.fraction.ends_with('0')) parts.fraction.remove_suffix(1);
  return parts;
}

/// Adds the digits behind the number; false where an int64 cannot hold it.
bool append(std::int64_t& number, std::string_view digits, bool negative) {
  for (const char letter : digits) {
    const std::int64_t digit = negative ? '0' - letter : letter - '0';
    if (__builtin_mul_overflow(number, std::int64_t{10}, &number) ||
        __builtin_add_overflow(number, digit, &number))
      return false;
  }
  return true;
}

}  // namespace

Result<Decimal> Decimal::parse(std::string_view text) {
  const std::string_view word = trimmed(text);
  const auto parts = parts_of(word);
  if (!parts) return Problem{fmt::format("expected a decimal number, found {}", shown(word))};
  Decimal decimal{0, static_cast<int>(parts->fraction.size())};
  if (parts->fraction.size() > most_places || !append(decimal.digits, parts->whole, parts->negative) ||
      !append(decimal.digits, parts->fraction, parts->negative))
    return Problem{fmt::format("{} has more digits than can be told exactly", shown(word))};
  return decimal;
}

std::string Decimal::str() const {
  constexpr int most_zeros = 40;  // more would be a flood of zeros; parse never makes so many
  if (places < -most_zeros || places > most_zeros)
    return fmt::format("{}e{}", digits, -static_cast<std::int64_t>(places));
  std::string text = std::to_string(digits);
  if (digits != 0 && places < 0) text.append(static_cast<std::size_t>(-places), '0');
  if (places <= 0) return text;
  const auto fraction = static_cast<std::size_t>(places);
  const std::size_t sign = digits < 0 ? 1 : 0;
  if (text.size() - sign <= fraction) text.insert(sign, fraction + 1 - (text.size() - sign), '0');
  return text.insert(text.size() - fraction, ".");
}

}  // namespace vergeset::smi
