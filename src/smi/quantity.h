#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "smi/result.h"

namespace vergeset::smi {

/// A decimal number, exact: digits * 10^-places. Binary floating point would turn 51.1234567 deg
/// into a reference position that is off by one and so into false drift.
struct Decimal {
  std::int64_t digits = 0;
  int places = 0;

  static Result<Decimal> parse(std::string_view text);
  std::string str() const;
  bool operator==(const Decimal&) const = default;
};

/// "15 m", "-60dBm", "51.5": a number and the unit that was written behind it (empty where none).
struct Quantity {
  Decimal number;
  std::string unit;

  static Result<Quantity> parse(std::string_view text);
};

/// The number that an object counting in `unit` takes for the quantity: 15 m for "cm" is 1500.
/// Units are those of the model files ("m", "cm", "dm", "ms", "s", "min", "h", "days", "1e-7 degree",
/// "degree", "dBm", "dBi", "degree C", "MB", "octets", "messages", "rows", "satellites",
/// "% of full strength", "100 ms", ...) and their usual spellings by people (deg, %, hours, day).
/// A quantity without a unit is taken in the object's own. Problems: an unknown unit; units that do
/// not convert (percent into dBm, with the reason); a number that comes out broken (15.5 m where
/// whole metres are counted).
Result<std::int64_t> in_unit(const Quantity& quantity, std::string_view unit);

/// The same where no whole number is asked for: 300 ft for "m" is 91.44.
Result<double> number_in_unit(const Quantity& quantity, std::string_view unit);

/// A number that counts in `unit`, for people: (150, "1e-7 degree") is "0.0000150 deg", (15, "m") is
/// "15 m", (7, "") is "7".
std::string with_unit(std::int64_t number, std::string_view unit);

/// Whether quantities of the two units convert at all.
bool same_dimension(std::string_view a, std::string_view b);

}  // namespace vergeset::smi
