#pragma once

#include "change/reach.h"

namespace vergeset::change {

/// The first rungs, told from what the system and the network said. Pure.

/// Whether there is a way to the unit, and where there is none what address this machine lacks: with the mask
/// 255.255.255.0 the first three numbers of both addresses must be equal (RFC 950; common practice).
Hold address_hold(const fleet::Fleet& fleet, const fleet::Unit& unit, const snmp::Way& way);

Hold ping_hold(const snmp::Way& way, const snmp::Echo& echo);

/// What came of the first message to the unit's port; `error` is none where it answered.
Hold port_hold(const fleet::Fleet& fleet, const Climbed& climbed, const std::optional<snmp::Error>& error);

}  // namespace vergeset::change
