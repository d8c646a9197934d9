#pragma once

#include <string>
#include <vector>

#include "smi/mib.h"

namespace vergeset::snmp {

/// Reads MIB files with net-snmp's parser, in this process: what its tables hold stays for good, and a bad
/// file may end the process, take all of its memory or never return. `read_mib_files` keeps that away.
///
/// `imports` are further files in which modules that the files import may be, weakest first.
smi::Mib read_mib_here(const std::vector<std::string>& files, const std::vector<std::string>& imports);

}  // namespace vergeset::snmp
