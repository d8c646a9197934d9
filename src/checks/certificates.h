#pragma once

#include <vector>

#include "checks/as_read.h"
#include "checks/finding.h"
#include "fleet/limits.h"
#include "records/expiry.h"

namespace vergeset::checks {

/// Whether a unit is enrolled, how long that is good for, and whether it has for each PSID an application
/// certificate that is valid for long enough, or one to follow. What a model does not have is not asked.
void judge_certificates(const AsRead& read, const fleet::Limits& limits, Findings& findings);

/// When the enrolment certificate ends, and for each PSID the application certificate that is valid for
/// longest. What has ended already is no entry: it is a finding.
std::vector<records::Expiry> certificate_ends(const AsRead& read);

}  // namespace vergeset::checks
