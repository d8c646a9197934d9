#include "snmp/conversation.h"
#include "snmp/library.h"
#include "support/relay.h"

using namespace vergeset;
using namespace vergeset::tests;
using namespace std::chrono_literals;
using snmp::Answer;
using snmp::Failure;
using snmp::UdpNetwork;

namespace {

Relay::Fate lost() {
  return {.lost = true};
}
Relay::Fate passed() {
  return {};
}

}  // namespace

TEST_CASE("a SET whose response is lost is sent once, and was carried out") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, at(relay.port(), 60, 3), principal_of("keeper"));
  relay.rule({}, [](int) { return lost(); });
  const Answer answer = finish(network, link->set(text(sys_contact, "Larkmoor depot")));
  REQUIRE_FALSE(answer);
  CHECK(answer.error().failure == Failure::no_answer);
  CHECK(relay.requests() == 1);
  CHECK(relay.responses() == 1);
  CHECK(link->traffic().sets == 1);
  relay.rule({}, {});
  CHECK(octets_of(finish(network, link->get({sys_contact}))) == "Larkmoor depot");
}

TEST_CASE("a SET that is lost on its way is sent once, too") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, at(relay.port(), 60, 3), principal_of("keeper"));
  relay.rule([](int) { return lost(); }, {});
  const auto before = network.now();
  CHECK_FALSE(finish(network, link->set(text(sys_contact, "x"))));
  CHECK(relay.requests() == 1);
  CHECK(network.now() - before >= 150ms);  // two and a half times the first timeout
}

TEST_CASE("a read is tried again when the first try or its answer is lost") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, at(relay.port(), 60, 3), principal_of("keeper"));
  const auto first_lost = [](int n) { return n == 0 ? lost() : passed(); };
  SECTION("the request") {
    relay.rule(first_lost, {});
  }
  SECTION("the response") {
    relay.rule({}, first_lost);
  }
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
  CHECK(relay.requests() == 2);
  CHECK(link->traffic().requests == 3);  // with discovery
}

TEST_CASE("discovery is tried again when it is lost") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent}, [](int n) { return n < 2 ? lost() : passed(); });
  UdpNetwork network;
  const auto link = opened(network, at(relay.port(), 40, 3), principal_of("keeper"));
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
  CHECK(relay.requests() == 4);
}

TEST_CASE("the answer to an earlier try counts after a later one was sent") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, at(relay.port(), 200, 1), principal_of("keeper"));
  // The first try waits 240 ms at most; what answers the second never comes.
  relay.rule({}, [](int n) { return n == 0 ? Relay::Fate{.delay = 280ms} : lost(); });
  CHECK(outcome(finish(network, link->get({sys_descr}))) == "answered");
  CHECK(relay.requests() == 2);
  CHECK(link->traffic().again == 1);
  CHECK(link->traffic().late == 1);
}

TEST_CASE("an answer that comes after all was given up disturbs nothing") {
  const Snmpd& agent = common_agent();
  Relay relay({&agent});
  UdpNetwork network;
  const auto link = opened(network, at(relay.port(), 30, 0), principal_of("keeper"));
  relay.rule({}, [](int) { return Relay::Fate{.delay = 200ms}; });
  CHECK_FALSE(finish(network, link->get({sys_descr})));
  finish(network, [](UdpNetwork& net) -> snmp::Task<int> {
    co_await net.sleep(300ms);
    co_return 0;
  }(network));
  relay.rule({}, {});
  CHECK(octets_of(finish(network, link->get({sys_descr}))).starts_with("Linux"));
  // The read's, and that of the question whether the privacy secret is wrong.
  CHECK(link->traffic().late == 2);
}

TEST_CASE("a link that goes while answers are on their way takes nothing along") {
  const Snmpd& agent = common_agent();
  UdpNetwork network;
  for (int i = 0; i < 5; ++i) {
    Relay relay({&agent});
    auto link = opened(network, at(relay.port(), 60, 0), principal_of("keeper"));
    // Longer than the first try of even a slow link waits: four times 60 ms, and a fifth.
    relay.rule({}, [](int) { return Relay::Fate{.delay = 300ms}; });
    CHECK_FALSE(finish(network, link->get({sys_descr})));
    link.reset();
  }
  CHECK(usm_get_userList() == nullptr);
}
