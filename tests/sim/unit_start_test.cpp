#include "sim/unit_start.h"

#include "catch.h"
#include "support/fleet_folder.h"

using namespace vergeset;
using sim::Store;
using sim::UnitStart;

namespace {

constexpr std::int64_t now = 1795000000000;  // a day in November 2026

/// One unit a model, with scalars, rows with and without an index, and traits of its own.
fleet::Fleet small_fleet() {
  const test::FleetFolder folder({{"fleet.yaml",
                                   "fleet: Larkmoor district\n"
                                   "credentials:\n"
                                   "  larkmoor: {user: a, auth-secret: {env: A}, privacy-secret: {env: B}}\n"
                                   "settings: {unit-id: \"{unit}\", mode: operate}\n"
                                   "traits: {rsuMsgRepeatPsid: {needs-standby: yes}}\n"
                                   "tables:\n"
                                   "  store-and-repeat:\n"
                                   "    rows:\n"
                                   "      map: {match: [psid], psid: 0x82, payload: 0012020000}\n"
                                   "      tim: {index: 4, psid: 0x83, payload: 001f020000, enabled: yes}\n"},
                                  {"units.yaml",
                                   "units:\n"
                                   "  LK-101: {address: 127.104.1.1, model: ntcip1218-v01, engine-id: "
                                   "8000000001020304,\n"
                                   "           site: {latitude: 51.1, longitude: -1.2, elevation: 41.2}}\n"
                                   "  LK-201: {address: 127.104.1.2, port: 1161, model: rsu-4.1}\n"}});
  Faults faults;
  fleet::Fleet fleet = fleet::load_fleet(folder.path(), SOURCE_DIR "/schemas", faults);
  for (const Fault& fault : faults.sorted()) FAIL(fault.str());
  return fleet;
}

}  // namespace

TEST_CASE("a unit that travelled as octets starts as one that was made beside its fleet") {
  const fleet::Fleet fleet = small_fleet();
  for (const fleet::Unit& unit : fleet.units) {
    const UnitStart start = sim::unpack(sim::pack(sim::start_of(unit, true)));
    CHECK(start.host == unit.host);
    CHECK(start.port == unit.port);
    CHECK(start.engine_id == unit.engine_id);
    CHECK(start.credential == "larkmoor");

    Store beside({unit.model, unit.name, start.site, 1500}, &unit.desired, now);
    beside.apply(unit.desired, now);
    const auto travelled = start.store(*unit.model, 1500, now);
    REQUIRE(travelled);
    CHECK(travelled->walk(now + 5000) == beside.walk(now + 5000));
    CHECK(travelled->operating(now));
  }
  CHECK(sim::start_of(fleet.units[0], true).site->elevation == 41.2);
  CHECK_FALSE(sim::start_of(fleet.units[1], true).site);
}

TEST_CASE("what the fleet says of standby travels with the unit") {
  const fleet::Fleet fleet = small_fleet();
  const fleet::Unit& unit = fleet.units[0];
  const UnitStart start = sim::unpack(sim::pack(sim::start_of(unit, true)));
  const auto store = start.store(*unit.model, 1500, now);
  REQUIRE(store);
  const auto set = [&](const char* name, smi::Value value) {
    return store->check({{unit.model->object(name)->oid.child(4), std::move(value)}}, now).status;
  };
  CHECK(set("rsuMsgRepeatPsid", smi::Value::of_octets("\x20")) == sim::Status::inconsistent_value);
  CHECK(set("rsuMsgRepeatTxInterval", smi::Value::integer(500)) == sim::Status::no_error);
}

TEST_CASE("a unit that is to start from its factory brings no values along") {
  const fleet::Fleet fleet = small_fleet();
  const fleet::Unit& unit = fleet.units[0];
  const UnitStart start = sim::unpack(sim::pack(sim::start_of(unit, false)));
  CHECK(start.cells.empty());
  const auto store = start.store(*unit.model, 1500, now);
  REQUIRE(store);
  CHECK(store->walk(now) == Store({unit.model, unit.name, start.site, 1500}, nullptr, now).walk(now));
  CHECK(store->in_standby(now));
}

TEST_CASE("octets that are cut short are told and not guessed at") {
  const fleet::Fleet fleet = small_fleet();
  const std::string octets = sim::pack(sim::start_of(fleet.units[0], true));
  CHECK_THROWS(sim::unpack(std::string_view(octets).substr(0, octets.size() - 1)));
  CHECK_THROWS(sim::unpack(""));
}
