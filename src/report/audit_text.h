#pragma once

#include <string>
#include <vector>

#include "change/audit.h"
#include "report/screen.h"

namespace vergeset::report {

/// What an audit, or a comparison with a kept survey, found: the units that do not agree, what is to be
/// told of those that do, then one line with the counts. Of a lone unit always all.
std::string audit_text(const Screen& screen, const std::vector<change::Audited>& units);

/// The same of one unit; always something.
std::string audited_text(const Screen& screen, const change::Audited& unit);

/// "40 units: 38 agree, 1 drifted, 1 no answer".
std::string audit_summary(const std::vector<change::Audited>& units);

}  // namespace vergeset::report
