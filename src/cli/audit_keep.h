#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "change/audit.h"
#include "records/disk.h"

namespace vergeset::cli {

/// Keeps an audit under records/audits; the path of its record. Times in milliseconds since 1970.
std::string keep(records::Disk& disk, const fleet::Fleet& fleet, const std::vector<change::Audited>& units,
                 std::int64_t begun, std::int64_t ended);

}  // namespace vergeset::cli
