#pragma once

#include <functional>
#include <memory>
#include <string>

#include "fleet/fleet.h"
#include "smi/result.h"

namespace vergeset::cli {

/// How a change has a unit to itself on this machine (records/unit_lock.h), for change::World::claim.
/// `command` is told to whoever comes second. A problem where no folder for such locks can be used.
Result<std::function<Result<std::shared_ptr<void>>(const fleet::Unit&)>> claims_for(
    const std::string& command);

}  // namespace vergeset::cli
