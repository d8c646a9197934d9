#pragma once

#include <fmt/format.h>

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "catch.h"
#include "change/apply.h"
#include "change/audit.h"
#include "change/goal.h"
#include "fleet/fleet.h"
#include "support/fleet_folder.h"
#include "support/memory_disk.h"
#include "support/sim_network.h"

namespace vergeset::test {

/// A fleet from files in a temporary folder, with a simulated unit behind each of its units: the whole
/// of change/ and records/ runs on it in virtual time.
class District {
 public:
  explicit District(const std::map<std::string, std::string>& files) : folder_(files) {
    Faults faults;
    fleet = fleet::load_fleet(folder_.path(), SOURCE_DIR "/schemas", faults);
    for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
    REQUIRE_FALSE(faults.any());
    for (const fleet::Unit& unit : fleet.units) {
      sim::Nature nature{unit.model, unit.name, std::nullopt, 1500};
      network.units.emplace(where(unit), sim::SimUnit(sim::Store(nature, &unit.desired, network.now_ms())));
    }
  }

  static std::string where(const fleet::Unit& unit) { return unit.host + ":" + std::to_string(unit.port); }
  const fleet::Unit& unit(const std::string& name) const { return *fleet.unit(name); }
  sim::SimUnit& sim(const std::string& name) { return network.units.at(where(unit(name))); }

  smi::Value read(const std::string& name, const std::string& object, std::uint32_t index = 0) {
    return sim(name).store.get(unit(name).model->object(object)->oid.child(index), network.now_ms());
  }
  void put(const std::string& name, const std::string& object, std::uint32_t index, const std::string& text) {
    const schema::Object& found = *unit(name).model->object(object);
    const auto value = smi::encode(found.syntax, text);
    REQUIRE(value);
    REQUIRE(sim(name).store.put_by_hand(found, index, *value, network.now_ms()));
  }
  /// Every setting of a unit, for "nothing else was changed".
  std::map<smi::Oid, smi::Value> settings(const std::string& name) {
    std::map<smi::Oid, smi::Value> all;
    for (const auto& cell : sim(name).store.settable_cells())
      if (!cell.object->traits.action) all[cell.object->oid.child(cell.index)] = cell.value;
    return all;
  }

  std::vector<change::UnitGoal> goals() const {
    std::vector<change::UnitGoal> all;
    for (const fleet::Unit& unit : fleet.units) all.push_back({&unit, change::goal_of_files(fleet, unit)});
    return all;
  }
  change::ChangeResult apply(change::ApplyOptions options = {}) { return apply(goals(), std::move(options)); }
  change::ChangeResult apply(const std::vector<change::UnitGoal>& goals, change::ApplyOptions options = {}) {
    if (options.kind.empty()) options.kind = "apply";
    const auto previews = change::preview(world, goals, options.allow_cut_off, 16);
    return change::apply(world, goals, previews, options);
  }
  std::vector<change::Audited> audit() {
    std::vector<const fleet::Unit*> units;
    for (const fleet::Unit& unit : fleet.units) units.push_back(&unit);
    return change::audit(world, units, "audit", 16);
  }

 private:
  FleetFolder folder_;

 public:
  fleet::Fleet fleet;
  SimNetwork network;
  SimClock clock{network};
  MemoryDisk disk;
  change::World world{network, disk, clock, fleet, [](const fleet::Unit&) { return nullptr; }};
};

/// All units of it are on air, as if asked to long ago.
inline void operating(District& district) {
  for (auto& [where, unit] : district.network.units) {
    const schema::ModeRule& rule = *unit.store.model().mode;
    REQUIRE(
        unit.store.put_by_hand(*rule.asked, 0, smi::Value::integer(rule.operate), district.network.now_ms()));
    unit.store.settle_mode(district.network.now_ms());
  }
}

/// Two units, one of each standard, that share what both can have; message rows of the RSU 4.1 one need
/// standby.
inline std::map<std::string, std::string> two_units(const std::string& more_fleet = "") {
  return {
      {"fleet.yaml", R"(fleet: Larkmoor test bench
credentials:
  bench:
    user: bench
    auth-secret: {env: BENCH_AUTH}
    privacy-secret: {env: BENCH_PRIV}
)" + more_fleet + R"(
settings:
  unit-id: "{unit}"
  notify-address: 192.0.2.10
  position-tolerance: 15 m
  mode: operate
tables:
  store-and-repeat:
    rows:
      map:
        match: [psid, message]
        psid: 0x82
        message: MAP
        channel: 183
        interval: 1000 ms
        start: 2026-01-01T00:00Z
        stop: 2036-01-01T00:00Z
        payload: {file: payloads/map.hex}
        enabled: on
)"},
      {"units.yaml", R"(units:
  LK-101: {address: 127.77.0.1, port: 16161, model: ntcip1218-v01}
  LK-102: {address: 127.77.0.2, port: 16161, model: rsu-4.1}
)"},
      {"payloads/map.hex", "0012020000\n"},
  };
}

}  // namespace vergeset::test
