#include "fleet/substitute.h"

#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

Unit a_unit() {
  Unit unit;
  unit.name = "LK-104";
  unit.host = "127.0.104.1";
  unit.site.fields = {
      {"latitude", "51.1234567"}, {"elevation", "41.2"}, {"place", "Mill Lane"}, {"mount-height", "600 cm"}};
  unit.values = {{"tmc", "192.0.2.10"}, {"lane", "3"}};
  return unit;
}

std::string made(const std::string& text) {
  const auto result = substitute(text, a_unit());
  return result ? *result : "problem: " + result.problem();
}

}  // namespace

TEST_CASE("names of the unit, of its site and of values are put in") {
  CHECK(made("payloads/{unit}-{lane}.hex") == "payloads/LK-104-3.hex");
  CHECK(made("{address}") == "127.0.104.1");
  CHECK(made("{tmc}") == "192.0.2.10");
  CHECK(made("at {site.place}") == "at Mill Lane");
  CHECK(made("nothing to do") == "nothing to do");
  CHECK(made("").empty());
}

TEST_CASE("measured site fields carry their unit, once") {
  CHECK(made("{site.latitude}") == "51.1234567 deg");
  CHECK(made("{site.elevation}") == "41.2 m");
  CHECK(made("{site.mount-height}") == "600 cm");
}

TEST_CASE("doubled braces are braces") {
  CHECK(made("{{unit}}") == "{unit}");
  CHECK(made("{{{unit}}}") == "{LK-104}");
}

TEST_CASE("what cannot be put in is a problem with a suggestion") {
  CHECK(says(made("{unti}"), {"{unti}", "did you mean unit"}));
  CHECK(says(made("{tms}"), {"{tms}", "did you mean tmc"}));
  CHECK(says(made("{site.latitud}"), {"no field latitud", "did you mean latitude"}));
  CHECK(says(made("{site.longitude}"), {"has not recorded site field longitude"}));
  CHECK(says(made("{unit"), {"without its }"}));
  CHECK(says(made("unit}"), {"without its {"}));
  CHECK(says(made("{un{it}"), {"without its }"}));
  CHECK(says(made("{}"), {"nothing is known"}));
}

TEST_CASE("a value that cannot be put in is told where it stands, with the unit") {
  const Files files = {{"fleet.yaml", least_fleet}, {"units.yaml", two_units}};
  check_wrong(files, "fleet.yaml",
              {least_fleet + "settings: {unit-id: @@\"{untt}\"}\n",
               {"unit-id", "{untt}", "unit LK-101 and 1 more unit"}});
  const std::string recorded =
      "units:\n  LK-101: {address: 127.0.0.1, model: rsu-4.1, site: {latitude: 51.5}}\n"
      "  LK-102: {address: 127.0.0.2, model: rsu-4.1}\n";
  check_wrong({{"fleet.yaml", least_fleet}, {"units.yaml", recorded}}, "fleet.yaml",
              {least_fleet + "settings:\n  reference-latitude: @@\"{site.latitude}\"\n",
               {"site field latitude", "(unit LK-102)"}});
}

TEST_CASE("a name in braces needs no quotes") {
  const Tree tree({{"fleet.yaml", least_fleet + "values: {tmc: 192.0.2.10}\n"
                                                "settings:\n  unit-id: {unit}\n  notify-address: {tmc}\n"},
                   {"units.yaml", two_units}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.value("LK-101", "rsuID")->value == smi::Value::of_octets("LK-101"));
  CHECK(tree.value("LK-101", "rsuNotifyIpAddress")->value == smi::Value::of_octets("192.0.2.10"));
}

TEST_CASE("values come from the strongest layer that has them") {
  const Tree tree({{"fleet.yaml", least_fleet + "values: {a: fleet, b: fleet, c: fleet}\n"
                                                "settings: {unit-id: \"{a} {b} {c}\"}\n"},
                   {"groups/signals.yaml", "values: {b: group, c: group}\n"},
                   {"units.yaml",
                    "units:\n  LK-1: {address: 127.0.0.1, model: rsu-4.1, groups: signals, "
                    "values: {c: unit}}\n"}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.value("LK-1", "rsuID")->value == smi::Value::of_octets("fleet group unit"));
}

TEST_CASE("names and texts under values are checked") {
  const Files files = {{"fleet.yaml", least_fleet}, {"units.yaml", two_units}};
  check_wrong(files, "fleet.yaml", {least_fleet + "values: {@@unit: x}\n", {"already the unit's own"}});
  check_wrong(files, "fleet.yaml", {least_fleet + "values: {@@site.x: y}\n", {"letters, digits", "site.x"}});
  check_wrong(files, "fleet.yaml", {least_fleet + "values: {x: @@\"{unit}\"}\n", {"may not hold { or }"}});
  check_wrong(files, "fleet.yaml", {least_fleet + "values: {@@x: }\n", {"a value for x"}});
}

TEST_CASE("equal groups that differ on a value are told unless something stronger has it") {
  Files files = {{"fleet.yaml", least_fleet},
                 {"groups/a.yaml", "values: {x: one}\n"},
                 {"units.yaml", "units:\n  LK-1: {address: 127.0.0.1, model: rsu-4.1, groups: [[a, b]]}\n"}};
  check_wrong(files, "groups/b.yaml",
              {"values: {x: @@two}\n", {"value x is two", "one in groups/a.yaml:1:13"}});
  files["groups/b.yaml"] = "values: {x: two}\n";
  files["units.yaml"] =
      "units:\n  LK-1: {address: 127.0.0.1, model: rsu-4.1, groups: [[a, b]], values: {x: three}}\n";
  CHECK_FALSE(Tree(files).faults.any());
}
