#pragma once

#include <string>
#include <vector>

#include "report/standing.h"

namespace vergeset::report {

/// What is said of a unit's doors that its factory left open is a finding like others.
std::vector<records::AuditedFinding> all_findings(const records::AuditedUnit& unit);

/// Something that a unit has for a time only, and whether that is over soon: within a month, or, of what
/// units renew by themselves, within what the fleet wants left of it.
struct Ending {
  std::string what;
  std::int64_t at = 0;  ///< milliseconds since 1970
  bool or_later = false;
  bool soon = false;
};

/// What its newest audit found, and the messages that its files have sent for a time only, soonest first.
/// What has ended is left out: that is a finding.
std::vector<Ending> endings(const fleet::Fleet& fleet, const UnitStanding& unit, std::int64_t now);

/// Text of one severity as of records from before findings had one: a warning.
std::string severity_of(const records::AuditedFinding& finding);

/// "LK-104", "LK-104 and LK-105", "LK-104, LK-105, LK-106 and 9 more".
std::string names_text(const std::vector<std::string>& names, std::size_t most = 3);

/// What is to be known of the records themselves, a sentence each: that there is no audit, that a change has
/// not ended, that a record cannot be read.
std::vector<std::string> notes(const Standing& standing);

}  // namespace vergeset::report
