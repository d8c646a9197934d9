#include "change/reach.h"

#include "change/may_write.h"
#include "change/serial_no.h"
#include "district.h"

/// The ladder in virtual time: which answer ends it on which rung, and that it writes nothing.
namespace {

using namespace vergeset;
using change::Climbed;
using change::Hold;
using change::Rung;
using snmp::Failure;
using test::District;
using test::two_units;

/// A way to every unit, an echo, and an engine.
class OpenRoad : public snmp::Approach {
 public:
  explicit OpenRoad(test::SimNetwork& network) : network_(network) {}

  snmp::Way way_to(const std::string& host) const override {
    snmp::Way way;
    way.address = host;
    way.kind = snmp::Way::Kind::attached;
    way.interface = "eth0";
    way.subnet = "127.77.0.0/24";
    return way;
  }
  snmp::Task<snmp::Echo> ping(std::string, std::chrono::milliseconds) override {
    co_await network_.sleep(std::chrono::milliseconds(40));
    snmp::Echo echo;
    echo.kind = snmp::Echo::Kind::answered;
    echo.round_trip = std::chrono::milliseconds(40);
    co_return echo;
  }
  snmp::Task<snmp::Discovered> discover(snmp::Endpoint endpoint) override {
    ++discoveries;
    // The same engine is met when the unit is asked as a user.
    network_.engines[endpoint.host + ":" + std::to_string(endpoint.port)] = discovered.engine.id;
    co_await network_.sleep(std::chrono::milliseconds(40));
    co_return discovered;
  }

  snmp::Discovered discovered{{"\x80\x00\x02\xb8\x04LK", 3, 600}, {}};
  int discoveries = 0;

 private:
  test::SimNetwork& network_;
};

/// A unit of which every request comes to this.
class OneAnswer : public snmp::Link {
 public:
  explicit OneAnswer(snmp::Answer answer) : answer_(std::move(answer)) {}
  snmp::Task<snmp::Answer> get(std::vector<smi::Oid>) override { co_return answer_; }
  snmp::Task<snmp::Answer> get_next(std::vector<smi::Oid>) override { co_return answer_; }
  using Link::get_bulk;
  snmp::Task<snmp::Answer> get_bulk(std::vector<smi::Oid>, std::vector<smi::Oid>, int) override {
    co_return answer_;
  }
  snmp::Task<snmp::Answer> set(std::vector<snmp::VarBind> varbinds) override {
    sets.push_back(std::move(varbinds));
    co_return answer_;
  }
  snmp::Engine engine() const override { return {}; }
  snmp::Traffic traffic() const override { return {}; }

  std::vector<std::vector<snmp::VarBind>> sets;

 private:
  snmp::Answer answer_;
};

class OneAnswerNetwork : public test::SimNetwork {
 public:
  explicit OneAnswerNetwork(snmp::Error error) : error_(std::move(error)) {}
  snmp::Task<snmp::Opened> open(snmp::Endpoint, std::shared_ptr<const snmp::Principal>) override {
    snmp::Opened opened;
    if (shuts_the_door) {
      opened.error = error_;
      co_return opened;
    }
    opened.link = std::make_unique<OneAnswer>(error_);
    co_return opened;
  }

  bool shuts_the_door = false;  ///< no link comes about

 private:
  snmp::Error error_;
};

std::vector<const fleet::Unit*> units_of(const District& district) {
  std::vector<const fleet::Unit*> units;
  for (const fleet::Unit& unit : district.fleet.units) units.push_back(&unit);
  return units;
}

const Hold& end_of(const Climbed& climbed) {
  for (const Hold& hold : climbed.holds) UNSCOPED_INFO(change::rung_name(hold.rung) << ": " << hold.what);
  REQUIRE_FALSE(climbed.holds.empty());
  return climbed.holds.back();
}

/// What a unit does that answers everything with this error.
Climbed climb_against(Failure failure, int status = 0) {
  const District district(two_units());
  OneAnswerNetwork network({failure, status, 1, "as the test says"});
  OpenRoad road(network);
  test::MemoryDisk disk;
  const test::SimClock clock(network);
  const change::World world{network, disk, clock, district.fleet, [](const fleet::Unit&) { return nullptr; }};
  return change::reach(world, road, {district.fleet.unit("LK-101")}, {})[0];
}

}  // namespace

