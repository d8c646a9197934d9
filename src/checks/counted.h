#pragma once

#include <vector>

#include "checks/as_read.h"
#include "checks/finding.h"
#include "fleet/fleet.h"
#include "records/counted.h"

namespace vergeset::checks {

/// What is to be kept of a unit as read, with what was kept before where there is something: seconds since
/// power on, the restarts that audits noticed and the fleet still counts, and of a unit that operates the
/// counters that count messages which are due. A unit that gave no answer keeps what it had.
records::Counted count(const AsRead& read, const fleet::Fleet& fleet, const fleet::Unit& unit,
                       const records::Counted* before);

/// Whether the unit started anew between two readings. It did where its time since power on went back, or is
/// shorter than the time that passed: by more than clocks differ (common practice, no source: a minute and a
/// thousandth).
bool restarted(const records::Counted& before, const records::Counted& now);

/// What two readings say: restarts since the first, too many of them in the last nights, and counters that
/// did not move by as much as the messages that the files ask for would make them. Counters are Counter32 and
/// come round at 2^32 (RFC 2578 7.1.6); after a restart they are taken to begin at 0 (common practice, no
/// source). Messages that no counter counts are not judged. Two readings of one visit can be compared too, if
/// a minute is between them.
void judge_counted(const fleet::Fleet& fleet, const fleet::Unit& unit, const records::Counted& before,
                   const records::Counted& now, Findings& findings, const AsRead& read);

/// The columns of the counting table that this looks at; empty where no message of the unit is repeated, or
/// where scalars count them all.
std::vector<const schema::Object*> counting_columns(const fleet::Unit& unit);
/// Such scalars: RSU 4.1 counts what each kind of channel sent.
std::vector<const schema::Object*> counting_scalars(const fleet::Unit& unit);

}  // namespace vergeset::checks
