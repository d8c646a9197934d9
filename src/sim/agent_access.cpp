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

#include "sim/agent_values.h"

namespace vergeset::sim {

namespace {

constexpr const char* everything = "everything";  ///< view

struct Group {
  const char* name;
  int level;
};
constexpr std::array groups{Group{"managers", SNMP_SEC_LEVEL_AUTHPRIV},
                            Group{"managers-authNoPriv", SNMP_SEC_LEVEL_AUTHNOPRIV},
                            Group{"managers-noAuthNoPriv", SNMP_SEC_LEVEL_NOAUTH}};

std::string octets(const u_char* at, std::size_t size) {
  return at == nullptr ? std::string() : std::string(reinterpret_cast<const char*>(at), size);
}

std::string text(const char* at) {
  return at == nullptr ? std::string() : std::string(at);
}

std::vector<oid> arcs_of(const smi::Oid& from) {
  return {from.arcs().begin(), from.arcs().end()};
}

/// Octets that the library may lengthen a key to, in its place.
constexpr std::size_t key_room = 128;

/// Into memory that the library frees, in place of what was there.
void give(const std::string& from, u_char** held, std::size_t* size) {
  SNMP_FREE(*held);
  *held = static_cast<u_char*>(calloc(1, std::max(from.size(), key_room)));
  std::memcpy(*held, from.data(), from.size());
  *size = from.size();
}

void give(const smi::Oid& from, oid** held, std::size_t* size) {
  SNMP_FREE(*held);
  const std::vector<oid> arcs = arcs_of(from);
  *held = snmp_duplicate_objid(arcs.data(), arcs.size());
  *size = arcs.size();
}

/// Texts of RFC 3415's tables have at most 32 octets.
void give(const std::string& from, char (&held)[VACMSTRINGLEN]) {  // NOLINT: the library's own
  held[from.copy(held, VACMSTRINGLEN - 1)] = '\0';
}

/// The key Kul of this engine (RFC 3414 2.6).
bool localize(const usmUser& user, const std::string& key, std::string& made) {
  if (key.empty()) return true;
  std::array<u_char, key_room> room{};
  std::size_t size = room.size();
  const bool done = generate_kul(user.authProtocol, static_cast<u_int>(user.authProtocolLen), user.engineID,
                                 user.engineIDLen, reinterpret_cast<const u_char*>(key.data()), key.size(),
                                 room.data(), &size) == SNMPERR_SUCCESS;
  made = octets(room.data(), size);
  explicit_bzero(room.data(), room.size());
  return done;
}

/// Octets of key that a privacy protocol takes (RFC 3414 8, RFC 3826 3.1.2; DES takes its salt too).
std::size_t privacy_key_size(int type) {
  if (type == USM_CREATE_USER_PRIV_AES256) return 32;
  if (type == USM_CREATE_USER_PRIV_AES192) return 24;
  return 16;
}

int level_of(const AgentUser& user) {
  if (user.auth_key.empty()) return SNMP_SEC_LEVEL_NOAUTH;
  return user.privacy_key.empty() ? SNMP_SEC_LEVEL_AUTHNOPRIV : SNMP_SEC_LEVEL_AUTHPRIV;
}

bool add_user(const AgentUser& from, const std::string& engine_id) {
  usmUser* user = usm_create_user();
  give(engine_id, &user->engineID, &user->engineIDLen);
  user->name = strdup(from.name.c_str());
  user->secName = strdup(from.name.c_str());
  give(smi::Oid{0, 0}, &user->cloneFrom, &user->cloneFromLen);
  std::size_t size = 0;
  const oid* auth = sc_get_auth_oid(from.auth_type, &size);
  give(oid_of(auth, size), &user->authProtocol, &user->authProtocolLen);
  const oid* privacy = sc_get_priv_oid(from.privacy_type, &size);
  give(oid_of(privacy, size), &user->privProtocol, &user->privProtocolLen);
  std::string auth_key;
  std::string privacy_key;
  if (!localize(*user, from.auth_key, auth_key) || !localize(*user, from.privacy_key, privacy_key))
    return false;
  give(auth_key, &user->authKey, &user->authKeyLen);
  give(privacy_key, &user->privKey, &user->privKeyLen);
  if (!privacy_key.empty()) {
    if (usm_extend_user_kul(user, key_room) != SNMPERR_SUCCESS) return false;
    user->privKeyLen = std::min(user->privKeyLen, privacy_key_size(from.privacy_type));
  }
  user->userStatus = RS_ACTIVE;
  user->userStorageType = ST_NONVOLATILE;
  return usm_add_user(user) != nullptr;
}

void add_user(const AccessTables::User& from) {
  usmUser* user = usm_create_user();
  give(from.engine_id, &user->engineID, &user->engineIDLen);
  user->name = strdup(from.name.c_str());
  user->secName = strdup(from.security_name.c_str());
  // The library changes no keys of a user that it thinks is still to be cloned: one without this.
  give(from.clone_from.empty() ? smi::Oid{0, 0} : from.clone_from, &user->cloneFrom, &user->cloneFromLen);
  give(from.auth_protocol, &user->authProtocol, &user->authProtocolLen);
  give(from.privacy_protocol, &user->privProtocol, &user->privProtocolLen);
  give(from.auth_key, &user->authKey, &user->authKeyLen);
  give(from.privacy_key, &user->privKey, &user->privKeyLen);
  give(from.public_value, &user->userPublicString, &user->userPublicStringLen);
  user->userStatus = from.status;
  user->userStorageType = from.storage;
  usm_add_user(user);
}

void add_group(const AccessTables::Group& from) {
  vacm_groupEntry* group = vacm_createGroupEntry(from.model, from.security_name.c_str());
  give(from.group, group->groupName);
  group->status = from.status;
  group->storageType = from.storage;
}

void add_access(const AccessTables::Access& from) {
  vacm_accessEntry* access =
      vacm_createAccessEntry(from.group.c_str(), from.context_prefix.c_str(), from.model, from.level);
  access->contextMatch = from.context_match;
  for (std::size_t kind = 0; kind < from.views.size(); ++kind) give(from.views[kind], access->views[kind]);
  access->status = from.status;
  access->storageType = from.storage;
}

void add_view(const AccessTables::View& from) {
  std::vector<oid> subtree = arcs_of(from.subtree);
  vacm_viewEntry* view = vacm_createViewEntry(from.name.c_str(), subtree.data(), subtree.size());
  view->viewMaskLen = from.mask.copy(reinterpret_cast<char*>(view->viewMask), VACMSTRINGLEN);
  view->viewType = from.type;
  view->viewStatus = from.status;
  view->viewStorageType = from.storage;
}

void open_views_to(const Group& group) {
  add_access({group.name,
              "",
              SNMP_SEC_MODEL_USM,
              group.level,
              CONTEXT_MATCH_EXACT,
              {everything, everything, ""},
              RS_ACTIVE,
              ST_NONVOLATILE});
}

/// These begin with their size in the library's tables.
std::string behind_size(const char* at) {
  return {at + 1, static_cast<std::size_t>(static_cast<unsigned char>(*at))};
}

}  // namespace

void open_views() {
  add_view({everything, smi::Oid{1}, "", SNMP_VIEW_INCLUDED, RS_ACTIVE, ST_NONVOLATILE});
  open_views_to(groups.front());
}

bool let_in(const AgentUser& user, const std::string& engine_id) {
  if (!add_user(user, engine_id)) return false;
  const auto group = std::find_if(groups.begin(), groups.end(),
                                  [&](const Group& each) { return each.level == level_of(user); });
  if (vacm_getAccessEntry(group->name, "", SNMP_SEC_MODEL_USM, group->level) == nullptr)
    open_views_to(*group);
  add_group({SNMP_SEC_MODEL_USM, user.name, group->name, RS_ACTIVE, ST_NONVOLATILE});
  return true;
}

AccessTables access_tables() {
  AccessTables tables;
  for (const usmUser* user = usm_get_userList(); user != nullptr; user = user->next)
    tables.users.push_back(
        {octets(user->engineID, user->engineIDLen), text(user->name), text(user->secName),
         oid_of(user->cloneFrom, user->cloneFromLen), oid_of(user->authProtocol, user->authProtocolLen),
         oid_of(user->privProtocol, user->privProtocolLen), octets(user->authKey, user->authKeyLen),
         octets(user->privKey, user->privKeyLen), octets(user->userPublicString, user->userPublicStringLen),
         user->userStatus, user->userStorageType});
  vacm_scanGroupInit();
  while (const vacm_groupEntry* group = vacm_scanGroupNext())
    tables.groups.push_back({group->securityModel, behind_size(group->securityName), text(group->groupName),
                             group->status, group->storageType});
  vacm_scanAccessInit();
  while (const vacm_accessEntry* access = vacm_scanAccessNext())
    tables.accesses.push_back(
        {behind_size(access->groupName),
         behind_size(access->contextPrefix),
         access->securityModel,
         access->securityLevel,
         access->contextMatch,
         {access->views[VACM_VIEW_READ], access->views[VACM_VIEW_WRITE], access->views[VACM_VIEW_NOTIFY]},
         access->status,
         access->storageType});
  vacm_scanViewInit();
  while (const vacm_viewEntry* view = vacm_scanViewNext())
    tables.views.push_back({behind_size(view->viewName), oid_of(view->viewSubtree + 1, view->viewSubtree[0]),
                            octets(view->viewMask, view->viewMaskLen), view->viewType, view->viewStatus,
                            view->viewStorageType});
  return tables;
}

void put_access_tables(const AccessTables& tables) {
  while (usmUser* user = usm_get_userList()) usm_free_user(usm_remove_user(user));
  vacm_destroyAllGroupEntries();
  vacm_destroyAllAccessEntries();
  vacm_destroyAllViewEntries();
  for (const auto& user : tables.users) add_user(user);
  for (const auto& group : tables.groups) add_group(group);
  for (const auto& access : tables.accesses) add_access(access);
  for (const auto& view : tables.views) add_view(view);
}

}  // namespace vergeset::sim
