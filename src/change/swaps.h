#pragma once

#include <vector>

#include "change/audit.h"

namespace vergeset::change {

/// Adds to units that find themselves on each other's surveyed positions, or one on another's, a finding that
/// says so. Which are there already are found anew: an audit that was put together from parts may know more.
void tell_swaps(const fleet::Fleet& fleet, std::vector<Audited>& units);

}  // namespace vergeset::change