TEST_CASE("a climb to the top sends no SET that is carried out, and leaves every setting as it was") {
  District district(two_units());
  OpenRoad road(district.network);
  const auto before = std::pair(district.settings("LK-101"), district.settings("LK-102"));
  const auto number = district.read("LK-101", "snmpSetSerialNo");
  const auto climbed = change::reach(district.world, road, units_of(district), {});
  for (const Climbed& unit : climbed) {
    CHECK(end_of(unit).rung == Rung::unit);
    CHECK(unit.at_top());
    CHECK(unit.holds.size() == 12);
  }
  CHECK(district.settings("LK-101") == before.first);
  CHECK(district.settings("LK-102") == before.second);
  CHECK(district.read("LK-101", "snmpSetSerialNo") == number);
  CHECK(district.network.sets.size() == 2);
  for (const auto& sent : district.network.sets) {
    // Each holds a value that is there already, and a number that is not the unit's.
    REQUIRE(sent.varbinds.size() == 2);
    CHECK(sent.varbinds[1].oid == change::SerialNo::instance());
    CHECK(sent.varbinds[1].value != number);
  }
  // Every request is in the unit's log.
  const std::string log = district.disk.files["units/LK-101.log"];
  CHECK_THAT(log, Catch::Contains("reach") && Catch::Contains("inconsistentValue") &&
                      Catch::Contains("ends at the top"));
}

TEST_CASE("each answer of an agent ends the climb on the rung that it speaks of") {
  struct Case {
    Failure failure;
    int status;
    Rung rung;
  };
  // RFC 3414 3.2: the counter that a REPORT carries; RFC 3416 section 3: 16 is authorizationError, 6
  // noAccess.
  const Case cases[] = {
      {Failure::unknown_user, 0, Rung::user},        {Failure::no_answer, 0, Rung::user},
      {Failure::bad_level, 0, Rung::authentication}, {Failure::wrong_auth, 0, Rung::authentication},
      {Failure::clock_window, 0, Rung::clock},       {Failure::wrong_privacy, 0, Rung::privacy},
      {Failure::no_access, 16, Rung::reading},       {Failure::no_access, 6, Rung::reading},
      {Failure::error_status, 5, Rung::reading},
  };
  for (const Case& one : cases) {
    const Climbed climbed = climb_against(one.failure, one.status);
    CHECK(end_of(climbed).rung == one.rung);
    CHECK(end_of(climbed).state == Hold::State::ends);
    CHECK_FALSE(end_of(climbed).next.empty());
    CHECK_FALSE(climbed.unanswered());
    // What stands below it held: RFC 3414 3.2 looks at user, digest, clock and cipher text in this order.
    for (std::size_t i = 0; i + 1 < climbed.holds.size(); ++i)
      CHECK(climbed.holds[i].state == Hold::State::holds);
  }
}

TEST_CASE("a count of boots at its end is told apart from an agent that is at fault") {
  // RFC 3414 2.2.2: 2147483647 lets no message in until the engine is given a new identity.
  const District district(two_units());
  OneAnswerNetwork network({Failure::clock_window, 0, 0, "refuses its own SNMPv3 clock"});
  OpenRoad road(network);
  road.discovered.engine.boots = 2147483647;
  test::MemoryDisk disk;
  const test::SimClock clock(network);
  const change::World world{network, disk, clock, district.fleet, [](const fleet::Unit&) { return nullptr; }};
  const auto climbed = change::reach(world, road, {district.fleet.unit("LK-101")}, {});
  CHECK_THAT(end_of(climbed[0]).what, Catch::Contains("count of boots has come to its end"));
}

TEST_CASE("a closed and a silent port end the climb there, and nothing is sent as any user") {
  for (const bool refused : {true, false}) {
    District district(two_units());
    OpenRoad road(district.network);
    snmp::Error error{refused ? Failure::unreachable : Failure::no_answer, 0, 0, "no answer to 4 tries"};
    error.refused = refused;
    road.discovered.error = error;
    const auto climbed = change::reach(district.world, road, units_of(district), {});
    CHECK(end_of(climbed[0]).rung == Rung::port);
    CHECK_THAT(end_of(climbed[0]).what, Catch::Contains(refused ? "is closed" : "is silent, though"));
    CHECK(climbed[0].unanswered());
    CHECK(district.network.sets.empty());
    CHECK(district.disk.files["units/LK-101.log"].find("GET") == std::string::npos);
  }
}

TEST_CASE("an engine that is not the inventory's ends the climb before anything is said as a user") {
  auto files = two_units();
  files["units.yaml"] =
      "units:\n  LK-101: {address: 127.77.0.1, port: 16161, model: ntcip1218-v01, engine-id: 800002b80458}\n";
  District district(files);
  OpenRoad road(district.network);
  const auto climbed = change::reach(district.world, road, units_of(district), {});
  CHECK(end_of(climbed[0]).rung == Rung::engine);
  CHECK_THAT(end_of(climbed[0]).what, Catch::Contains("the inventory says 800002b80458"));
  CHECK(district.disk.files["units/LK-101.log"].find("GET") == std::string::npos);
}

