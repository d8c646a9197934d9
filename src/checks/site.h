#pragma once

#include <vector>

#include "checks/finding.h"

namespace vergeset::checks {

/// What site records tell of a fleet before anything is sent: cable, surge protector, bond, voltage, subnet,
/// antennas against transmit power, and units that share what each should have alone. Units without
/// findings are left out; the order is the fleet's.
std::vector<UnitFindings> site_findings(const fleet::Fleet& fleet);

/// The same of one unit's record by itself.
void judge_site(const fleet::Unit& unit, const fleet::Limits& limits, Findings& findings);

/// What an acceptance sheet asks for and this record lacks, by the names of site_fields().
std::vector<std::string> not_recorded(const fleet::Site& site);

}  // namespace vergeset::checks
