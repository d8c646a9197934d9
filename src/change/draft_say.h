#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "fleet/value_for.h"

namespace vergeset::change {

/// One way to write a value that a unit was found with.
struct Say {
  enum class Kind {
    text,      ///< as it stands in a file: {unit} and the like, and braces doubled
    file,      ///< octets in a file of their own
    own_file,  ///< octets in a file that is named for the unit: the same words for all units
  };
  Kind kind = Kind::text;
  std::string text;
  std::string octets{};
  bool prose = false;  ///< a DisplayString: quoted where a YAML reader could take it for anything else

  auto operator<=>(const Say&) const = default;
};

/// What files can ask of one unit under one name: a scalar, a column, or the kind of a message.
struct Cell {
  enum class State {
    free,   ///< the unit does not offer it: whatever is asked, it agrees
    said,   ///< found, and there is a way to write it
    stuck,  ///< found, and no file can ask for it
  };
  State state = State::free;
  std::string name;  ///< as the files name it
  fleet::Meaning meaning;
  smi::Value value;
  const fleet::DesiredValue* base = nullptr;  ///< what layers that stay ask for
  std::vector<Say> ways;                      ///< the best first

  /// What layers that stay ask for is what was found: nothing need be written.
  bool settled() const;
};

/// The cell of a value as found. What the ways come to was tried: the unit's model makes the value of them.
Cell cell_of(const fleet::Unit& unit, const std::string& name, const fleet::Meaning& meaning,
             const smi::Value& value);

/// The cell of a kind of message that is matched in a payload.
Cell message_cell(const std::string& name, const fleet::Meaning& meaning, std::int64_t id);

/// Whether a way to write a value, found on whatever unit, comes to what was found on this one.
bool fits(const Say& say, const fleet::Unit& unit, const Cell& cell);

/// A number in `unit`, written in `wanted`: 2500 cm in m is "25 m". Nothing where it does not come out even.
std::optional<std::string> quantity_in(std::int64_t number, const std::string& unit,
                                       const std::string& wanted);

}  // namespace vergeset::change
