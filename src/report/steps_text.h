#pragma once

#include <string>

#include "change/sequence.h"
#include "report/screen.h"

namespace vergeset::report {

/// The value of a variable binding in words, with the number or octets that travel where the words are
/// not the same: "standby(2)", "54.9002960 deg (549002960)", "0x82 (octets 8002)".
std::string assignment_text(const Screen& screen, const change::Assignment& assignment);

/// The steps of a unit, one SNMP request each, and how long it is off air.
std::string steps_text(const Screen& screen, const change::Sequence& sequence);

/// "off air for about 4.4 s", "no time off air", "will be left off air, in standby".
std::string off_air_text(const change::Sequence& sequence);

}  // namespace vergeset::report
