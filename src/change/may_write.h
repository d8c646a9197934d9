#pragma once

#include <string>
#include <vector>

#include "change/as_found.h"
#include "fleet/fleet.h"
#include "snmp/network.h"

namespace vergeset::change {

/// Whether a unit lets this user write, asked by SETs that it has to refuse whoever sends them, so that
/// nothing is written and the reason of the refusal tells (RFC 3416 4.2.5: whether access is allowed is
/// looked at before the value is).
///
/// - The first SET holds a setting with the very value that it has, and snmpSetSerialNo.0 with a number that
///   is not its own. TestAndIncr (RFC 2579) refuses the number as inconsistentValue, and a SET is carried out
///   whole or not at all. Even a unit that carries out half of it writes what was there already.
/// - Where the unit offers no number, or lets this user write none, a SET of one setting to a value of
///   another SNMP type: wrongType, and no unit can keep octets where a number is, or a number where octets
///   are. Where there is no setting either, the answer to the number alone tells.
struct MayWrite {
  enum class Verdict {
    yes,
    no,
    unanswered,  ///< though reads were
    unknown,     ///< refused for another reason
  };
  Verdict verdict = Verdict::unknown;
  std::string what;  ///< with the object and the error-status
};

/// Settings that a SET may ask about, the likeliest first: scalars that the files ask for, then others of the
/// model; none of them does anything, needs standby, or can cut the manager off.
std::vector<const schema::Object*> may_be_asked(const fleet::Unit& unit);

/// `found`: as read just now, with snmpSetSerialNo.0 and what may_be_asked() named.
snmp::Task<MayWrite> may_write(snmp::Link& link, const fleet::Unit& unit, const AsFound& found);

}  // namespace vergeset::change
