// Engines that are known before a link is opened. Sources: RFC 3414 section 4 (discovery), 3.2.3
// (unknown engine ids are reported) and 3.2.7 (time window).

#include "snmp/all.h"
#include "snmp/conversation.h"
#include "support/relay.h"

using namespace vergeset;
using namespace vergeset::tests;
using snmp::Answer;
using snmp::Failure;
using snmp::UdpNetwork;

namespace {

const std::string own_id = "0x80001f8804766572676573657432";

snmp::Endpoint remembered(std::uint16_t port, snmp::Engine engine, int timeout_ms = 1000, int retries = 1) {
  snmp::Endpoint endpoint = at(port, timeout_ms, retries);
  endpoint.engine = std::move(engine);
  return endpoint;
}

/// What a first link to the agent finds.
snmp::Engine engine_of(const Snmpd& agent) {
  UdpNetwork network;
  return opened(network, at(agent.port()), principal_of("keeper"))->engine();
}

Relay::Fate lost() {
  return {.lost = true};
}

}  // namespace

TEST_CASE("a remembered engine is spoken to without discovery") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, remembered(relay.port(), engine_of(agent)), principal_of("keeper"));
  CHECK(relay.requests() == 0);
  CHECK(octets_of(finish(network, link->get({sys_descr}))).starts_with("Linux"));
  CHECK(relay.requests() == 1);
  CHECK(link->engine().id == engine_of(agent).id);
}

TEST_CASE("a remembered clock that is wrong is set by the unit's report, in one more round trip") {
  Snmpd agent(users);
  snmp::Engine engine = engine_of(agent);
  SECTION("it has started anew since") {
    agent.restart();
  }
  SECTION("its time is far behind") {
    agent.restart();
    engine.boots += 1;
    engine.time += 100'000;
  }
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, remembered(relay.port(), engine), principal_of("keeper"));
  CHECK(octets_of(finish(network, link->get({sys_descr}))).starts_with("Linux"));
  CHECK(relay.requests() == 2);
  CHECK(link->engine().boots == engine_of(agent).boots);
}

TEST_CASE("a unit with another engine id than was remembered is discovered anew") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, remembered(relay.port(), {"\x80\x00\x1f\x88\x04 gone", 7, 1000}),
                           principal_of("keeper"));
  CHECK(octets_of(finish(network, link->get({sys_descr}))).starts_with("Linux"));
  CHECK(relay.requests() == 3);  // the read, discovery, the read again
  CHECK(link->engine().id == engine_of(agent).id);
}

TEST_CASE("a unit whose count of starts went back is discovered anew when its answers are not believed") {
  const Snmpd agent(users + "exactEngineID " + own_id + "\n", "engineBoots 2\noldEngineID " + own_id);
  snmp::Engine engine = engine_of(agent);
  engine.boots = 900;
  UdpNetwork network;
  const auto link = opened(network, remembered(agent.port(), engine, 80, 3), principal_of("keeper"));
  CHECK(octets_of(finish(network, link->get({sys_descr}))).starts_with("Linux"));
  CHECK(link->engine().boots == 3);
}

TEST_CASE("reads side by side that meet another engine discover it once") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, remembered(relay.port(), {"\x80\x00\x1f\x88\x04 gone", 7, 1000}),
                           principal_of("keeper"));
  std::vector<snmp::Task<Answer>> reads;
  for (int i = 0; i < 4; ++i) reads.push_back(link->get({sys_descr}));
  const auto answers = finish(network, snmp::all(std::move(reads)));
  for (const Answer& answer : answers) CHECK(outcome(answer) == "answered");
  CHECK(relay.requests() == 4 + 1 + 4);
}

