#pragma once

#include <string>
#include <string_view>

#include "smi/mib.h"
#include "smi/result.h"

namespace vergeset::snmp {

/// A Mib as octets, to come out of the process that net-snmp's parser works in. Each field is its length and
/// its octets. Whoever reads it believes nothing of it: that process may have been taken over by a bad file.
std::string mib_octets(const smi::Mib& mib);
Result<smi::Mib> mib_of(std::string_view octets);

}  // namespace vergeset::snmp
