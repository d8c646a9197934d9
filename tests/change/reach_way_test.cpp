#include "change/reach_way.h"

#include "catch.h"

using namespace vergeset;
using change::Hold;
using change::Rung;
using snmp::Echo;
using snmp::Way;
using State = Hold::State;

namespace {

snmp::OwnAddress own(const std::string& interface, const std::string& address, int prefix,
                     const std::string& subnet) {
  snmp::OwnAddress one;
  one.interface = interface;
  one.address = address;
  one.prefix = prefix;
  one.subnet = subnet;
  return one;
}

struct Scene {
  Scene() {
    fleet.units.resize(1);
    unit().name = "LK-104";
    unit().host = "10.77.1.4";
    unit().place.file = "units.yaml";
    unit().place.line = 3;
    way.address = "10.77.1.4";
    way.kind = Way::Kind::none;
  }
  fleet::Unit& unit() { return fleet.units.front(); }
  Hold address() { return change::address_hold(fleet, unit(), way); }
  Hold port(const snmp::Error& error) {
    change::Climbed climbed;
    climbed.unit = &unit();
    climbed.way = way;
    climbed.echo = echo;
    return change::port_hold(fleet, climbed, error);
  }

  fleet::Fleet fleet;
  Way way;
  Echo echo;
};

snmp::Error silence() {
  return {snmp::Failure::no_answer, 0, 0, "no answer from 10.77.1.4:161 to 4 tries"};
}

}  // namespace

TEST_CASE("with a hand-set address on another /24 the first three numbers are told, and an address to give") {
  // RFC 950 section 2.1: hosts are on one subnet where the bits under the mask are equal. That a laptop is
  // set by hand to another last number: common practice.
  Scene scene;
  scene.way.own = {own("lo", "127.0.0.1", 8, "127.0.0.0/8"), own("eth0", "10.77.2.50", 24, "10.77.2.0/24")};
  scene.way.own.front().loopback = true;
  const Hold hold = scene.address();
  CHECK(hold.state == State::ends);
  CHECK(
      hold.what ==
      "no way to 10.77.1.4: eth0 has 10.77.2.50, and with the mask 255.255.255.0 the first three numbers of "
      "both addresses must be equal");
  CHECK(hold.next == "give eth0 the address 10.77.1.250, if nothing else has it, and the mask 255.255.255.0");
}

TEST_CASE("the address that a laptop is told to take is neither the unit's nor another unit's") {
  Scene scene;
  scene.fleet.units.resize(3);
  scene.fleet.units[1].host = "10.77.1.250";
  scene.fleet.units[2].host = "10.77.1.249";
  scene.way.address = "10.77.1.248";
  scene.way.own = {own("eth0", "10.77.2.50", 24, "10.77.2.0/24")};
  CHECK_THAT(scene.address().next, Catch::Contains("the address 10.77.1.247,"));
}

TEST_CASE("other masks are told by their subnets, and an interface that is off, or none, by itself") {
  Scene scene;
  scene.way.own = {own("eth0", "10.77.1.200", 25, "10.77.1.128/25")};
  CHECK(scene.address().what ==
        "no way to 10.77.1.4: eth0 is on 10.77.1.128/25, which does not have it, and no router is known");
  scene.way.own.front().up = false;
  CHECK_THAT(scene.address().what, Catch::Contains("this machine has no IPv4 address"));
  scene.way.own.front().holds = true;
  CHECK_THAT(scene.address().what,
             Catch::Contains("eth0 has 10.77.1.200, on the unit's subnet, but is switched off"));
  CHECK_THAT(scene.address().next, Catch::Contains("ip link set eth0 up"));
}

TEST_CASE("where the system does not tell its routes the climb goes on") {
  Scene scene;
  scene.way.kind = Way::Kind::not_told;
  scene.way.why = "Operation not permitted";
  CHECK(scene.address().state == State::passed);
}

TEST_CASE("a ping never ends a climb, whatever becomes of it") {
  Scene scene;
  for (const auto kind :
       {Echo::Kind::silent, Echo::Kind::forbidden, Echo::Kind::unreachable, Echo::Kind::failed}) {
    scene.echo.kind = kind;
    CHECK(change::ping_hold(scene.way, scene.echo).state == State::passed);
  }
  scene.echo.kind = Echo::Kind::answered;
  scene.echo.round_trip = std::chrono::microseconds(12340);
  CHECK(change::ping_hold(scene.way, scene.echo).what == "answered in 12.3 ms");
}

TEST_CASE("a silent port is told by what ping found") {
  Scene scene;
  scene.way.kind = Way::Kind::by_router;
  scene.way.router = "10.0.0.1";
  scene.way.interface = "eth0";
  scene.way.from = "10.0.0.9";
  scene.echo.kind = Echo::Kind::answered;
  CHECK_THAT(scene.port(silence()).what, Catch::Contains("silent, though the unit answers ping"));
  CHECK_THAT(scene.port(silence()).next, Catch::Contains("lets in 10.0.0.9"));
  scene.echo.kind = Echo::Kind::silent;
  // A laptop with a router elsewhere, as by radio, and the unit on its cable: common practice, no source.
  CHECK_THAT(scene.port(silence()).next, Catch::Contains("if it is on a cable at this machine") &&
                                             Catch::Contains("the first three numbers must be"));
  scene.echo = {Echo::Kind::unreachable, {}, 1, "10.0.0.9", "No route to host"};
  CHECK_THAT(scene.port(silence()).what, Catch::Contains("the router 10.0.0.1 does not answer on eth0"));
  scene.echo.from = "10.0.0.1";
  CHECK(change::ping_hold(scene.way, scene.echo).what == "10.0.0.1 says: No route to host");
}

TEST_CASE("a name that means nothing to the resolver ends at the address, with the place in the inventory") {
  Scene scene;
  scene.way.fault = "cannot find the address of 'unit.invalid'";
  CHECK(scene.address().state == State::ends);
  CHECK_THAT(scene.address().next, Catch::Contains("units.yaml:3"));
}
