#pragma once

#include <string>

#include "report/standing.h"

namespace vergeset::report {

/// The newest audit of each unit as build servers read test results (JUnit XML): a unit is a test case. Drift
/// and findings that are errors are failures, no answer and a wrong unit are errors, a unit that was not
/// audited is skipped; other findings stand in its output.
std::string junit(const Standing& standing);

}  // namespace vergeset::report