TEST_CASE("a silent unit whose engine was remembered is given up after as many tries as any other") {
  const Snmpd& agent = common_agent();
  const snmp::Engine engine = engine_of(agent);
  Relay relay({&agent}, [](int) { return lost(); });
  UdpNetwork network;
  const auto link = opened(network, remembered(relay.port(), engine, 40, 3), principal_of("keeper"));
  const Answer answer = finish(network, link->get({sys_descr}));
  REQUIRE_FALSE(answer);
  CHECK(answer.error().failure == Failure::no_answer);
  CHECK(relay.requests() == 4);
}

TEST_CASE("a SET waits until a remembered engine has been heard of") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, remembered(relay.port(), {"\x80\x00\x1f\x88\x04 gone", 7, 1000}),
                           principal_of("keeper"));
  CHECK(outcome(finish(network, link->set(text(sys_contact, "Larkmoor depot")))) == "answered");
  CHECK(relay.requests() == 2);  // discovery, and the SET once
  CHECK(link->traffic().sets == 1);
}

TEST_CASE(
    "an engine with another id than the only one is not joined: it gets one discovery, and the error has its "
    "id") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  snmp::Endpoint endpoint = at(relay.port(), 1000, 1);
  endpoint.only_engine = "\x80\x00\x1f\x88\x04 gone";
  SECTION("nothing is remembered of it") {}
  SECTION("what is remembered is the stranger's own id") {
    endpoint.engine = engine_of(agent);
  }
  const snmp::Opened opened = finish(network, network.open(endpoint, principal_of("keeper")));
  REQUIRE_FALSE(opened);
  CHECK(opened.error.failure == Failure::wrong_engine);
  CHECK(opened.error.engine == engine_of(agent).id);
  CHECK(opened.error.text.find(smi::to_hex(engine_of(agent).id)) != std::string::npos);
  CHECK(relay.requests() == 1);
}

TEST_CASE(
    "a remembered engine that turns out to be another gets no SET, and no read with a key for its own id") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  snmp::Endpoint endpoint = remembered(relay.port(), {"\x80\x00\x1f\x88\x04 gone", 7, 1000});
  endpoint.only_engine = endpoint.engine->id;
  const auto link = opened(network, endpoint, principal_of("keeper"));
  SECTION("a SET") {
    const Answer answer = finish(network, link->set(text(sys_contact, "a stranger")));
    REQUIRE_FALSE(answer);
    CHECK(answer.error().failure == Failure::wrong_engine);
    CHECK(relay.requests() == 1);  // discovery
    CHECK(link->traffic().sets == 0);
  }
  SECTION("a read") {
    const Answer answer = finish(network, link->get({sys_descr}));
    REQUIRE_FALSE(answer);
    CHECK(answer.error().failure == Failure::wrong_engine);
    CHECK(relay.requests() == 2);  // the read, for the engine that was remembered; discovery
  }
}

TEST_CASE("the only engine is joined as any other") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  snmp::Endpoint endpoint = at(agent.port(), 1000, 1);
  endpoint.only_engine = engine_of(agent).id;
  const auto link = opened(network, endpoint, principal_of("keeper"));
  CHECK(octets_of(finish(network, link->get({sys_descr}))).starts_with("Linux"));
}

TEST_CASE("of many requests of one link no more than four are on their way at once") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, at(relay.port(), 2000, 0), principal_of("keeper"));
  relay.rule({}, [](int) { return Relay::Fate{.delay = std::chrono::milliseconds(60)}; });
  std::vector<snmp::Task<int>> reads;
  const auto read = [&]() -> snmp::Task<int> {
    std::vector<smi::Oid> oids(1, sys_descr);
    const Answer answer = co_await link->get(std::move(oids));
    // Those that were let in since have been sent; none beyond them.
    co_return answer ? relay.requests() - relay.responses() : 1000;
  };
  for (int i = 0; i < 12; ++i) reads.push_back(read());
  for (const int unanswered : finish(network, snmp::all(std::move(reads)))) CHECK(unanswered <= 4);
  CHECK(relay.requests() == 12);
}
