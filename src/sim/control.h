#pragma once

#include <string>
#include <string_view>

#include "sim/sim_unit.h"

namespace vergeset::sim {

/// One line of control, as a hand at the unit or a fault would have it, and the lines that answer:
///
///   counters | reset counters         requests so far
///   drop N                            the next N requests get no answer
///   drop-response N                   the next N SETs are carried out and not answered
///   delay MS                          each answer comes that much later
///   refuse STATUS N                   the next N SETs are refused
///   refuse OBJECT STATUS N            ... of those that hold the object
///   ignore N | ignore OBJECT N        the next N SETs are acknowledged and (of the object) not carried out
///   clip OBJECT VALUE                 whatever is written there is stored as VALUE
///   stuck standby|fault N             the next N SETs of operate end there
///   reboot [lose]                     silent for a while; `lose` forgets what was SET since the start
///   notify NAME [HOST:PORT]           a trap, to where the settings say or there; NAME as coldStart, or an
///                                     identifier
///   forget-users N                    after the next N reboots users, keys and access are as at the start
///   set OBJECT VALUE                  a local hand
///   get OBJECT                        what it reads
///   state                             every value
///   clear                             no more faults
///
/// OBJECT is "rsuID" or, for a row, "rsuMsgRepeatPsid.3"; where SETs are refused or ignored also one of
/// access_names(), as "usmUserTable" or "usmUserAuthKeyChange". A problem is answered as "error: ...".
std::string obey(SimUnit& unit, std::string_view line, std::int64_t now);

}  // namespace vergeset::sim
