#pragma once

#include <string>
#include <vector>

#include "change/reach.h"
#include "report/screen.h"

namespace vergeset::report {

/// How far this machine got at each unit. Of one unit, or with `all_rungs`, every rung that was climbed, and
/// what to do about the last; else
/// a line a unit, with the rung where it ended.
std::string reach_text(const Screen& screen, const std::vector<change::Climbed>& units, bool all_rungs);

}  // namespace vergeset::report
