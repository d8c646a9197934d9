#pragma once

#include <string>

#include "report/standing.h"

namespace vergeset::report {

/// Where a fleet stands as figures for a scraper's file collector: OpenMetrics 1.0 text, ending with "# EOF".
/// Units by outcome, differences, findings, when the newest audit began and how old it was when this was
/// made, seconds off air of all changes on record, hours that certificates have left.
std::string metrics(const Standing& standing);

}  // namespace vergeset::report
