#pragma once

#include <string>
#include <vector>

#include "checks/finding.h"
#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// "warning: 3 satellites; at least 4 are wanted (NTCIP 1218 v01 rsuGnssStatus)"
std::string finding_line(const checks::Finding& finding);

/// Findings of many units, the most serious first; one that several units share is told once, with the
/// first of them by name (all with Screen::full). Ends with their number by severity.
std::string findings_text(const Screen& screen, const std::vector<checks::UnitFindings>& units);
Json findings_json(const std::vector<checks::UnitFindings>& units);

/// All rules and limits, and what they are for this fleet.
std::string rules_text(const Screen& screen, const fleet::Fleet& fleet);
/// The same, as the members `rules` and `limits`.
Json rules_json(const fleet::Fleet& fleet);

}  // namespace vergeset::report
