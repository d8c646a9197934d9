#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/access_tables.h"
#include "sim/loss.h"
#include "sim/sim_unit.h"
#include "smi/result.h"

namespace vergeset::sim {

/// net-snmp's agent library, fenced: no other file of the simulator includes its headers. It keeps
/// its state in globals, so one process serves one unit.

/// A user of SNMPv3 with its keys Ku (RFC 3414 A.2), made once in the parent for all units. Without a
/// privacy key, or without keys at all, it speaks authNoPriv or noAuthNoPriv.
struct AgentUser {
  std::string name;
  int auth_type = 0;
  int privacy_type = 0;
  std::string auth_key;
  std::string privacy_key;
};

/// Switches off what the library reads and writes by itself, and starts it. In the parent, once:
/// what the children do not change they share (0.2 MB of private memory a unit instead of 0.6).
void start_library();

/// Protocols by the names of fleet.yaml, or none: its secret is then not looked at. About 5 ms.
Result<AgentUser> make_user(const std::string& name, const std::string& auth, std::string_view auth_secret,
                            const std::string& privacy, std::string_view privacy_secret);

/// snmpEngineID (RFC 3411 SnmpEngineID) of a unit that the inventory gives none: format 4, text, where
/// the name fits its 27 octets; otherwise format 5 with a digest of the name. The same at every start.
std::string engine_id_of(const std::string& unit_name);

struct AgentSetup {
  SimUnit* unit = nullptr;
  std::string engine_id;
  std::vector<AgentUser> users;
  std::optional<AccessTables> access;  ///< in place of the users, and of the views that all start with
  std::string host;
  std::uint16_t port = 161;
  int delay_ms = 0;  ///< before each answer, beside what the unit is told
  Loss loss;
  std::function<std::int64_t()> now;     ///< milliseconds since 1970
  std::function<void()> changed;         ///< after each commit or undo, before it is answered
  std::function<void()> access_changed;  ///< the same where it was of usmUser or the tables of RFC 3415
};

/// Binds, registers the unit's objects and lets its users in, each at its own level or above. The result
/// is the socket to poll. For a child, once.
Result<int> start_agent(AgentSetup setup);

/// Reads one datagram from the socket and answers it, or throws it away.
void serve_datagram();
void discard_datagram();

/// Answers that `delay` holds back: when the next is due (-1: none), and sending those that are.
std::int64_t next_answer_due();
void send_due_answers();
void forget_answers();

/// A trap of SNMPv3 from the unit's address (RFC 3416 4.2.6), as the user of this engine with the most
/// protection. A problem says why it was not sent.
Result<bool> send_trap(const std::string& from, const SimUnit::Saying& saying);

/// The engine starts anew with unit.boots, and its time from 0 (RFC 3414 2.2).
void restart_engine();

}  // namespace vergeset::sim
