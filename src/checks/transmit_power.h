#pragma once

#include "checks/finding.h"

namespace vergeset::checks {

/// Holds the transmit power that a unit's files ask for against its antennas and against the licence: what
/// leaves an antenna (EIRP) is the power, less the loss of the cable, plus the gain. Where several antennas
/// are recorded the one with the most counts, since no standard says which radio has which.
void judge_transmit_power(const fleet::Unit& unit, const fleet::Limits& limits, Findings& findings);

}  // namespace vergeset::checks
