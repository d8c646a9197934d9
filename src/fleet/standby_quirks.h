#pragma once

#include <string>
#include <utility>
#include <vector>

#include "fleet/fleet.h"

namespace vergeset::fleet {

/// By name of an object or table: whether this unit needs standby for it, where its fleet says other than
/// its model. All that a simulated unit has to know of its fleet's traits.
std::vector<std::pair<std::string, bool>> standby_quirks_of(const Unit& unit);

}  // namespace vergeset::fleet