TEST_CASE("a secret that is missing ends the climb above the engine, and says where it was looked for") {
  District district(two_units());
  OpenRoad road(district.network);
  change::ReachOptions options;
  options.no_keys = [](const fleet::Unit&) { return "environment variable BENCH_AUTH is not set"; };
  const auto climbed = change::reach(district.world, road, units_of(district), options);
  CHECK(end_of(climbed[0]).rung == Rung::user);
  CHECK_THAT(end_of(climbed[0]).what, Catch::Contains("BENCH_AUTH is not set"));
  CHECK(climbed[0].engine.boots == 3);
}

TEST_CASE("what the unit refuses a SET with says whether writing is allowed (RFC 3416 4.2.5)") {
  using Verdict = change::MayWrite::Verdict;
  struct Case {
    int status;
    Verdict verdict;
  };
  // Its order of checks: noAccess (1), notWritable (2), wrongType (3), wrongLength, wrongEncoding,
  // wrongValue,
  // ..., inconsistentValue (9), genErr (12). 16 is authorizationError.
  const Case cases[] = {{6, Verdict::no},   {16, Verdict::no},     {17, Verdict::no},
                        {7, Verdict::yes},  {8, Verdict::yes},     {10, Verdict::yes},
                        {12, Verdict::yes}, {5, Verdict::unknown}, {13, Verdict::unknown}};
  const District district(two_units());
  const fleet::Unit& unit = *district.fleet.unit("LK-101");
  const schema::Object& setting = *change::may_be_asked(unit).front();
  change::AsFound found;
  found.instances[setting.oid.child(0)] = smi::Value::of_octets("192.0.2.10");
  for (const Case& one : cases) {
    OneAnswer link(snmp::Answer(snmp::Error{Failure::error_status, one.status, 1, "as the test says"}));
    change::MayWrite asked;
    std::vector<snmp::Task<void>> tasks;
    tasks.push_back([](snmp::Link& of, const fleet::Unit& whom, const change::AsFound& what,
                       change::MayWrite& out) -> snmp::Task<void> {
      out = co_await change::may_write(of, whom, what);
    }(link, unit, found, asked));
    test::SimNetwork().run(std::move(tasks), 1);
    INFO("error-status " << one.status);
    CHECK(asked.verdict == one.verdict);
    // No serial number was found: a value of another type, which a unit has to refuse as wrongType.
    REQUIRE(link.sets.size() == 1);
    REQUIRE(link.sets[0].size() == 1);
    CHECK(link.sets[0][0].value.type == smi::Type::integer);
  }
}

TEST_CASE(
    "a unit that lets its settings be written and not its serial number is asked by type, and unharmed") {
  District district(two_units());
  OpenRoad road(district.network);
  district.sim("LK-101").trouble.refusals.push_back({"snmpSetSerialNo", sim::Status::no_access, 1});
  const auto before = district.settings("LK-101");
  const auto climbed = change::reach(district.world, road, units_of(district), {});
  end_of(climbed[0]);
  CHECK(climbed[0].at_top());
  CHECK(district.settings("LK-101") == before);
  CHECK(district.network.sets.size() == 3);
}

TEST_CASE("a unit that refuses a setting may be read and not written") {
  District district(two_units());
  OpenRoad road(district.network);
  district.sim("LK-101").trouble.refusals.push_back({"rsuNotifyIpAddress", sim::Status::not_writable, 2});
  const auto climbed = change::reach(district.world, road, units_of(district), {});
  CHECK(end_of(climbed[0]).rung == Rung::writing);
  CHECK_THAT(end_of(climbed[0]).what, Catch::Contains("notWritable of rsuNotifyIpAddress.0"));
  CHECK(climbed[1].at_top());
}

TEST_CASE("neither the mode nor what needs standby, cuts off or acts is ever named in such a SET") {
  const District district(two_units());
  for (const fleet::Unit& unit : district.fleet.units) {
    const auto asked = change::may_be_asked(unit);
    REQUIRE_FALSE(asked.empty());
    for (const schema::Object* object : asked) {
      INFO(object->name);
      const schema::Traits traits = unit.desired.traits_of(*object);
      CHECK(object != unit.model->mode->asked);
      CHECK_FALSE((traits.action || traits.needs_standby || traits.cuts_off || traits.running));
    }
  }
}

