#pragma once

#include <net-snmp/net-snmp-config.h>
// The other headers of net-snmp want its configuration first.
#include <net-snmp/net-snmp-includes.h>

#include <cstddef>

#include "smi/value.h"

namespace vergeset::sim {

/// Between net-snmp's variable bindings and ours.

smi::Oid oid_of(const oid* arcs, std::size_t size);
smi::Value value_of(const netsnmp_variable_list& var);
void give_value(netsnmp_variable_list* var, const smi::Value& value);
std::size_t count_varbinds(const netsnmp_variable_list* first);

}  // namespace vergeset::sim
