#pragma once

#include <cstdint>
#include <optional>

#include "watch.h"

namespace vergeset::faults {

/// One run, all of it from its seed: a fleet, its units, what goes wrong, a change; after a kill, recovery;
/// then the faults cease and a second change. The first promise that was broken, or nothing.
std::optional<Broken> run(std::uint64_t seed, bool tell);

}  // namespace vergeset::faults
