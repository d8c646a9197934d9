#pragma once

#include <chrono>

#include "snmp/address.h"
#include "snmp/approach.h"
#include "snmp/event_loop.h"

namespace vergeset::snmp {

/// Sends up to three ICMP echo requests over a datagram socket of ICMP (icmp(7)), which any user may where
/// the system allows it, and waits so long for an answer to each. Ends at once where someone on the way says
/// that the unit cannot be reached.
Task<Echo> ping(EventLoop& loop, Address address, std::chrono::milliseconds patience);

}  // namespace vergeset::snmp
