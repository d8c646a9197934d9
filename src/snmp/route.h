#pragma once

#include <optional>
#include <string>

#include "snmp/address.h"
#include "snmp/approach.h"

namespace vergeset::snmp {

/// Why no unit can have this address, whatever subnets there are: unspecified, multicast, broadcast,
/// reserved, link-local of IPv6 without a zone. Addresses for documentation (RFC 5737) are not refused: a
/// fleet on paper has them. Pure.
std::optional<std::string> never_a_unit(const Address& address);

/// Asks the kernel which way it would send (rtnetlink(7), RTM_GETROUTE), and holds the address against the
/// subnets of this machine's interfaces (getifaddrs(3)). Needs no privilege.
Way way_to(const std::string& host);

}  // namespace vergeset::snmp
