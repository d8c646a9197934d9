#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "smi/quantity.h"

namespace vergeset::smi {

enum class Dimension {
  length,
  time,
  angle,
  sector,
  level,
  power,
  share,
  gain,
  temperature,
  fahrenheit,
  octets,
  messages,
  rows,
  satellites,
  rate,
  voltage,
  resistance,
  loss,
};

/// A unit of measure and what it is worth: `times` / `per` of the unit that all of its dimension are
/// counted in.
struct Unit {
  std::string_view one;   ///< as a number of 1 is followed by it
  std::string_view many;  ///< as all other numbers are
  Dimension dimension = Dimension::length;
  std::int64_t times = 1;
  std::int64_t per = 1;
  std::vector<std::string_view> spellings;  ///< further ones, of people and of the model files
};

/// Some of a unit: "100 ms" and "1e-7 degree" are units that objects count in.
struct Measure {
  const Unit* unit = nullptr;
  Decimal some{1, 0};
};

const std::vector<Unit>& units();

/// The measure of a name, in the exact case, else in another where that is only one unit's.
std::optional<Measure> measure_of(std::string_view name);

/// "m, cm, km, ...": the units of one dimension, for messages.
std::string unit_names(Dimension dimension);

/// "a length", "a time", ...
std::string_view dimension_words(Dimension dimension);

}  // namespace vergeset::smi
