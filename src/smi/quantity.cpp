#include "smi/quantity.h"

#include <fmt/format.h>

#include <limits>

#include "smi/suggest.h"
#include "smi/units.h"
#include "smi/words.h"

namespace vergeset::smi {

namespace {

__extension__ using Wide = __int128;

bool digit(char letter) {
  return letter >= '0' && letter <= '9';
}
bool letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/// Where the number at the front of a quantity ends.
std::size_t number_end(std::string_view text) {
  std::size_t end = !text.empty() && (text.front() == '-' || text.front() == '+') ? 1 : 0;
  while (end < text.size() && (digit(text[end]) || text[end] == '.')) ++end;
  return end;
}

/// "ms", "% of full strength", "\u00b0C", or behind a blank "100 ms".
bool unit_like(std::string_view unit, bool blank_before) {
  if (unit.empty() || letter(unit.front()) || unit.front() == '%' || unit.front() == '/') return true;
  if (static_cast<unsigned char>(unit.front()) >= 0x80) return true;
  return blank_before && digit(unit.front()) && unit.find(' ') != std::string_view::npos;
}

/// Numbers that are multiplied up to a fraction; each side is kept whole and in bounds.
class Fraction {
 public:
  void times(std::int64_t number) { grow(top_, number); }
  void over(std::int64_t number) { grow(bottom_, number); }
  void shift(int places) {
    for (; places > 0 && !lost_; --places) over(10);
    for (; places < 0 && !lost_; ++places) times(10);
  }
  /// Nothing where it is too large to be kept.
  std::optional<double> number() const {
    if (lost_) return std::nullopt;
    return static_cast<double>(top_) / static_cast<double>(bottom_);
  }
  bool whole() const { return top_ % bottom_ == 0; }
  /// The number below, and whether it can be told in an int64 at all.
  std::optional<std::int64_t> floor() const {
    if (lost_) return std::nullopt;
    const Wide down = top_ / bottom_ - (top_ % bottom_ < 0 ? 1 : 0);
    if (down < std::numeric_limits<std::int64_t>::min() || down > std::numeric_limits<std::int64_t>::max())
      return std::nullopt;
    return static_cast<std::int64_t>(down);
  }

 private:
  void grow(Wide& side, std::int64_t number) {
    if (lost_ || __builtin_mul_overflow(side, Wide{number}, &side)) lost_ = true;
  }

