#pragma once

#include "change/audit.h"
#include "fleet/fleet.h"
#include "records/audit_record.h"
#include "smi/result.h"

namespace vergeset::report {

/// What an audit found of a unit as its record holds it: all that text and JSON show of it.
records::AuditedUnit kept(const change::Audited& unit);

/// The same back again, on its unit in the fleet: shown, it gives what was shown when it was audited. The
/// values that were read and are not shown are gone. A problem where the unit's model has no such object.
Result<change::Audited> from_kept(const records::AuditedUnit& kept, const fleet::Unit& unit);

}  // namespace vergeset::report
