#include "fault_network.h"

#include "catch.h"

using namespace vergeset;
using namespace vergeset::faults;

namespace {

const smi::Oid contact{1, 3, 6, 1, 2, 1, 1, 4, 0};       // sysContact.0 (RFC 3418)
const smi::Oid serial{1, 3, 6, 1, 6, 3, 1, 1, 6, 1, 0};  // snmpSetSerialNo.0 (RFC 3418)

/// The first unit of the first fleet behind a network of its own.
struct Bench {
  const SmallFleet& fleet = *small_fleets().front();
  Trace trace;
  FaultDisk disk{Dice(1), trace};
  Watch watch{fleet, disk, trace};
  FaultNetwork network;
  std::function<milliseconds()> now = [this] { return network.now(); };
  std::vector<Agent> agents;
  Weather weather;

  /// The weather is that of the SET.
  explicit Bench(const Weather& of_set, const UnitPlan& plan = {}, std::uint64_t seed = 7)
      : network(Dice(seed), Weather{}, watch, trace), weather(of_set) {
    agents.reserve(fleet.fleet.units.size());
    std::vector<Behind> behind;
    for (std::size_t i = 0; i < fleet.fleet.units.size(); ++i) {
      network.unit_at[fleet.fleet.units[i].host] = i;
      agents.emplace_back(fleet, i, plan, watch, trace, now);
      behind.push_back(agents.back().behind());
    }
    network.agents = &agents;
    watch.change_begins(behind, milliseconds(0));
  }

  Agent& agent() { return agents.front(); }
  smi::Value value(const smi::Oid& oid) { return agent().store.get(oid, start_ms + network.now().count()); }

  /// Opens a link and sends one SET; how it ended.
  std::string set(std::vector<snmp::VarBind> binds) {
    std::string end = "did not end";
    network.run_each(
        1, [&](std::size_t) { return set_once(std::move(binds), end); }, 1);
    return end;
  }
  snmp::Task<void> set_once(std::vector<snmp::VarBind> binds, std::string& end) {
    snmp::Endpoint endpoint;
    endpoint.host = fleet.fleet.units.front().host;
    snmp::Opened opened = co_await network.open(endpoint, nullptr);
    if (!opened) co_return;
    network.weather_is(weather);
    const snmp::Answer answer = co_await opened.link->set(std::move(binds));
    end = answer ? "noError" : answer.error().text;
  }
};

std::vector<snmp::VarBind> names(const std::string& text) {
  return {{contact, smi::Value::of_octets(text)}};
}

std::vector<snmp::VarBind> names(const std::string& text, std::int64_t number) {
  return {{contact, smi::Value::of_octets(text)}, {serial, smi::Value::integer(number)}};
}

UnitPlan with(UnitTrouble::Kind kind, UnitTrouble::When when = UnitTrouble::When::before_set) {
  UnitPlan plan;
  UnitTrouble trouble;
  trouble.kind = kind;
  trouble.when = when;
  plan.troubles.push_back(trouble);
  return plan;
}

}  // namespace

TEST_CASE("a doubled SET arrives twice, and the serial number keeps the second out") {
  Weather weather;
  weather.duplicate = 1;
  Bench bench(weather);
  bench.set(names("us", 0));
  bench.network.pass(milliseconds(1000));
  CHECK(bench.agent().sets() == 2);
  CHECK(bench.value(serial).number == 1);
  CHECK(bench.value(contact).octets == "us");
}

TEST_CASE("a lost SET is not sent again, and one whose response is lost was carried out") {
  Bench deaf({}, with(UnitTrouble::Kind::loses_request));
  CHECK(deaf.set(names("us")) == "no answer to a SET; it may have been carried out");
  CHECK(deaf.agent().sets() == 1);
  CHECK(deaf.value(contact).octets.empty());
  Bench mute({}, with(UnitTrouble::Kind::loses_response));
  CHECK(mute.set(names("us")) == "no answer to a SET; it may have been carried out");
  CHECK(mute.value(contact).octets == "us");
}

TEST_CASE("a late SET is carried out after its link has given it up, unless it is out of the time window") {
  bool later = false;
  bool too_late = false;
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    Weather weather;
    weather.late = 1;
    Bench bench(weather, {}, seed);
    bench.set(names("us", 0));
    const bool at_first = bench.value(contact).octets == "us";
    bench.network.pass(milliseconds(400000));
    const bool at_last = bench.value(contact).octets == "us";
    later |= !at_first && at_last;
    too_late |= !at_last;
  }
  CHECK(later);
  CHECK(too_late);
}

TEST_CASE("a unit that has started anew refuses by its clock, and the SET is sent once more") {
  Bench bench({}, with(UnitTrouble::Kind::boots_up));
  CHECK(bench.set(names("us")) == "noError");
  CHECK(bench.value(contact).octets == "us");
}

TEST_CASE("another engine id ends the link") {
  Bench bench({}, with(UnitTrouble::Kind::engine_changes));
  CHECK(bench.set(names("us")).find("usmStatsUnknownEngineIDs") != std::string::npos);
  CHECK(bench.value(contact).octets.empty());
}

TEST_CASE("another hand counts the serial number on, so that a SET which names the old one fails") {
  Bench bench({}, with(UnitTrouble::Kind::other_hand));
  CHECK(bench.set(names("us", 0)) == "inconsistentValue");
  CHECK(bench.value(contact).octets.empty());
}

TEST_CASE("a unit that reboots and forgets has what it had when it started") {
  Bench bench({}, with(UnitTrouble::Kind::reboots_losing, UnitTrouble::When::after_set));
  CHECK(bench.set(names("us")) == "no answer to a SET; it may have been carried out");
  CHECK(bench.value(contact).octets.empty());
}

TEST_CASE("a SET that nobody announced and nobody asked for is a broken promise") {
  Bench bench({});
  bench.set(names("us"));
  REQUIRE(bench.watch.broken());
  CHECK(bench.watch.broken()->promise == 3);
}
