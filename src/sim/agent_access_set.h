#pragma once

#include <net-snmp/net-snmp-config.h>
// The other headers of net-snmp want its configuration first.
#include <net-snmp/net-snmp-includes.h>
// And the agent's want the library's.
#include <net-snmp/agent/net-snmp-agent-includes.h>

namespace vergeset::sim {

/// SETs on usmUser and the tables of RFC 3415, which net-snmp's own modules carry out.

/// Puts a handler of ours in front of the library's, for every column and scalar there. In the parent,
/// once: the registrations are then shared by all units.
void stand_before_access(Netsnmp_Node_Handler* handler);

/// A user changes no other's key by usmUserOwnAuthKeyChange and usmUserOwnPrivKeyChange, and nobody does
/// by another security model than USM: noAccess (RFC 3414 5).
void refuse_foreign_keys(netsnmp_agent_request_info* info, netsnmp_request_info* requests);

}  // namespace vergeset::sim
