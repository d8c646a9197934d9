#include "snmp/conversation.h"
#include "snmp/library.h"
#include "support/relay.h"

using namespace vergeset;
using namespace vergeset::tests;
using snmp::Answer;
using snmp::Failure;
using snmp::UdpNetwork;

namespace {

const std::string cloned_id = "0x80001f8804766572676573657431";

/// The state of an agent that has started this often with the engine id `cloned_id`.
std::string started(int times) {
  return "engineBoots " + std::to_string(times) + "\noldEngineID " + cloned_id;
}

const std::string cloned = users + "exactEngineID " + cloned_id + "\n";

Relay::Rule to_agent(std::size_t agent) {
  return [agent](int) { return Relay::Fate{.agent = agent}; };
}

}  // namespace

TEST_CASE("a unit that started anew is read after one more round trip") {
  Snmpd agent(users);
  UdpNetwork network;
  const auto link = opened(network, at(agent.port()), principal_of("keeper"));
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
  const auto before = link->traffic().requests;
  agent.restart();
  CHECK(octets_of(finish(network, link->get({sys_descr}))).starts_with("Linux"));
  CHECK(link->traffic().requests == before + 2);
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
  CHECK(link->traffic().requests == before + 3);
}

TEST_CASE("a SET that was refused by the clock was not carried out and is sent once more") {
  Snmpd agent(users);
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, at(relay.port()), principal_of("keeper"));
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
  agent.restart();
  relay.rule({}, {});
  CHECK(outcome(finish(network, link->set(text(sys_contact, "Larkmoor depot")))) == "answered");
  CHECK(relay.requests() == 2);
  CHECK(link->traffic().sets == 2);
  CHECK(octets_of(finish(network, link->get({sys_contact}))) == "Larkmoor depot");
}

TEST_CASE("a clock that is refused again after it was set is told, for reads and for SETs") {
  const Snmpd first(cloned, started(4));
  const Snmpd second(cloned, started(8));
  const Snmpd third(cloned, started(12));
  Relay relay({&first, &second, &third});
  UdpNetwork network;
  const auto link = opened(network, at(relay.port(), 300, 0), principal_of("keeper"));
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
  CHECK(link->engine().boots == 5);
  relay.rule([](int n) { return Relay::Fate{.agent = n == 0 ? 1U : 2U}; }, {});
  Answer answer = std::vector<snmp::VarBind>{};
  SECTION("get") {
    answer = finish(network, link->get({sys_descr}));
  }
  SECTION("set") {
    answer = finish(network, link->set(text(sys_contact, "x")));
  }
  REQUIRE_FALSE(answer);
  CHECK(answer.error().failure == Failure::clock_window);
  CHECK(relay.requests() == 2);
}

TEST_CASE("a clock that runs backwards is told, and a new link works") {
  const Snmpd old(cloned, started(4));
  const Snmpd young(cloned, started(1));
  Relay relay({&old, &young});
  UdpNetwork network;
  auto link = opened(network, at(relay.port(), 100, 1), principal_of("keeper"));
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
  relay.rule(to_agent(1), {});
  const Answer answer = finish(network, link->get({sys_descr}));
  REQUIRE_FALSE(answer);
  CHECK(answer.error().failure == Failure::clock_window);
  link.reset();
  link = opened(network, at(relay.port(), 300, 1), principal_of("keeper"));
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
}

TEST_CASE("two units that were given the same engine id both work at once") {
  const Snmpd one(cloned, started(4));
  const Snmpd other(cloned, started(40));
  UdpNetwork network;
  const auto here = opened(network, at(one.port(), 300, 0), principal_of("keeper"));
  CHECK(outcome(finish(network, here->get({sys_descr}))) == "answered");
  const auto there = opened(network, at(other.port(), 300, 0), principal_of("keeper"));
  CHECK(here->engine().boots == 5);
  CHECK(there->engine().boots == 41);
  for (int i = 0; i < 3; ++i) {
    CHECK(outcome(finish(network, there->get({sys_descr}))) == "answered");
    CHECK(outcome(finish(network, here->get({sys_descr}))) == "answered");
  }
  CHECK(here->traffic().requests == 1 + 1 + 3);  // with discovery
  CHECK(there->traffic().requests == 1 + 3);
}

TEST_CASE("the library's table of engines is empty between calls, whatever shares a bucket in it") {
  // The table has 23 buckets, and frees a whole one with each engine (net-snmp 5.9.3).
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  const auto lasting = opened(network, at(agent.port(), 300, 0), principal_of("keeper"));
  const auto entry = [](const std::string& id) {
    return search_enginetime_list(reinterpret_cast<const u_char*>(id.data()), static_cast<u_int>(id.size()));
  };
  const auto bucket = [](const std::string& id) {
    return hash_engineID(reinterpret_cast<const u_char*>(id.data()), static_cast<u_int>(id.size()));
  };
  const std::string& id = lasting->engine().id;
  std::string neighbour = "neighbour-0";
  while (bucket(neighbour) != bucket(id)) {
    ++neighbour.back();
    REQUIRE(neighbour.back() != '0');
  }
  const Snmpd beside(users + "exactEngineID 0x" + smi::to_hex(neighbour) + "\n");
  CHECK(outcome(finish(network, lasting->get({sys_descr}))) == "answered");
  const auto passing = opened(network, at(beside.port(), 300, 0), principal_of("keeper"));
  CHECK(passing->engine().id == neighbour);
  CHECK(outcome(finish(network, passing->get({sys_descr}))) == "answered");
  CHECK(entry(id) == nullptr);
  CHECK(entry(neighbour) == nullptr);
  const auto before = lasting->traffic().requests;
  CHECK(outcome(finish(network, lasting->get({sys_descr}))) == "answered");
  CHECK(lasting->traffic().requests == before + 1);
}
