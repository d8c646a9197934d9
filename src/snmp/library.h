#pragma once

// The one door to net-snmp. Its headers do not stand -Wpedantic and -Wconversion.
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wconversion"
#include <net-snmp/net-snmp-config.h>
// net-snmp-config.h comes before all others of net-snmp.
#include <net-snmp/net-snmp-includes.h>
// The rest builds on net-snmp-includes.h.
#include <net-snmp/library/large_fd_set.h>
#include <net-snmp/library/lcd_time.h>
#include <net-snmp/library/snmpusm.h>
#pragma GCC diagnostic pop

namespace vergeset::snmp {

/// Makes net-snmp ready, once for the process and without init_snmp(): no configuration and no MIB
/// is read, no state is written, and what it would log is dropped.
void start_library();

}  // namespace vergeset::snmp
