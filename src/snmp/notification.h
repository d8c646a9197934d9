#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "smi/result.h"
#include "snmp/network.h"
#include "snmp/pdu.h"

namespace vergeset::snmp {

/// What a unit says unasked: an SNMPv2-Trap-PDU or an InformRequest-PDU (RFC 3416 4.2.6, 4.2.7), or the
/// Trap-PDU of SNMPv1 as RFC 3584 3.1 turns it into one.
struct Notification {
  enum class Kind { first_trap, trap, inform };
  Kind kind = Kind::trap;
  smi::Oid id;                         ///< snmpTrapOID.0
  std::uint32_t up = 0;                ///< sysUpTime.0, hundredths of a second
  std::vector<VarBind> varbinds = {};  ///< what stands behind these two
  bool operator==(const Notification&) const = default;
};

/// "SNMPv1 trap", "trap", "inform".
std::string_view kind_name(Notification::Kind kind);

/// A problem where the PDU is none, or where its first two variable bindings are not sysUpTime.0 and
/// snmpTrapOID.0 (RFC 3416 4.2.6). The community is in none of it.
Result<Notification> read_notification(const netsnmp_pdu& pdu);

}  // namespace vergeset::snmp
