// A simulated unit without manners, for tests: answers SETs as roadside-sim's unit does, and reads as it is
// told.
//
//     bad_agent --fleet DIR --schemas DIR --unit NAME --manners MANNER --ready FILE [--object NAME]
//
// What a manner does is told where it is defined. It ends at SIGTERM, with the process that started it, or
// after 100 seconds.

#include <net-snmp/net-snmp-config.h>
// The other headers of net-snmp want its configuration first.
#include <net-snmp/net-snmp-includes.h>
// And the agent's want the library's.
#include <fmt/format.h>
#include <net-snmp/agent/net-snmp-agent-includes.h>
#include <poll.h>
#include <sys/prctl.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <csignal>
#include <fstream>
#include <functional>
#include <map>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "change/message_size.h"
#include "fleet/secret_source.h"
#include "sim/agent_library.h"
#include "sim/agent_values.h"
#include "sim/unit_start.h"

extern "C" {
// Exported by the agent library and in no header of it.
extern netsnmp_session* main_session;
}

namespace {

using namespace vergeset;
using Binds = std::vector<sim::VarBind>;

/// As many octets of variable bindings as an answer takes: near what UDP can carry.
constexpr std::size_t fullest = 60000;

struct Read {
  int command = 0;
  std::vector<smi::Oid> asked;
  std::size_t once = 0;
  std::size_t repetitions = 1;
};

/// The unit's table of stored messages, which the tests' fleet asks for.
class Unit {
 public:
  Unit(sim::SimUnit& unit, const schema::Model& model, const schema::Object& object)
      : unit_(unit), table_(*model.table("rsuMsgRepeatStatusTable")), object_(object) {}

  bool of_table(const smi::Oid& oid) const { return oid.within(table_.entry) && oid != table_.entry; }
  const schema::Object* column_of(const smi::Oid& oid) const {
    for (const schema::Object* column : table_.columns)
      if (oid.within(column->oid)) return column;
    return nullptr;
  }
  std::uint32_t row_of(const smi::Oid& oid) const {
    return oid.size() > table_.entry.size() + 1 ? oid.arcs()[table_.entry.size() + 1] : 0;
  }
  sim::VarBind next(const smi::Oid& after) const {
    const auto found = unit_.store.get_next(after, now());
    if (!found) return {after, smi::Value::of_number(smi::Type::end_of_mib_view, 0)};
    return *found;
  }
  smi::Value get(const smi::Oid& oid) const { return unit_.store.get(oid, now()); }
  /// What the object holds in an odd place.
  smi::Value some(const schema::Object& column, std::size_t octets) const {
    if (column.syntax.wire() == smi::Type::octet_string)
      return smi::Value::of_octets(std::string(octets, '\0'));
    return smi::Value::integer(1);
  }
  const schema::Object& object() const { return object_; }

  static std::int64_t now() {
    using namespace std::chrono;
    return duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count();
  }

