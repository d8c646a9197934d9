#include "smi/units.h"

#include <algorithm>

#include "smi/words.h"

namespace vergeset::smi {

namespace {

bool spelled(const Unit& unit, std::string_view name) {
  return unit.one == name || unit.many == name ||
         std::ranges::find(unit.spellings, name) != unit.spellings.end();
}

bool spelled_in_any_case(const Unit& unit, const std::string& small) {
  return lower(unit.one) == small || lower(unit.many) == small ||
         std::ranges::any_of(unit.spellings, [&](std::string_view word) { return lower(word) == small; });
}

const Unit* unit_named(std::string_view name) {
  for (const Unit& unit : units())
    if (spelled(unit, name)) return &unit;
  const Unit* found = nullptr;
  const std::string small = lower(name);
  for (const Unit& unit : units()) {
    if (!spelled_in_any_case(unit, small)) continue;
    if (found) return nullptr;
    found = &unit;
  }
  return found;
}

/// "100", "0.1", "1e-7"
std::optional<Decimal> factor(std::string_view text) {
  constexpr int most_places = 9;
  const auto e = text.find('e');
  auto decimal = Decimal::parse(text.substr(0, e));
  if (!decimal || decimal->digits <= 0 || decimal->digits > 1'000'000) return std::nullopt;
  Decimal some = *decimal;
  if (e != std::string_view::npos) {
    const auto power = whole_number(text.substr(e + 1));
    if (!power || *power < -most_places || *power > most_places) return std::nullopt;
    some.places -= static_cast<int>(*power);
  }
  for (; some.places < 0; ++some.places) {
    if (some.digits > 1'000'000) return std::nullopt;
    some.digits *= 10;
  }
  if (some.places > most_places) return std::nullopt;
  return some;
}

}  // namespace

const std::vector<Unit>& units() {
  using enum Dimension;
  static const std::vector<Unit> table{
      // Lengths count in tenths of a millimetre, so that a foot (0.3048 m) is a whole number of them.
      {"m", "m", length, 10000, 1, {"metre", "metres", "meter", "meters"}},
      {"dm", "dm", length, 1000, 1, {"decimetre", "decimetres", "decimeter", "decimeters"}},
      {"cm", "cm", length, 100, 1, {"centimetre", "centimetres", "centimeter", "centimeters"}},
      {"mm", "mm", length, 10, 1, {"millimetre", "millimetres", "millimeter", "millimeters"}},
      {"km", "km", length, 10000000, 1, {"kilometre", "kilometres", "kilometer", "kilometers"}},
      {"ft", "ft", length, 3048, 1, {"foot", "feet"}},
      {"in", "in", length, 254, 1, {"inch", "inches"}},
      // Times count in milliseconds.
      {"ms", "ms", time, 1, 1, {"msec", "millisecond", "milliseconds"}},
      {"s", "s", time, 1000, 1, {"sec", "second", "seconds"}},
      {"min", "min", time, 60000, 1, {"minute", "minutes"}},
      {"h", "h", time, 3600000, 1, {"hr", "hrs", "hour", "hours"}},
      {"day", "days", time, 86400000, 1, {"d"}},
      {"week", "weeks", time, 604800000, 1, {}},
      {"deg", "deg", angle, 1, 1, {"degree", "degrees", "\u00b0"}},
      {"sector", "sectors", sector, 1, 1, {"22.5 degree sector"}},
      {"dBm", "dBm", level, 1, 1, {}},
      {"mW", "mW", power, 1, 1, {"milliwatt", "milliwatts"}},
      {"W", "W", power, 1000, 1, {"watt", "watts"}},
      {"%", "%", share, 1, 1, {"% of full strength", "percent", "per cent", "percent of full strength"}},
      {"dBi", "dBi", gain, 1, 1, {}},
      {"deg C", "deg C", temperature, 1, 1, {"degree C", "degrees C", "C", "celsius", "\u00b0C", "degC"}},
      {"deg F", "deg F", fahrenheit, 1, 1, {"degree F", "degrees F", "F", "fahrenheit", "\u00b0F", "degF"}},
      {"octet", "octets", octets, 1, 1, {"B", "byte", "bytes"}},
      {"kB", "kB", octets, 1000, 1, {"kilobyte", "kilobytes"}},
      {"MB", "MB", octets, 1000000, 1, {"megabyte", "megabytes"}},
      {"GB", "GB", octets, 1000000000, 1, {"gigabyte", "gigabytes"}},
      {"KiB", "KiB", octets, 1024, 1, {}},
      {"MiB", "MiB", octets, 1048576, 1, {}},
      {"message", "messages", messages, 1, 1, {"msg", "msgs"}},
      {"row", "rows", rows, 1, 1, {}},
      {"satellite", "satellites", satellites, 1, 1, {"sats"}},
      // Rates count in a minute.
      {"per 5 s", "per 5 s", rate, 12, 1, {}},
      {"per s", "per s", rate, 60, 1, {"Hz", "per second", "/s"}},
      {"per min", "per min", rate, 1, 1, {"per minute", "/min"}},
      // Voltages count in millivolts, resistances in milliohms.
      {"V", "V", voltage, 1000, 1, {"volt", "volts"}},
      {"mV", "mV", voltage, 1, 1, {}},
      {"ohm", "ohm", resistance, 1000, 1, {"ohms", "\u03a9", "\u2126"}},
      {"mohm", "mohm", resistance, 1, 1, {"milliohm", "milliohms"}},
      {"dB", "dB", loss, 1, 1, {}},
  };
  return table;
}

std::optional<Measure> measure_of(std::string_view name) {
  name = trimmed(name);
  if (name.empty()) return std::nullopt;
  if (const Unit* unit = unit_named(name)) return Measure{unit, {1, 0}};
  const auto space = name.find(' ');
  if (space == std::string_view::npos) return std::nullopt;
  const auto some = factor(name.substr(0, space));
  const Unit* unit = unit_named(trimmed(name.substr(space)));
  if (!some || !unit) return std::nullopt;
  return Measure{unit, *some};
}

std::string unit_names(Dimension dimension) {
  std::string names;
  for (const Unit& unit : units())
    if (unit.dimension == dimension) names.append(names.empty() ? "" : ", ").append(unit.many);
  return names;
}

std::string_view dimension_words(Dimension dimension) {
  switch (dimension) {
    case Dimension::length:
      return "a length";
    case Dimension::time:
      return "a time";
    case Dimension::angle:
      return "an angle";
    case Dimension::sector:
      return "a sector of the compass";
    case Dimension::level:
      return "a power level";
    case Dimension::power:
      return "a power in watts";
    case Dimension::share:
      return "a share";
    case Dimension::gain:
      return "an antenna gain";
    case Dimension::temperature:
      return "a temperature in Celsius";
    case Dimension::fahrenheit:
      return "a temperature in Fahrenheit";
    case Dimension::octets:
      return "an amount of octets";
    case Dimension::messages:
      return "a number of messages";
    case Dimension::rows:
      return "a number of rows";
    case Dimension::satellites:
      return "a number of satellites";
    case Dimension::rate:
      return "a rate";
    case Dimension::voltage:
      return "a voltage";
    case Dimension::resistance:
      return "a resistance";
    case Dimension::loss:
      return "a loss";
  }
  return "an unknown measure";
}

}  // namespace vergeset::smi