  Wide top_ = 1;
  Wide bottom_ = 1;
  bool lost_ = false;
};

Problem unknown_unit(std::string_view unit, Dimension wanted) {
  std::vector<std::string> known;
  for (const Unit& each : units()) {
    if (each.dimension != wanted) continue;
    known.insert(known.end(), {std::string(each.one), std::string(each.many)});
    known.insert(known.end(), each.spellings.begin(), each.spellings.end());
  }
  return {fmt::format("unknown unit of measure {}{}; this object takes {}", shown(unit),
                      suggestion(unit, known), unit_names(wanted))};
}

/// Why a quantity of one dimension does not convert into a unit of another.
std::string refusal(Dimension from, Dimension to, std::string_view unit) {
  using enum Dimension;
  const auto either = [&](Dimension a, Dimension b) {
    return (from == a && to == b) || (from == b && to == a);
  };
  constexpr std::string_view depends = "it depends on the unit's full strength and antenna";
  if (from == share && to == level)
    return fmt::format("power in % of full strength does not convert into dBm: {}", depends);
  if (from == level && to == share)
    return fmt::format("power in dBm does not convert into % of full strength: {}", depends);
  if (either(power, level))
    return "watts and dBm stand to each other by a logarithm: write what the object counts in "
           "(100 mW are 20 dBm)";
  if (either(temperature, fahrenheit)) return "write temperatures in deg C (68 deg F are 20 deg C)";
  return fmt::format("{} does not convert into {}, which counts {}", dimension_words(from), unit,
                     dimension_words(to));
}

std::string written(const Quantity& quantity) {
  return quantity.unit.empty() ? quantity.number.str() : quantity.number.str() + " " + quantity.unit;
}

Result<std::int64_t> settled(const Fraction& fraction, const Quantity& quantity, std::string_view unit) {
  constexpr auto most = std::numeric_limits<std::int64_t>::max();
  const auto below = fraction.floor();
  if (!below || (!fraction.whole() && *below == most))
    return Problem{fmt::format("{} is too large a number to count", written(quantity))};
  if (fraction.whole()) return *below;
  return Problem{fmt::format("{} comes out broken: this object counts in whole {}, the nearest are {} and {}",
                             written(quantity), unit.empty() ? "numbers" : unit, with_unit(*below, unit),
                             with_unit(*below + 1, unit))};
}

/// The quantity as a number that counts in `unit`.
Result<Fraction> fraction_in(const Quantity& quantity, std::string_view unit) {
  Fraction fraction;
  fraction.times(quantity.number.digits);
  fraction.shift(quantity.number.places);
  if (quantity.unit.empty() || quantity.unit == unit) return fraction;
  if (unit.empty())
    return Problem{fmt::format("this object counts in no unit: write {} alone, without {}",
                               quantity.number.str(), shown(quantity.unit))};
  const auto to = measure_of(unit);
  const auto from = measure_of(quantity.unit);
  if (!to)
    return Problem{
        fmt::format("this object counts in {}, into which nothing converts: write the number alone, "
                    "found {}",
                    unit, shown(written(quantity)))};
  if (!from) return unknown_unit(quantity.unit, to->unit->dimension);
  if (from->unit->dimension != to->unit->dimension)
    return Problem{
        fmt::format("{}: {}", written(quantity), refusal(from->unit->dimension, to->unit->dimension, unit))};
  fraction.times(from->some.digits);
  fraction.shift(from->some.places);
  fraction.times(from->unit->times);
  fraction.times(to->unit->per);
  fraction.over(from->unit->per);
  fraction.over(to->unit->times);
  fraction.over(to->some.digits);
  fraction.shift(-to->some.places);
  return fraction;
}

}  // namespace

Result<Quantity> Quantity::parse(std::string_view text) {
  const std::string_view word = trimmed(text);
  const std::size_t end = number_end(word);
  const std::string_view unit = trimmed(word.substr(end));
  const bool blank_before = end + unit.size() < word.size();
  const bool hex = behind_0x(word.substr(0, 2)).has_value();
  if (hex || !unit_like(unit, blank_before))
    return Problem{fmt::format("expected a number and its unit such as 15 m, found {}", shown(word))};
  const auto number = Decimal::parse(word.substr(0, end));
  if (!number) {
    if (word.find_first_of("0123456789") == 0 || end > 0) return Problem{number.problem()};
    return Problem{fmt::format("expected a number and its unit such as 15 m, found {}", shown(word))};
  }
  return Quantity{*number, std::string(unit)};
}

Result<std::int64_t> in_unit(const Quantity& quantity, std::string_view unit) {
  const auto fraction = fraction_in(quantity, unit);
  if (!fraction) return Problem{fraction.problem()};
  return settled(*fraction, quantity, unit);
}

Result<double> number_in_unit(const Quantity& quantity, std::string_view unit) {
  const auto fraction = fraction_in(quantity, unit);
  if (!fraction) return Problem{fraction.problem()};
  const auto number = fraction->number();
  if (!number) return Problem{fmt::format("{} is too large a number", written(quantity))};
  return *number;
}

std::string with_unit(std::int64_t number, std::string_view unit) {
  if (unit.empty()) return std::to_string(number);
  const auto measure = measure_of(unit);
  if (!measure) return fmt::format("{} {}", number, unit);
  if (measure->unit->dimension == Dimension::sector) return fmt::format("sector {}", number);
  Decimal decimal{0, measure->some.places};
  if (__builtin_mul_overflow(number, measure->some.digits, &decimal.digits))
    return fmt::format("{} times {}", number, unit);
  return fmt::format("{} {}", decimal.str(),
                     decimal == Decimal{1, 0} ? measure->unit->one : measure->unit->many);
}

bool same_dimension(std::string_view a, std::string_view b) {
  if (a == b) return true;
  const auto one = measure_of(a);
  const auto other = measure_of(b);
  return one && other && one->unit->dimension == other->unit->dimension;
}

}  // namespace vergeset::smi