 private:
  sim::SimUnit& unit_;
  const schema::Table& table_;
  const schema::Object& object_;
};

using Next = std::function<sim::VarBind(const smi::Oid&)>;

/// Rows of the table up to the last one, each with a payload of so many octets.
Next rows_up_to(const Unit& unit, std::uint32_t last, std::size_t payload) {
  return [&unit, last, payload](const smi::Oid& after) -> sim::VarBind {
    const schema::Object* const column = unit.column_of(after);
    if (column == nullptr || unit.row_of(after) >= last) {
      return unit.next(column == nullptr ? after : column->oid.child(0xffffffff));
    }
    const bool long_one = column->name == "rsuMsgRepeatPayload";
    return {column->oid.child(unit.row_of(after) + 1), unit.some(*column, long_one ? payload : 1)};
  };
}

/// The order of a table's rows.
Next rows_by(const Unit& unit, std::function<std::uint32_t(std::uint32_t)> following) {
  return [&unit, following = std::move(following)](const smi::Oid& after) -> sim::VarBind {
    const schema::Object* const column = unit.column_of(after);
    if (column == nullptr) return unit.next(after);
    return {column->oid.child(following(unit.row_of(after))), unit.some(*column, 1)};
  };
}

struct Manner {
  Next next;
  std::function<void(Binds&)> spoil = {};  ///< the whole answer
  bool too_big = false;                    ///< nothing else is ever answered
  bool heeds_repetitions = true;
};

/// Values of one object as `change` makes them.
std::function<void(Binds&)> with_object(const Unit& unit, std::function<void(smi::Value&)> change) {
  return [&unit, change = std::move(change)](Binds& binds) {
    for (sim::VarBind& one : binds)
      if (one.oid.within(unit.object().oid) && !one.value.absent()) change(one.value);
  };
}

/// What terminals, browsers, logs and file systems obey, one after the other into every octet string.
void fill_with_hostile_text(Binds& binds) {
  static const std::vector<std::string> texts = {
      "\033]0;owned\a\033[2J\033[31m",
      "<script>alert(1)</script><img src=x onerror=alert(1)>&amp;",
      "\xc2\x9b"
      "2J\xc2\x85\x9b"
      "31m\x90q\x9c",
      "\u202etxt.exe\u2066\u200b\ufeff\u2028",
      std::string(3000, 'A') + "\n",
      "\xff\xfe\xc0\x80\xed\xa0\x80",
      "../../../../../../tmp/vergeset-escaped",
      "x\r\n2026-11-26T00:00:00.000Z  audit        ends agrees\n",
      "%s%n{unit}\"'`$(touch /tmp/vergeset-escaped);:\\",
      std::string("nul\0inside\b\b\b\x7f", 14),
  };
  static std::size_t turn = 0;
  for (sim::VarBind& one : binds)
    if (!one.value.absent() && one.value.type == smi::Type::octet_string)
      one.value = smi::Value::of_octets(texts[turn++ % texts.size()]);
}

std::map<std::string, Manner> manners(const Unit& unit) {
  constexpr std::uint32_t no_last = 0xfffffff0;
  const Next as_it_is = [&unit](const smi::Oid& after) { return unit.next(after); };
  std::map<std::string, Manner> all;
  all["none"] = {as_it_is};
  all["endless"] = {rows_up_to(unit, no_last, 5)};
  all["absurdly-many"] = {rows_up_to(unit, 100000, 5)};
  all["flood"] = {rows_up_to(unit, no_last, 5), {}, false, false};
  all["same-again"] = {rows_by(unit, [](std::uint32_t row) { return std::max(row, 1U); })};
  all["backwards"] = {rows_by(unit, [](std::uint32_t row) { return row == 0 ? 200 : row - 1; })};
  all["long-payloads"] = {rows_up_to(unit, 40, 2302)};
  all["monstrous"] = {rows_up_to(unit, 255, 59000)};
  all["twice"] = {as_it_is, [&unit](Binds& binds) {
                    Binds doubled;
                    for (sim::VarBind& one : binds) {
                      doubled.push_back(one);
                      if (unit.of_table(one.oid)) doubled.push_back(one);
                    }
                    binds = std::move(doubled);
                  }};
  all["elsewhere"] = {[&unit](const smi::Oid& after) -> sim::VarBind {
    if (!unit.of_table(after)) return unit.next(after);
    return {smi::Oid{1, 3, 6, 1, 2, 1, 1, 5, 0}, smi::Value::of_octets("elsewhere")};
  }};
  all["trickle"] = {rows_up_to(unit, no_last, 5), [&unit](Binds& binds) {
                      if (!binds.empty() && unit.of_table(binds.front().oid)) binds.resize(1);
                    }};
  all["nothing"] = {as_it_is, [&unit](Binds& binds) {
                      if (!binds.empty() && unit.of_table(binds.front().oid)) binds.clear();
                    }};
  all["wrong-type"] = {as_it_is, with_object(unit, [](smi::Value& value) {
                         const bool octets = value.type == smi::Type::octet_string;
                         value = octets ? smi::Value::integer(5) : smi::Value::of_octets("five");
                       })};
  all["bad-value"] = {as_it_is, with_object(unit, [](smi::Value& value) {
                        const bool octets = value.type == smi::Type::octet_string;
                        value = octets ? smi::Value::of_octets("no address") : smi::Value::integer(-7);
                      })};
  all["hostile"] = {as_it_is, fill_with_hostile_text};
  all["too-big"] = {as_it_is, {}, true};
  return all;
}

Binds answer(const Unit& unit, const Manner& manner, const Read& read) {
  Binds binds;
  std::size_t octets = 0;
  const auto add = [&](sim::VarBind one) {
    octets += change::varbind_octets(one.oid, one.value);
    if (octets <= fullest || binds.empty()) binds.push_back(std::move(one));
    return octets <= fullest;
  };
  if (read.command == SNMP_MSG_GET) {
    for (const smi::Oid& oid : read.asked) add({oid, unit.get(oid)});
  } else {
    std::vector<smi::Oid> at = read.asked;
    const std::size_t repetitions = manner.heeds_repetitions ? read.repetitions : fullest;
    bool room = true;
    for (std::size_t i = 0; i < read.once; ++i) add(unit.next(at[i]));
    for (std::size_t turn = 0; turn < repetitions && room && read.once < at.size(); ++turn) {
      for (std::size_t i = read.once; i < at.size() && room; ++i) {
        sim::VarBind one = manner.next(at[i]);
        at[i] = one.oid;
        room = add(std::move(one));
      }
    }
  }
  if (manner.spoil) manner.spoil(binds);
  return binds;
}

/// The globals that net-snmp's callback needs.
struct Served {
  std::unique_ptr<Unit> unit;
  Manner manner;
  netsnmp_callback usual = nullptr;
};
Served served;

Read read_of(const netsnmp_pdu& pdu) {
  Read read;
  read.command = pdu.command;
  for (const netsnmp_variable_list* one = pdu.variables; one != nullptr; one = one->next_variable)
    read.asked.push_back(sim::oid_of(one->name, one->name_length));
  if (pdu.command != SNMP_MSG_GETBULK) return read;
  read.once = std::min<std::size_t>(static_cast<std::size_t>(pdu.non_repeaters), read.asked.size());
  read.repetitions = static_cast<std::size_t>(pdu.max_repetitions);
  return read;
}

int reply(netsnmp_session* session, netsnmp_pdu* pdu) {
  netsnmp_pdu* const made = snmp_clone_pdu(pdu);
  made->command = SNMP_MSG_RESPONSE;
  made->errstat = served.manner.too_big ? SNMP_ERR_TOOBIG : SNMP_ERR_NOERROR;
  made->errindex = 0;
  snmp_free_varbind(made->variables);
  made->variables = nullptr;
  if (!served.manner.too_big) {
    for (const sim::VarBind& one : answer(*served.unit, served.manner, read_of(*pdu))) {
      const std::vector<oid> arcs(one.oid.arcs().begin(), one.oid.arcs().end());
      sim::give_value(snmp_pdu_add_variable(made, arcs.data(), arcs.size(), ASN_NULL, nullptr, 0), one.value);
    }
  }
  if (snmp_send(session, made) == 0) snmp_free_pdu(made);
  return 1;
}

int receive(int operation, netsnmp_session* session, int id, netsnmp_pdu* pdu, void* magic) {
  const bool message = operation == NETSNMP_CALLBACK_OP_RECEIVED_MESSAGE && pdu != nullptr;
  if (message &&
      (pdu->command == SNMP_MSG_GET || pdu->command == SNMP_MSG_GETNEXT || pdu->command == SNMP_MSG_GETBULK))
    return reply(session, pdu);
  return served.usual(operation, session, id, pdu, magic);
}

struct Options {
  std::string fleet;
  std::string schemas;
  std::string unit;
  std::string manners;
  std::string object = "rsuNotifyIpAddress";
  std::string ready;
};

template <class T>
T must(Result<T> result) {
  if (!result) throw std::runtime_error(result.problem());
  return *std::move(result);
}

void serve(const Options& options) {
  prctl(PR_SET_PDEATHSIG, SIGTERM);
  alarm(100);
  sim::start_library();
  Faults faults;
  const fleet::Fleet fleet = fleet::load_fleet(options.fleet, options.schemas, faults);
  const fleet::Unit* const unit = fleet.unit(options.unit);
  if (faults.any() || unit == nullptr) throw std::runtime_error("no such fleet, or no such unit of it");
  const sim::UnitStart start = sim::start_of(*unit, true);
  sim::SimUnit simulated(must(start.store(*unit->model, 0, Unit::now())));
  const fleet::Credential& credential = fleet.credentials.at(unit->credential);
  const Secret auth = must(fleet::read_secret(credential.auth_secret, fleet.folder));
  const Secret privacy = must(fleet::read_secret(credential.privacy_secret, fleet.folder));
  sim::AgentSetup setup;
  setup.unit = &simulated;
  setup.engine_id = sim::engine_id_of(unit->name);
  setup.users.push_back(must(
      sim::make_user(credential.user, credential.auth, auth.text(), credential.privacy, privacy.text())));
  setup.access_changed = [] {};
  setup.host = unit->host;
  setup.port = unit->port;
  setup.now = Unit::now;
  setup.changed = [] {};
  const int socket = must(sim::start_agent(std::move(setup)));
  const schema::Object* const object = unit->model->object(options.object);
  if (object == nullptr) throw std::runtime_error("no object " + options.object);
  served.unit = std::make_unique<Unit>(simulated, *unit->model, *object);
  served.manner = manners(*served.unit).at(options.manners);
  served.usual = main_session->callback;
  main_session->callback = receive;
  std::ofstream(options.ready) << "ready\n";
  while (true) {
    pollfd waited{socket, POLLIN, 0};
    if (poll(&waited, 1, -1) > 0) sim::serve_datagram();
  }
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"A simulated unit without manners."};
  Options options;
  app.add_option("--fleet", options.fleet)->required();
  app.add_option("--schemas", options.schemas)->required();
  app.add_option("--unit", options.unit)->required();
  app.add_option("--manners", options.manners)->required();
  app.add_option("--object", options.object);
  app.add_option("--ready", options.ready)->required();
  CLI11_PARSE(app, argc, argv);
  try {
    serve(options);
  } catch (const std::exception& error) {
    fmt::print(stderr, "bad_agent: {}\n", error.what());
    return 1;
  }
}