TEST_CASE("another model, and another unit's rsuID, end the climb at their own rungs") {
  District district(two_units());
  OpenRoad road(district.network);
  const auto name = [&](const std::string& id) { district.put("LK-102", "rsuID", 0, id); };
  name("LK-101");
  auto climbed = change::reach(district.world, road, units_of(district), {});
  CHECK(end_of(climbed[1]).rung == Rung::unit);
  CHECK_THAT(end_of(climbed[1]).what, Catch::Contains("which is unit LK-101"));
  auto files = two_units();
  District other(files);
  // The unit at LK-101's address is one of the other model.
  const auto at = District::where(other.unit("LK-101"));
  sim::Nature nature{other.unit("LK-102").model, "LK-102", std::nullopt, 1500};
  other.network.units.erase(at);
  other.network.units.emplace(at, sim::SimUnit(sim::Store(nature, nullptr, other.network.now_ms())));
  OpenRoad second(other.network);
  climbed = change::reach(other.world, second, units_of(other), {});
  CHECK(end_of(climbed[0]).rung == Rung::model);
  CHECK_THAT(end_of(climbed[0]).what, Catch::Contains("it is a RSU 4.1 unit"));
}

namespace {

/// The two units with another credential.
std::map<std::string, std::string> spoken_to_by(const std::string& credential) {
  auto files = two_units();
  std::string& fleet = files["fleet.yaml"];
  const auto from = fleet.find("    user: bench");
  fleet.replace(from, fleet.find("settings:") - from, credential);
  return files;
}

Climbed climb(const std::map<std::string, std::string>& files, const snmp::Error& error, bool shuts_the_door,
              const std::optional<snmp::Error>& discovery = {}) {
  const District district(files);
  OneAnswerNetwork network(error);
  network.shuts_the_door = shuts_the_door;
  OpenRoad road(network);
  road.discovered.error = discovery;
  test::MemoryDisk disk;
  const test::SimClock clock(network);
  const change::World world{network, disk, clock, district.fleet, [](const fleet::Unit&) { return nullptr; }};
  Climbed climbed = change::reach(world, road, {district.fleet.unit("LK-101")}, {})[0];
  climbed.unit = nullptr;
  return climbed;
}

}  // namespace

TEST_CASE("silence to a community is told from a dead unit by what the unit answers to nobody") {
  // RFC 1157 4.1: a message that does not authenticate is dropped without an answer.
  const auto files =
      spoken_to_by("    version: 2c\n    community: {env: OLD_COMMUNITY}\n    insecure: boxes of 2011\n");
  const snmp::Error silence{Failure::no_answer, 0, 0, "no answer to 4 tries"};
  const Climbed wrong = climb(files, silence, false);
  CHECK(end_of(wrong).rung == Rung::user);
  CHECK_THAT(end_of(wrong).what, Catch::Contains("is silent to the community of credential bench"));
  CHECK_THAT(end_of(wrong).next, Catch::Contains("environment variable OLD_COMMUNITY"));
  const Climbed dead = climb(files, silence, false, silence);
  CHECK(end_of(dead).rung == Rung::port);
  CHECK_THAT(end_of(dead).what, Catch::Contains("is silent"));
  const Climbed refused = climb(files, {Failure::no_access, 16, 1, "authorizationError"}, false);
  CHECK(end_of(refused).rung == Rung::reading);
  for (const Hold& hold : refused.holds) {
    CHECK(hold.rung != Rung::engine);
    CHECK(hold.rung != Rung::authentication);
  }
}

TEST_CASE("a handshake ends at the port, at the unit's certificate, or at ours") {
  // RFC 6353 5.3.2 and 5.3.3.
  const auto files = spoken_to_by(
      "    transport: tls\n    certificate: tls/manager.crt\n    key: {file: tls/manager.key}\n"
      "    trust: tls/ca.crt\n");
  const auto ends_at = [&](Failure failure) {
    const Climbed climbed = climb(files, {failure, 0, 0, "as the test says"}, true);
    CHECK_FALSE(end_of(climbed).next.empty());
    return end_of(climbed).rung;
  };
  CHECK(ends_at(Failure::wrong_certificate) == Rung::authentication);
  CHECK(ends_at(Failure::expired_certificate) == Rung::authentication);
  CHECK(ends_at(Failure::unknown_certificate) == Rung::user);
  CHECK(ends_at(Failure::no_answer) == Rung::port);
  snmp::Error closed{Failure::unreachable, 0, 0, "connection refused"};
  closed.refused = true;
  CHECK_THAT(end_of(climb(files, closed, true)).what, Catch::Contains("TCP port 16161 is closed"));
}
