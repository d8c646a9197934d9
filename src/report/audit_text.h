#pragma once

#include <string>
#include <vector>

#include "change/audit.h"
#include "report/screen.h"

namespace vergeset::report {

/// What an audit, or a comparison with a kept survey, found: the units that do not agree or have
/// something to tell, then one line with the counts.
std::string audit_text(const Screen& screen, const std::vector<change::Audited>& units);

/// The same of one unit; always something.
std::string audited_text(const Screen& screen, const change::Audited& unit);

/// "40 units: 38 agree, 1 drifted, 1 no answer".
std::string audit_summary(const std::vector<change::Audited>& units);

}  // namespace vergeset::report
