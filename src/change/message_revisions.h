#pragma once

#include <vector>

#include "change/difference.h"
#include "checks/finding.h"

namespace vergeset::change {

/// Adds to `findings` what speaks against payloads that are to take the place of the unit's: MAPs whose
/// revision goes back, or stays though they are others. The most serious stay first.
void add_revision_findings(const fleet::Fleet& fleet, const Comparison& comparison,
                           std::vector<checks::Finding>& findings);

}  // namespace vergeset::change
