#include "sim/agent_library.h"

#include <net-snmp/net-snmp-config.h>
// The other headers of net-snmp want its configuration first.
#include <net-snmp/net-snmp-includes.h>
// And the agent's want the library's.
#include <net-snmp/agent/net-snmp-agent-includes.h>
#include <net-snmp/library/keytools.h>
#include <net-snmp/library/lcd_time.h>
#include <net-snmp/library/snmpusm.h>
#include <net-snmp/library/vacm.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <deque>
#include <optional>
#include <vector>

#include "sim/agent_values.h"

extern "C" {
// Exported by the agent library and in no header of it.
extern netsnmp_session* main_session;
void init_usmUser();
void init_vacm_vars();
void init_snmpEngine();
void init_usmStats();
void init_snmpMPDStats();
void init_setSerialNo();
}

namespace vergeset::sim {

namespace {

constexpr const char* application = "roadside-sim";
constexpr const char* managers = "managers";  ///< VACM group
constexpr const char* everything = "everything";  ///< VACM view

struct HeldAnswer {
  std::int64_t due = 0;
  std::string octets;
  std::string peer;  ///< the transport's own form of the address
};

using SendFunction = int (*)(netsnmp_transport*, const void*, int, void**, int*);

/// The globals that net-snmp's callbacks need, in one place.
struct Served {
  AgentSetup setup;
  netsnmp_transport* transport = nullptr;
  SendFunction send = nullptr;
  netsnmp_callback receive = nullptr;
  std::vector<smi::Oid> roots;
  std::deque<HeldAnswer> held;
  bool mute = false;
  // The SET at hand.
  bool checked = false;
  bool committed = false;
  Verdict verdict;  ///< index counts the bindings of the whole request
};
Served served;

SimUnit& unit() { return *served.setup.unit; }

/// The transport's sending, with answers lost or held back.
int send_or_hold(netsnmp_transport* transport, const void* octets, int size, void** peer, int* peer_size) {
  if (served.mute) return size;
  if (unit().trouble.delay_ms == 0 || peer == nullptr || *peer == nullptr)
    return served.send(transport, octets, size, peer, peer_size);
  served.held.push_back({served.setup.now() + unit().trouble.delay_ms,
                         std::string(static_cast<const char*>(octets), static_cast<std::size_t>(size)),
                         std::string(static_cast<const char*>(*peer), static_cast<std::size_t>(*peer_size))});
  return size;
}

int take_set(int operation, netsnmp_session* session, int id, netsnmp_pdu* pdu, void* magic) {
  if (!unit().takes_set(count_varbinds(pdu->variables))) return 1;
  served.checked = served.committed = false;
  served.mute = !unit().answers_set();
  const int result = served.receive(operation, session, id, pdu, magic);
  served.mute = false;
  unit().set_done(served.committed);
  if (served.committed) served.setup.changed();
  return result;
}

/// In front of the agent's own: counts, and loses what is to be lost.
int receive(int operation, netsnmp_session* session, int id, netsnmp_pdu* pdu, void* magic) {
  if (operation == NETSNMP_CALLBACK_OP_RECEIVED_MESSAGE && pdu != nullptr) {
    const int command = pdu->command;
    if (command == SNMP_MSG_SET) return take_set(operation, session, id, pdu, magic);
    if (command == SNMP_MSG_GET || command == SNMP_MSG_GETNEXT || command == SNMP_MSG_GETBULK)
      if (!unit().takes_get()) return 1;
  }
  return served.receive(operation, session, id, pdu, magic);
}

bool ours(const smi::Oid& oid) {
  return std::any_of(served.roots.begin(), served.roots.end(),
                     [&](const smi::Oid& root) { return oid.within(root); });
}

/// One request is one transaction of the store, however many subtrees it touches: the first call of
/// RESERVE1 judges all its bindings.
void check_set(netsnmp_agent_request_info* info) {
  std::vector<VarBind> set;
  std::vector<std::size_t> places;
  std::size_t place = 0;
  for (const netsnmp_variable_list* var = info->asp->pdu->variables; var != nullptr; var = var->next_variable) {
    ++place;
    smi::Oid name = oid_of(var->name, var->name_length);
    if (!ours(name)) continue;
    set.push_back({std::move(name), value_of(*var)});
    places.push_back(place);
  }
  served.verdict = unit().check(set, served.setup.now());
  if (!served.verdict.ok()) served.verdict.index = places[served.verdict.index - 1];
  served.checked = true;
}

void set_phase(netsnmp_agent_request_info* info, netsnmp_request_info* requests) {
  switch (info->mode) {
    case MODE_SET_RESERVE1:
      if (!served.checked) check_set(info);
      for (auto* request = requests; request != nullptr; request = request->next)
        if (!served.verdict.ok() && request->index == static_cast<int>(served.verdict.index))
          netsnmp_set_request_error(info, request, static_cast<int>(served.verdict.status));
      break;
    case MODE_SET_COMMIT:
      if (!served.committed) unit().commit(served.setup.now());
      served.committed = true;
      break;
    case MODE_SET_UNDO:
      if (served.committed) unit().undo();
      served.committed = false;
      break;
    default:
      break;
  }
}

void answer_next(netsnmp_request_info* request, std::int64_t now) {
  const netsnmp_variable_list* var = request->requestvb;
  const auto next = unit().store.get_next(oid_of(var->name, var->name_length), now);
  if (!next) return;
  const std::vector<oid> arcs(next->oid.arcs().begin(), next->oid.arcs().end());
  if (request->range_end != nullptr &&
      snmp_oid_compare(arcs.data(), arcs.size(), request->range_end, request->range_end_len) >= 0)
    return;  // another subtree's
  snmp_set_var_objid(request->requestvb, arcs.data(), arcs.size());
  give_value(request->requestvb, next->value);
}

int handle(netsnmp_mib_handler*, netsnmp_handler_registration*, netsnmp_agent_request_info* info,
           netsnmp_request_info* requests) {
  const std::int64_t now = served.setup.now();
  if (info->mode != MODE_GET && info->mode != MODE_GETNEXT) {
    set_phase(info, requests);
    return SNMP_ERR_NOERROR;
  }
  for (auto* request = requests; request != nullptr; request = request->next) {
    if (request->processed != 0) continue;
    if (info->mode == MODE_GETNEXT) {
      answer_next(request, now);
      continue;
    }
    const netsnmp_variable_list* var = request->requestvb;
    const smi::Value value = unit().store.get(oid_of(var->name, var->name_length), now);
    if (value.absent())
      netsnmp_set_request_error(info, request, static_cast<int>(value.type));
    else
      give_value(request->requestvb, value);
  }
  return SNMP_ERR_NOERROR;
}

/// The model's own tree, and for the rest of its objects the group that each stands in.
std::vector<smi::Oid> roots_of(const schema::Model& model) {
  const smi::Oid system{1, 3, 6, 1, 2, 1, 1};
  std::vector<smi::Oid> roots{system, model.root};
  for (const auto& [name, object] : model.objects) {
    const bool covered = std::any_of(roots.begin(), roots.end(),
                                     [&](const smi::Oid& root) { return object.oid.within(root); });
    if (!covered) roots.push_back(object.table != nullptr ? object.table->oid : object.oid);
  }
  return roots;
}

void register_objects() {
  served.roots = roots_of(unit().store.model());
  for (const smi::Oid& root : served.roots) {
    const std::vector<oid> arcs(root.arcs().begin(), root.arcs().end());
    netsnmp_register_handler(netsnmp_create_handler_registration(application, handle, arcs.data(), arcs.size(),
                                                                 HANDLER_CAN_RWRITE));
  }
  if (!ours({1, 3, 6, 1, 6, 3, 1, 1, 6, 1})) init_setSerialNo();
}

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

/// One group that reads and writes everything, with authPriv alone (RFC 3415).
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

void join_managers(const std::string& user) {
  vacm_groupEntry* group = vacm_createGroupEntry(SNMP_SEC_MODEL_USM, user.c_str());
  std::strcpy(group->groupName, managers);  // NOLINT: VACMSTRINGLEN is 34
  group->status = RS_ACTIVE;
  group->storageType = ST_READONLY;
}

std::string transport_name(const std::string& host, std::uint16_t port) {
  const bool six = host.find(':') != std::string::npos;
  return (six ? "udp6:[" + host + "]:" : "udp:" + host + ":") + std::to_string(port);
}

}  // namespace

void start_library() {
  for (const int off : {NETSNMP_DS_LIB_DONT_READ_CONFIGS, NETSNMP_DS_LIB_DONT_PERSIST_STATE,
                        NETSNMP_DS_LIB_DISABLE_PERSISTENT_LOAD, NETSNMP_DS_LIB_DISABLE_PERSISTENT_SAVE,
                        NETSNMP_DS_LIB_DONT_LOAD_HOST_FILES, NETSNMP_DS_LIB_DISABLE_V1,
                        NETSNMP_DS_LIB_DISABLE_V2c})
    netsnmp_ds_set_boolean(NETSNMP_DS_LIBRARY_ID, off, 1);
  // A folder that cannot be made: the library makes one for certificates otherwise.
  netsnmp_ds_set_string(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_PERSISTENT_DIR, "/dev/null");
  netsnmp_ds_set_boolean(NETSNMP_DS_APPLICATION_ID, NETSNMP_DS_AGENT_ROLE, 0);
  netsnmp_ds_set_boolean(NETSNMP_DS_APPLICATION_ID, NETSNMP_DS_AGENT_DONT_LOG_TCPWRAPPERS_CONNECTS, 1);
  setenv("MIBS", "", 1);
  setenv("MIBDIRS", "/dev/null", 1);
  setenv("SNMPCONFPATH", "/dev/null", 1);
  snmp_disable_log();
  init_agent(application);
  init_usmUser();
  init_vacm_vars();
  init_snmpEngine();
  init_usmStats();
  init_snmpMPDStats();
  open_views();
  init_snmp(application);
}

/// Only init_snmpv3 sets the moment that the engine's time counts from, and the library counts a
/// start of its own where that time goes back: so the time is asked once before the starts are set.
void restart_engine() {
  const std::string& id = served.setup.engine_id;
  init_snmpv3(application);
  snmpv3_local_snmpEngineTime();
  std::string token = "engineBoots";
  std::string before = std::to_string(unit().boots - 1);
  engineBoots_conf(token.data(), before.data());
  set_enginetime(reinterpret_cast<const u_char*>(id.data()), static_cast<u_int>(id.size()), unit().boots,
                 static_cast<u_int>(snmpv3_local_snmpEngineTime()), TRUE);
}

Result<int> start_agent(AgentSetup setup) {
  served.setup = std::move(setup);
  const AgentSetup& with = served.setup;
  errno = 0;
  served.transport = netsnmp_transport_open_server("snmp", transport_name(with.host, with.port).c_str());
  if (served.transport == nullptr)
    return Problem{"cannot bind " + with.host + " port " + std::to_string(with.port) + ": " +
                   (errno != 0 ? std::strerror(errno) : "no such address")};
  const auto* id = reinterpret_cast<const u_char*>(with.engine_id.data());
  if (set_exact_engineID(id, with.engine_id.size()) != SNMPERR_SUCCESS)
    return Problem{"net-snmp refuses the engine id " + smi::to_hex(with.engine_id)};
  restart_engine();
  if (!add_user(with.user, with.engine_id)) return Problem{"net-snmp refuses the user " + with.user.name};
  join_managers(with.user.name);
  register_objects();
  served.send = served.transport->f_send;
  served.transport->f_send = send_or_hold;
  const int socket = served.transport->sock;
  if (netsnmp_register_agent_nsap(served.transport) == 0 || main_session == nullptr)
    return Problem{"net-snmp refuses the transport"};
  served.receive = main_session->callback;
  main_session->callback = receive;
  return socket;
}

void serve_datagram() {
  fd_set readable;
  FD_ZERO(&readable);
  FD_SET(served.transport->sock, &readable);
  snmp_read(&readable);
}

void discard_datagram() {
  char octet = 0;
  (void)::recv(served.transport->sock, &octet, 1, MSG_DONTWAIT);
}

std::int64_t next_answer_due() {
  std::int64_t due = -1;
  for (const HeldAnswer& answer : served.held) due = due < 0 ? answer.due : std::min(due, answer.due);
  return due;
}

void send_due_answers() {
  const std::int64_t now = served.setup.now();
  std::deque<HeldAnswer> held = std::exchange(served.held, {});
  for (HeldAnswer& answer : held) {
    if (answer.due > now) {
      served.held.push_back(std::move(answer));
      continue;
    }
    void* peer = answer.peer.data();
    int size = static_cast<int>(answer.peer.size());
    served.send(served.transport, answer.octets.data(), static_cast<int>(answer.octets.size()), &peer, &size);
  }
}

void forget_answers() { served.held.clear(); }

}  // namespace vergeset::sim
