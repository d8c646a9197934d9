#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "change/as_found.h"

namespace vergeset::change {

/// Where a unit is between standby and operate.
struct ModeFound {
  bool known = false;
  std::int64_t asked = 0;
  bool standby = false;  ///< in standby, by status
  bool operate = false;
};
ModeFound mode_of(const schema::Model& model, const AsFound& found);

/// A unit that is asked for a mode need not be in it: it may be stuck, or in fault. Where it is asked for
/// `wanted` (a value of the mode's object) and its status is another, what it is in words, such as "in
/// standby, asked to operate".
std::optional<std::string> unreached_mode(const schema::Model& model, const AsFound& found,
                                          std::int64_t wanted);

}  // namespace vergeset::change
