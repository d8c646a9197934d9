#pragma once

#include <chrono>
#include <string>

#include "schema/model.h"
#include "snmp/network.h"

namespace vergeset::change {

/// Waits until the unit is in operate, or in standby: a SET of rsuMode starts a transition, the status
/// says when it ended. Empty when it is there; otherwise why it is not: fault, or not within `limit`.
/// A unit that does not answer while it changes mode is asked again until the limit.
snmp::Task<std::string> wait_for_mode(snmp::Network& network, snmp::Link& link, const schema::ModeRule& rule,
                                      bool operate, std::chrono::milliseconds limit);

}  // namespace vergeset::change
