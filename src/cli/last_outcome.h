#pragma once

#include <map>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "records/disk.h"
#include "report/fleet_text.h"

namespace vergeset::cli {

/// What the records say last of each of these units: of a change or an audit, whichever is newer.
std::map<std::string, report::LastOutcome> last_outcomes(const records::Disk& disk,
                                                         const std::vector<const fleet::Unit*>& units);

}  // namespace vergeset::cli
