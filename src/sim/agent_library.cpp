#include "sim/agent_library.h"

#include <net-snmp/net-snmp-config.h>
// The other headers of net-snmp want its configuration first.
#include <net-snmp/net-snmp-includes.h>
// And the agent's want the library's.
#include <dlfcn.h>
#include <net-snmp/agent/net-snmp-agent-includes.h>
#include <net-snmp/library/lcd_time.h>
#include <sys/socket.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <deque>
#include <utility>
#include <vector>

#include "sim/access_names.h"
#include "sim/agent_access.h"
#include "sim/agent_access_set.h"
#include "sim/agent_values.h"

extern "C" {
// Exported by the agent library and in no header of it.
extern netsnmp_session* main_session;
void init_usmUser();
void init_vacm_vars();
void init_snmpEngine();
void init_usmStats();
void init_snmpMPDStats();
}

namespace vergeset::sim {

namespace {

constexpr const char* application = "roadside-sim";

struct HeldAnswer {
  std::int64_t due = 0;
  std::string octets;
  std::string peer;  ///< the transport's own form of the address
};

using SendFunction = int (*)(netsnmp_transport*, const void*, int, void**, int*);
using ReceiveFunction = int (*)(netsnmp_transport*, void*, int, void**, int*);

/// The globals that net-snmp's callbacks need, in one place.
struct Served {
  AgentSetup setup;
  netsnmp_transport* transport = nullptr;
  SendFunction send = nullptr;
  ReceiveFunction take_datagram = nullptr;
  netsnmp_callback receive = nullptr;
  std::vector<smi::Oid> roots;
  std::deque<HeldAnswer> held;
  bool mute = false;
  // The SET at hand.
  bool checked = false;
  bool committed = false;
  bool access_committed = false;
  /// Of users and access: those that the library has begun with. The others must not reach it later, as
  /// it would answer for what it does not know.
  std::vector<const netsnmp_handler_registration*> reserving;
  Verdict verdict;  ///< index counts the bindings of the whole request
};
Served served;

SimUnit& unit() {
  return *served.setup.unit;
}

void count_datagram(Counters::Way& way, int size) {
  if (size <= 0) return;
  ++way.datagrams;
  way.octets += static_cast<std::uint64_t>(size);
}

int receive_and_count(netsnmp_transport* transport, void* octets, int room, void** peer, int* peer_size) {
  const int size = served.take_datagram(transport, octets, room, peer, peer_size);
  count_datagram(unit().counters.in, size);
  return size;
}

int send_and_count(netsnmp_transport* transport, const void* octets, int size, void** peer, int* peer_size) {
  count_datagram(unit().counters.out, size);
  return served.send(transport, octets, size, peer, peer_size);
}

/// The transport's sending, with answers lost or held back.
int send_or_hold(netsnmp_transport* transport, const void* octets, int size, void** peer, int* peer_size) {
  if (served.mute) return size;
  if (served.setup.loss.takes_answer()) {
    ++unit().counters.out.lost;
    return size;
  }
  const int delay = served.setup.delay_ms + unit().trouble.delay_ms;
  if (delay == 0 || peer == nullptr || *peer == nullptr)
    return send_and_count(transport, octets, size, peer, peer_size);
  served.held.push_back({served.setup.now() + delay,
                         std::string(static_cast<const char*>(octets), static_cast<std::size_t>(size)),
                         std::string(static_cast<const char*>(*peer), static_cast<std::size_t>(*peer_size))});
  return size;
}

int take_set(int operation, netsnmp_session* session, int id, netsnmp_pdu* pdu, void* magic) {
  if (!unit().takes_set(count_varbinds(pdu->variables))) return 1;
  served.checked = served.committed = served.access_committed = false;
  served.reserving.clear();
  served.mute = !unit().answers_set();
  const int result = served.receive(operation, session, id, pdu, magic);
  served.mute = false;
  unit().set_done(served.committed || served.access_committed);
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
  for (const netsnmp_variable_list* var = info->asp->pdu->variables; var != nullptr;
       var = var->next_variable) {
    ++place;
    smi::Oid name = oid_of(var->name, var->name_length);
    if (!ours(name) && !of_access(name)) continue;
    set.push_back({std::move(name), value_of(*var)});
    places.push_back(place);
  }
  served.verdict = unit().check(set, served.setup.now());
  if (!served.verdict.ok()) served.verdict.index = places[served.verdict.index - 1];
  served.checked = true;
}

void refuse_as_judged(netsnmp_agent_request_info* info, netsnmp_request_info* requests) {
  if (!served.checked) check_set(info);
  for (auto* request = requests; request != nullptr; request = request->next)
    if (!served.verdict.ok() && request->index == static_cast<int>(served.verdict.index))
      netsnmp_set_request_error(info, request, static_cast<int>(served.verdict.status));
}

void set_phase(netsnmp_agent_request_info* info, netsnmp_request_info* requests) {
  switch (info->mode) {
    case MODE_SET_RESERVE1:
      refuse_as_judged(info, requests);
      break;
    case MODE_SET_COMMIT:
      if (!std::exchange(served.committed, true)) {
        unit().commit(served.setup.now());
        served.setup.changed();
      }
      break;
    case MODE_SET_UNDO:
      if (std::exchange(served.committed, false)) {
        unit().undo();
        served.setup.changed();
      }
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

/// In front of the library's own for usmUser and the tables of RFC 3415: what this unit is told to do
/// wrong there, and who hears of what was changed.
int handle_access(netsnmp_mib_handler* handler, netsnmp_handler_registration* registration,
                  netsnmp_agent_request_info* info, netsnmp_request_info* requests) {
  if (info->mode == MODE_GET || info->mode == MODE_GETNEXT || info->mode == MODE_GETBULK)
    return netsnmp_call_next_handler(handler, registration, info, requests);
  if (info->mode == MODE_SET_RESERVE1) {
    refuse_as_judged(info, requests);
    refuse_foreign_keys(info, requests);
    // All of one call are of one column, and so ignored together.
    const netsnmp_variable_list* var = requests->requestvb;
    if (netsnmp_check_requests_error(requests) == SNMP_ERR_NOERROR &&
        unit().carries_out(oid_of(var->name, var->name_length)))
      served.reserving.push_back(registration);
  }
  const bool began =
      std::find(served.reserving.begin(), served.reserving.end(), registration) != served.reserving.end();
  const int status = began ? netsnmp_call_next_handler(handler, registration, info, requests)
                           : static_cast<int>(SNMP_ERR_NOERROR);
  const bool commits = info->mode == MODE_SET_COMMIT;
  if (commits || info->mode == MODE_SET_UNDO) served.access_committed = commits;
  if (began && (commits || info->mode == MODE_SET_UNDO)) served.setup.access_changed();
  return status;
}

/// The model's own tree, and for the rest of its objects the group that each stands in.
std::vector<smi::Oid> roots_of(const schema::Model& model) {
  const smi::Oid system{1, 3, 6, 1, 2, 1, 1};
  std::vector<smi::Oid> roots{system, model.root};
  for (const auto& [name, object] : model.objects) {
    const smi::Oid& oid = object.oid;
    const bool covered =
        std::any_of(roots.begin(), roots.end(), [&oid](const smi::Oid& root) { return oid.within(root); });
    if (!covered) roots.push_back(object.table != nullptr ? object.table->oid : object.oid);
  }
  return roots;
}

void register_objects() {
  served.roots = roots_of(unit().store.model());
  for (const smi::Oid& root : served.roots) {
    const std::vector<oid> arcs(root.arcs().begin(), root.arcs().end());
    netsnmp_register_handler(netsnmp_create_handler_registration(application, handle, arcs.data(),
                                                                 arcs.size(), HANDLER_CAN_RWRITE));
  }
}

std::string transport_name(const std::string& host, std::uint16_t port) {
  const bool six = host.find(':') != std::string::npos;
  return (six ? "udp6:[" + host + "]:" : "udp:" + host + ":") + std::to_string(port);
}

/// Where net-snmp was built with TCP wrappers, libwrap reads both of its files anew for every datagram, a
/// third of what a request costs, and this machine's rules are for its own services. It opens what these
/// name (tcpd.h); nothing is called "".
void pass_by_tcp_wrappers() {
  static char nothing[] = "";
  for (const char* table : {"hosts_allow_table", "hosts_deny_table"})
    if (auto* const name = static_cast<char**>(::dlsym(RTLD_DEFAULT, table)); name != nullptr)
      *name = nothing;
}

}  // namespace

void start_library() {
  pass_by_tcp_wrappers();
  for (const int off :
       {NETSNMP_DS_LIB_DONT_READ_CONFIGS, NETSNMP_DS_LIB_DONT_PERSIST_STATE,
        NETSNMP_DS_LIB_DISABLE_PERSISTENT_LOAD, NETSNMP_DS_LIB_DISABLE_PERSISTENT_SAVE,
        NETSNMP_DS_LIB_DONT_LOAD_HOST_FILES, NETSNMP_DS_LIB_DISABLE_V1, NETSNMP_DS_LIB_DISABLE_V2c})
    netsnmp_ds_set_boolean(NETSNMP_DS_LIBRARY_ID, off, 1);
  // A folder that cannot be made: the library makes one for certificates otherwise.
  netsnmp_ds_set_string(NETSNMP_DS_LIBRARY_ID, NETSNMP_DS_LIB_PERSISTENT_DIR, "/dev/null");
  netsnmp_ds_set_boolean(NETSNMP_DS_APPLICATION_ID, NETSNMP_DS_AGENT_ROLE, 0);
  netsnmp_ds_set_boolean(NETSNMP_DS_APPLICATION_ID, NETSNMP_DS_AGENT_DONT_LOG_TCPWRAPPERS_CONNECTS, 1);
  setenv("MIBS", "", 1);
  setenv("MIBDIRS", "/dev/null", 1);
  setenv("SNMPCONFPATH", "/dev/null", 1);
  // Its log goes to callbacks, and none is registered.
  snmp_disable_log();
  snmp_enable_calllog();
  init_agent(application);
  init_usmUser();
  init_vacm_vars();
  init_snmpEngine();
  init_usmStats();
  init_snmpMPDStats();
  init_snmp(application);
  stand_before_access(handle_access);
  open_views();  // only now: init_snmp empties the tables of RFC 3415
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
  if (with.access) put_access_tables(*with.access);
  for (const AgentUser& user : with.users)
    if (!with.access && !let_in(user, with.engine_id))
      return Problem{"net-snmp refuses the user " + user.name};
  register_objects();
  served.send = served.transport->f_send;
  served.transport->f_send = send_or_hold;
  served.take_datagram = served.transport->f_recv;
  served.transport->f_recv = receive_and_count;
  const int socket = served.transport->sock;
  if (netsnmp_register_agent_nsap(served.transport) == 0 || main_session == nullptr)
    return Problem{"net-snmp refuses the transport"};
  served.receive = main_session->callback;
  main_session->callback = receive;
  return socket;
}

void serve_datagram() {
  if (served.setup.loss.takes_request()) {
    ++unit().counters.in.lost;
    discard_datagram();
    return;
  }
  fd_set readable;
  FD_ZERO(&readable);
  FD_SET(served.transport->sock, &readable);
  snmp_read(&readable);
}

void discard_datagram() {
  char octet = 0;
  count_datagram(unit().counters.in,
                 static_cast<int>(::recv(served.transport->sock, &octet, 1, MSG_DONTWAIT | MSG_TRUNC)));
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
    send_and_count(served.transport, answer.octets.data(), static_cast<int>(answer.octets.size()), &peer,
                   &size);
  }
}

void forget_answers() {
  served.held.clear();
}

}  // namespace vergeset::sim
