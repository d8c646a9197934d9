#pragma once

#include <algorithm>
#include <map>
#include <string>
#include <vector>

#include "catch.h"
#include "checks/counted.h"
#include "checks/health.h"
#include "fleet/fleet.h"
#include "records/clock.h"
#include "support/fleet_folder.h"

namespace vergeset::test {

inline constexpr std::int64_t hour_ms = 3600000;

/// A unit on a bench, of which a test says what was read.
class Bench {
 public:
  explicit Bench(const std::string& model, const std::string& more_fleet = "",
                 const std::string& more_site = "")
      : folder_({{"fleet.yaml",
                  "fleet: Larkmoor test bench\n"
                  "credentials:\n"
                  "  bench: {user: bench, auth-secret: {env: A}, privacy-secret: {env: B}}\n" +
                      more_fleet},
                 {"units.yaml", "units:\n  LK-101:\n    address: 127.0.0.1\n    model: " + model +
                                    "\n    site: {latitude: 54.9, longitude: -20.0, elevation: 12 m" +
                                    more_site + "}\n"},
                 {"payloads/map.hex", "0012020000\n"}}) {
    Faults faults;
    fleet = fleet::load_fleet(folder_.path(), SOURCE_DIR "/schemas", faults);
    for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
    REQUIRE_FALSE(faults.any());
  }

  const fleet::Unit& unit() const { return fleet.units.front(); }

  void say(const std::string& name, const std::string& text, std::uint32_t index = 0) {
    const schema::Object* object = unit().model->object(name);
    REQUIRE(object != nullptr);
    auto value = smi::encode(object->syntax, text);
    REQUIRE(value);
    values[object->oid.child(index)] = *std::move(value);
  }
  void say_octets(const std::string& name, const std::string& octets, std::uint32_t index = 0) {
    values[unit().model->object(name)->oid.child(index)] = smi::Value::of_octets(octets);
  }

  checks::AsRead read() const {
    static const smi::Value none = smi::Value::of_number(smi::Type::no_such_instance, 0);
    return {*unit().model,
            [this](const smi::Oid& instance) -> const smi::Value& {
              const auto found = values.find(instance);
              return found == values.end() ? none : found->second;
            },
            [this](const schema::Table& table) {
              std::vector<std::uint32_t> rows;
              for (const auto& [oid, value] : values)
                if (oid.within(table.entry)) rows.push_back(oid.back());
              std::sort(rows.begin(), rows.end());
              rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
              return rows;
            },
            now};
  }

  std::vector<checks::Finding> health() const { return checks::health(fleet, unit(), read()); }
  /// What the findings of a rule say; of all rules where none is named.
  std::vector<std::string> texts(const std::string& rule = "") const { return texts_of(health(), rule); }

  static std::vector<std::string> texts_of(const std::vector<checks::Finding>& findings,
                                           const std::string& rule = "") {
    std::vector<std::string> texts;
    for (const checks::Finding& one : findings)
      if (rule.empty() || one.rule == rule) texts.push_back(one.text);
    return texts;
  }

  std::map<smi::Oid, smi::Value> values;
  std::int64_t now = *records::milliseconds_of("2026-11-25T02:00:00.000Z");

 private:
  FleetFolder folder_;

 public:
  fleet::Fleet fleet;
};

using Texts = std::vector<std::string>;

}  // namespace vergeset::test
