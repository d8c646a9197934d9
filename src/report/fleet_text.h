#pragma once

#include <limits>
#include <map>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "report/screen.h"

namespace vergeset::report {

/// What the records say last of a unit.
struct LastOutcome {
  std::string outcome;  ///< of a change or an audit
  std::string of;       ///< "change 0042", "audit"
  std::string at;       ///< RFC 3339
};

/// "all, signals + corridor-7, schools": levels by commas, equals by plus.
std::string groups_text(const fleet::Unit& unit);

/// "2026-11-25T02:00Z" from RFC 3339 in UTC; other text as it is.
std::string time_text(const std::string& stamp);

/// The units one a line.
std::string units_text(const Screen& screen, const std::vector<const fleet::Unit*>& units,
                       const std::map<std::string, LastOutcome>& last);

/// A fleet without faults in a few lines: its units by model, groups and files.
std::string fleet_text(const Screen& screen, const fleet::Fleet& fleet);

/// Every fault, each with its place, and their number; or the first `most` of them.
std::string faults_text(const Faults& faults, std::size_t most = std::numeric_limits<std::size_t>::max());

}  // namespace vergeset::report
