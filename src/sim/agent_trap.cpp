#include <net-snmp/net-snmp-config.h>
// The other headers of net-snmp want its configuration first.
#include <net-snmp/net-snmp-includes.h>

#include <array>
#include <cstring>
#include <vector>

#include "sim/agent_library.h"

namespace vergeset::sim {

namespace {

constexpr std::array<oid, 9> up_time{1, 3, 6, 1, 2, 1, 1, 3, 0};
constexpr std::array<oid, 11> trap_id{1, 3, 6, 1, 6, 3, 1, 1, 4, 1, 0};

int level_of(const usmUser& user) {
  const bool authentic = snmp_oid_compare(user.authProtocol, user.authProtocolLen, usmNoAuthProtocol,
                                          OID_LENGTH(usmNoAuthProtocol)) != 0;
  const bool hidden = snmp_oid_compare(user.privProtocol, user.privProtocolLen, usmNoPrivProtocol,
                                       OID_LENGTH(usmNoPrivProtocol)) != 0;
  if (!authentic) return SNMP_SEC_LEVEL_NOAUTH;
  return hidden ? SNMP_SEC_LEVEL_AUTHPRIV : SNMP_SEC_LEVEL_AUTHNOPRIV;
}

/// Of those that the engine has, and that are active; null where it has none.
const usmUser* best_user(std::string_view engine_id) {
  const usmUser* best = nullptr;
  for (const usmUser* user = usm_get_userList(); user != nullptr; user = user->next) {
    const bool here = user->engineIDLen == engine_id.size() &&
                      std::memcmp(user->engineID, engine_id.data(), engine_id.size()) == 0;
    if (!here || user->userStatus != SNMP_ROW_ACTIVE) continue;
    if (best == nullptr || level_of(*user) > level_of(*best)) best = user;
  }
  return best;
}

}  // namespace

Result<bool> send_trap(const std::string& from, const SimUnit::Saying& saying) {
  std::array<u_char, USM_MAX_ID_LENGTH> engine{};
  const std::size_t engine_size = snmpv3_get_engineID(engine.data(), engine.size());
  const usmUser* const user = best_user({reinterpret_cast<const char*>(engine.data()), engine_size});
  if (user == nullptr) return Problem{"no trap: the unit has no user to send it as"};
  netsnmp_session wish;
  snmp_sess_init(&wish);
  const bool sixth = saying.host.find(':') != std::string::npos;
  std::string peer =
      (sixth ? "udp6:[" + saying.host + "]:" : "udp:" + saying.host + ":") + std::to_string(saying.port);
  std::string own = from;
  wish.version = SNMP_VERSION_3;
  wish.peername = peer.data();
  wish.localname = own.data();
  wish.securityModel = SNMP_SEC_MODEL_USM;
  wish.securityLevel = level_of(*user);
  wish.securityName = user->secName;
  wish.securityNameLen = std::strlen(user->secName);
  wish.securityEngineID = wish.contextEngineID = engine.data();
  wish.securityEngineIDLen = wish.contextEngineIDLen = engine_size;
  // Its keys are in the agent's table: nobody is asked for them, and none are made.
  wish.flags |= SNMP_FLAGS_DONT_PROBE | SNMP_FLAGS_USER_CREATED;
  netsnmp_session* const session = snmp_open(&wish);
  if (session == nullptr) return Problem{"no trap: cannot send to " + peer};
  netsnmp_pdu* const pdu = snmp_pdu_create(SNMP_MSG_TRAP2);
  const u_long up = static_cast<u_long>(snmpv3_local_snmpEngineTime()) * 100;
  snmp_pdu_add_variable(pdu, up_time.data(), up_time.size(), ASN_TIMETICKS, &up, sizeof up);
  const std::vector<oid> id(saying.notification.arcs().begin(), saying.notification.arcs().end());
  snmp_pdu_add_variable(pdu, trap_id.data(), trap_id.size(), ASN_OBJECT_ID, id.data(),
                        id.size() * sizeof(oid));
  const bool sent = snmp_send(session, pdu) != 0;
  if (!sent) snmp_free_pdu(pdu);
  snmp_close(session);
  if (!sent) return Problem{"no trap: it could not be sent to " + peer};
  return true;
}

}  // namespace vergeset::sim
