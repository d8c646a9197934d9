#pragma once

#include <set>
#include <string>
#include <vector>

#include "smi/result.h"

namespace vergeset::sim {

/// The units that play dead, out of those that are served: "12" is so many and "2.5%" such a share of
/// them, spread evenly over their order; anything else is names or patterns with * and ?, with commas
/// between. Empty text: none. The same text and units give the same choice.
Result<std::set<std::string>> dead_units(const std::string& text, const std::vector<std::string>& served);

/// Whether a name fits a pattern of * (any text) and ? (any one character).
bool fits_pattern(const std::string& pattern, const std::string& name);

/// The parts between commas; empty ones are left out.
std::vector<std::string> comma_parts(const std::string& text);

}  // namespace vergeset::sim
