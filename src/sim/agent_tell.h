#pragma once

#include <string>

namespace vergeset::sim {

/// `roadside-sim tell`: one line to the unit of this name, whose answer is printed as it is; or to every
/// unit whose name fits one of the patterns of a list with commas. Of many, `counters` is their sum, and
/// any other answer has its unit's name in front. The result is the exit status.
int tell_units(const std::string& control, const std::string& units, const std::string& line);

}  // namespace vergeset::sim
