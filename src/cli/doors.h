#pragma once

#include <vector>

#include "change/factory_doors.h"
#include "fleet/fleet.h"

namespace vergeset::cli {

/// What units may have as they leave the factory, with its secrets read. Communities go by SNMPv2c, which
/// units that speak SNMPv1 speak too (common practice, no source).
Result<std::vector<change::FactoryDoor>> doors_of(const fleet::Fleet& fleet);

}  // namespace vergeset::cli
