#pragma once

#include <string>

#include "fleet/fleet.h"

namespace vergeset::fleet {

/// "1", "10%" or "rest".
Result<Wave> parse_wave(const std::string& text);

}  // namespace vergeset::fleet
