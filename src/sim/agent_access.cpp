#include "sim/agent_access.h"

#include <net-snmp/net-snmp-config.h>
// The other headers of net-snmp want its configuration first.
#include <net-snmp/net-snmp-includes.h>
// And the agent's want the library's.
#include <net-snmp/agent/net-snmp-agent-includes.h>
#include <net-snmp/library/keytools.h>
#include <net-snmp/library/snmpusm.h>
#include <net-snmp/library/vacm.h>

#include <algorithm>
#include <array>
#include <cstring>

namespace vergeset::sim {

namespace {

constexpr const char* managers = "managers";      ///< group
constexpr const char* everything = "everything";  ///< view

/// The key Kul of this engine (RFC 3414 2.6), into memory that the library may free.
bool localize(const usmUser& user, const std::string& key, u_char** made, std::size_t* size) {
  constexpr std::size_t room = 128;
  *made = static_cast<u_char*>(calloc(1, room));
  *size = room;
  return generate_kul(user.authProtocol, static_cast<u_int>(user.authProtocolLen), user.engineID,
                      user.engineIDLen, reinterpret_cast<const u_char*>(key.data()), key.size(), *made,
                      size) == SNMPERR_SUCCESS;
}

void give_protocol(const oid* protocol, std::size_t size, oid** held, std::size_t* held_size) {
  SNMP_FREE(*held);
  *held = snmp_duplicate_objid(protocol, size);
  *held_size = size;
}

/// Octets of key that a privacy protocol takes (RFC 3414 8, RFC 3826 3.1.2; DES takes its salt too).
std::size_t privacy_key_size(int type) {
  if (type == USM_CREATE_USER_PRIV_AES256) return 32;
  if (type == USM_CREATE_USER_PRIV_AES192) return 24;
  return 16;
}

bool add_user(const AgentUser& from, const std::string& engine_id) {
  usmUser* user = usm_create_user();
  user->engineID = static_cast<u_char*>(netsnmp_memdup(engine_id.data(), engine_id.size()));
  user->engineIDLen = engine_id.size();
  user->name = strdup(from.name.c_str());
  user->secName = strdup(from.name.c_str());
  std::size_t size = 0;
  const oid* auth = sc_get_auth_oid(from.auth_type, &size);
  give_protocol(auth, size, &user->authProtocol, &user->authProtocolLen);
  const oid* privacy = sc_get_priv_oid(from.privacy_type, &size);
  give_protocol(privacy, size, &user->privProtocol, &user->privProtocolLen);
  if (!localize(*user, from.auth_key, &user->authKey, &user->authKeyLen) ||
      !localize(*user, from.privacy_key, &user->privKey, &user->privKeyLen) ||
      usm_extend_user_kul(user, 128) != SNMPERR_SUCCESS)
    return false;
  user->privKeyLen = std::min(user->privKeyLen, privacy_key_size(from.privacy_type));
  user->userStatus = RS_ACTIVE;
  user->userStorageType = ST_READONLY;
  return usm_add_user(user) != nullptr;
}

}  // namespace

void open_views() {
  std::array<oid, 1> iso{1};
  vacm_viewEntry* view = vacm_createViewEntry(everything, iso.data(), iso.size());
  view->viewType = SNMP_VIEW_INCLUDED;
  view->viewStatus = RS_ACTIVE;
  view->viewStorageType = ST_READONLY;
  vacm_accessEntry* access =
      vacm_createAccessEntry(managers, "", SNMP_SEC_MODEL_USM, SNMP_SEC_LEVEL_AUTHPRIV);
  access->contextMatch = 1;
  for (const int kind : {VACM_VIEW_READ, VACM_VIEW_WRITE})
    std::strcpy(access->views[kind], everything);  // NOLINT: VACMSTRINGLEN is 34
  access->status = RS_ACTIVE;
  access->storageType = ST_READONLY;
}

namespace {

void join_managers(const std::string& user) {
  vacm_groupEntry* group = vacm_createGroupEntry(SNMP_SEC_MODEL_USM, user.c_str());
  std::strcpy(group->groupName, managers);  // NOLINT: VACMSTRINGLEN is 34
  group->status = RS_ACTIVE;
  group->storageType = ST_READONLY;
}

}  // namespace

bool let_in(const AgentUser& user, const std::string& engine_id) {
  if (!add_user(user, engine_id)) return false;
  join_managers(user.name);
  return true;
}

}  // namespace vergeset::sim
