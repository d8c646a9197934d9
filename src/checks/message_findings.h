#pragma once

#include <chrono>
#include <functional>
#include <string_view>
#include <vector>

#include "checks/finding.h"

namespace vergeset::checks {

/// What the messages that a fleet's units are to send give cause to doubt, as far as the files tell: payloads
/// that are not whole, PSIDs of other messages, MAPs of other places, one intersection at two sites, times,
/// and how much of a channel they take. `now` is the time that times are held against. Units without findings
/// are left out; the order is the fleet's.
std::vector<UnitFindings> message_findings(const fleet::Fleet& fleet, std::chrono::sys_seconds now);

/// The same of some units alone; what they share with others is told of them all the same.
std::vector<UnitFindings> message_findings(const fleet::Fleet& fleet,
                                           const std::vector<const fleet::Unit*>& units,
                                           std::chrono::sys_seconds now);

/// A payload that is to take the place of one that the unit carries: MAPs of the same intersections whose
/// revision goes back, or is the same though they say something else. Revisions count to 127 and begin at 0
/// again (SAE J2735 MsgCount), so that one less by up to 63 is taken for an earlier one.
void judge_revision(std::string_view desired, std::string_view found, const std::string& row,
                    const Place& place, Findings& findings);

}  // namespace vergeset::checks
