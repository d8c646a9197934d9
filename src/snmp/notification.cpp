#include "snmp/notification.h"

#include <algorithm>
#include <utility>

namespace vergeset::snmp {

namespace {

constexpr std::uint32_t generic_traps = 6;  // RFC 1157 4.1.6: the sixth is enterpriseSpecific

const smi::Oid& up_time() {
  static const smi::Oid instance{1, 3, 6, 1, 2, 1, 1, 3, 0};  // RFC 3418
  return instance;
}
const smi::Oid& trap_oid() {
  static const smi::Oid instance{1, 3, 6, 1, 6, 3, 1, 1, 4, 1, 0};  // RFC 3418
  return instance;
}

/// The name of a trap of SNMPv1: one of RFC 3418's, or the enterprise's own (RFC 3584 3.1 (2)).
smi::Oid id_of(const netsnmp_pdu& pdu, const smi::Oid& enterprise) {
  const auto generic = static_cast<std::uint32_t>(pdu.trap_type);
  if (generic < generic_traps) return smi::Oid{1, 3, 6, 1, 6, 3, 1, 1, 5}.child(generic + 1);
  return enterprise.child(0).child(static_cast<std::uint32_t>(pdu.specific_type));
}

/// RFC 3584 3.1 (3), (4): what a trap of SNMPv1 says besides becomes variable bindings.
Result<Notification> from_first_version(const netsnmp_pdu& pdu, std::vector<VarBind> varbinds) {
  if (pdu.trap_type < 0 || pdu.trap_type > generic_traps || pdu.specific_type < 0)
    return Problem{"a trap of SNMPv1 with a number that there is not (RFC 1157 4.1.6)"};
  if (pdu.enterprise == nullptr || pdu.enterprise_length < 2 || pdu.enterprise_length > 126)
    return Problem{"a trap of SNMPv1 without an enterprise"};
  const smi::Oid enterprise(pdu.enterprise, pdu.enterprise_length);
  Notification notification{Notification::Kind::first_trap, id_of(pdu, enterprise),
                            static_cast<std::uint32_t>(pdu.time), std::move(varbinds)};
  const std::string agent(reinterpret_cast<const char*>(pdu.agent_addr), sizeof pdu.agent_addr);
  if (agent != std::string(sizeof pdu.agent_addr, '\0')) {
    notification.varbinds.push_back(
        {smi::Oid{1, 3, 6, 1, 6, 3, 18, 1, 3, 0}, smi::Value{smi::Type::ip_address, 0, agent, {}}});
  }
  notification.varbinds.push_back(
      {smi::Oid{1, 3, 6, 1, 6, 3, 1, 1, 4, 3, 0}, smi::Value::of_oid(enterprise)});
  return notification;
}

}  // namespace

std::string_view kind_name(Notification::Kind kind) {
  switch (kind) {
    case Notification::Kind::first_trap:
      return "SNMPv1 trap";
    case Notification::Kind::trap:
      return "trap";
    case Notification::Kind::inform:
      break;
  }
  return "inform";
}

Result<Notification> read_notification(const netsnmp_pdu& pdu) {
  const bool first = pdu.command == SNMP_MSG_TRAP;
  if (!first && pdu.command != SNMP_MSG_TRAP2 && pdu.command != SNMP_MSG_INFORM)
    return Problem{"a PDU that is no notification"};
  Answer read = read_varbinds(pdu);
  if (!read) return Problem{read.error().text};
  std::vector<VarBind> varbinds = read.take();
  if (first) return from_first_version(pdu, std::move(varbinds));
  if (pdu.errstat != SNMP_ERR_NOERROR || pdu.errindex != 0)
    return Problem{"a notification with an error in it (RFC 3416 4.2.6)"};
  if (varbinds.size() < 2 || varbinds[0].oid != up_time() || varbinds[1].oid != trap_oid() ||
      varbinds[0].value.type != smi::Type::time_ticks || varbinds[1].value.type != smi::Type::object_id) {
    return Problem{"a notification that does not begin with sysUpTime.0 and snmpTrapOID.0 (RFC 3416 4.2.6)"};
  }
  Notification notification;
  notification.kind = pdu.command == SNMP_MSG_INFORM ? Notification::Kind::inform : Notification::Kind::trap;
  notification.up = static_cast<std::uint32_t>(varbinds[0].value.number);
  notification.id = *varbinds[1].value.oid;
  varbinds.erase(varbinds.begin(), varbinds.begin() + 2);
  notification.varbinds = std::move(varbinds);
  return notification;
}

}  // namespace vergeset::snmp
