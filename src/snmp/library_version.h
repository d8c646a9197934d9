#pragma once

#include <string>

namespace vergeset::snmp {

/// Of net-snmp, as it was loaded: "5.9.3".
std::string library_version();

}  // namespace vergeset::snmp
