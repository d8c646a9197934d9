#pragma once

#include <chrono>
#include <string>
#include <vector>

#include "smi/mib.h"
#include "smi/result.h"

namespace vergeset::snmp {

/// Where MIB files come from, and how long net-snmp's parser may take over them.
struct MibFiles {
  std::vector<std::string> files;
  /// Folders in which modules that the files import may be, weakest first; those that are missing count for
  /// nothing. The files' own folders come behind all of these.
  std::vector<std::string> folders;
  std::chrono::seconds patience{30};
};

/// The folders where systems keep MIB files; MIBDIRS, /etc and the home folder are not asked.
std::vector<std::string> usual_mib_folders();

/// Reads SMIv1 and SMIv2 modules through net-snmp's parser. The parser is old C with fixed buffers and
/// global tables, and a file may come from anywhere: it works in a process of its own with little time and
/// memory, and what it leaves is all that comes back. Where that process crashes, hangs or grows without
/// end, the problem says so. What is wrong in a file is in `faults`.
///
/// Forks: to be called while the process has one thread.
Result<smi::Mib> read_mib_files(const MibFiles& wanted);

}  // namespace vergeset::snmp
