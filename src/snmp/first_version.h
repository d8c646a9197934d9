#pragma once

#include <memory>

#include "snmp/network.h"

namespace vergeset::snmp {

/// A link to a unit that speaks SNMPv1 (RFC 1157), which behaves as one of a later version: an instance that
/// is not there is a value, not an error of the whole request (RFC 3584 4.2.2.1), and GETBULK, which there is
/// none of, is a GETNEXT. A request costs one round trip more for each instance that is not there.
std::unique_ptr<Link> as_later_version(std::unique_ptr<Link> link);

}  // namespace vergeset::snmp
