#pragma once

#include <string>

#include "report/standing.h"

namespace vergeset::report {

/// For a mail in the morning: what is not as it was the night before, in five lines at most, and nothing of
/// what is still so. The first line says which fleet and night; the others, those of which there is something
/// to say, who drifted, who gave no answer, who is back, and what we changed and what was found.
std::string night_summary(const Standing& standing);

}  // namespace vergeset::report
