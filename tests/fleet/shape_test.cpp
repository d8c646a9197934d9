#include <algorithm>
#include <utility>

#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

/// One group whose settings and rows in part depend on the unit.
const std::string signals =
    "settings:\n"
    "  notify-port: 162\n"
    "  system-name: \"{unit}\"\n"
    "values: {channel: 183}\n"
    "tables:\n"
    "  store-and-repeat:\n"
    "    rows:\n"
    "      map: {match: [psid, message], psid: 0x82, message: MAP, channel: \"{channel}\",\n"
    "            payload: {file: \"payloads/{unit}.hex\"}}\n"
    "      notice: {match: [psid, message], psid: 0x83, message: TIM, channel: \"{channel}\"}\n"
    "      bend: {match: [psid, message], psid: 0x84, message: TIM, channel: 180}\n";

const std::string header = "unit,address,model,groups,values.channel\n";

Files district(const std::string& units, const std::string& group = signals) {
  return {{"fleet.yaml", least_fleet},        {"groups/signals.yaml", group},
          {"units.csv", header + units},      {"payloads/LK-101.hex", "0012 01"},
          {"payloads/LK-102.hex", "0012 02"}, {"payloads/LK-103.hex", "0012 03"}};
}

const std::string three_units =
    "LK-101,127.0.101.1,rsu-4.1,signals,\n"
    "LK-102,127.0.102.1,rsu-4.1,signals,172\n"
    "LK-103,127.0.103.1,rsu-4.1,signals,172\n";

const std::string repeat = "store-and-repeat";

}  // namespace

TEST_CASE("units of one shape share what does not depend on them") {
  const Tree tree(district(three_units));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.value("LK-101", "rsuNotifyPort") == tree.value("LK-103", "rsuNotifyPort"));
  CHECK(&tree.row("LK-101", repeat, "bend") == &tree.row("LK-103", repeat, "bend"));
  CHECK(column(tree.row("LK-101", repeat, "map"), "rsuSRMPsid") ==
        column(tree.row("LK-103", repeat, "map"), "rsuSRMPsid"));
  CHECK(&tree.unit("LK-101").groups[0] == &tree.unit("LK-103").groups[0]);
}

TEST_CASE("units of one shape differ in what depends on them, in settings and in rows") {
  const Tree tree(district(three_units));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  for (const std::string name : {"LK-101", "LK-102", "LK-103"}) {
    CHECK(tree.value(name, "sysName")->value == smi::Value::of_octets(name));
    const DesiredValue& payload = *column(tree.row(name, repeat, "map"), "rsuSRMPayload");
    CHECK(payload.value ==
          smi::Value::of_octets(std::string("\x00\x12", 2) + static_cast<char>(name.back() - '0')));
    CHECK(payload.asked.text == "payloads/{unit}.hex");
    const std::int64_t channel = name == "LK-101" ? 183 : 172;
    CHECK(column(tree.row(name, repeat, "map"), "rsuSRMTxChannel")->value.number == channel);
    CHECK(column(tree.row(name, repeat, "notice"), "rsuSRMTxChannel")->value.number == channel);
    CHECK(column(tree.row(name, repeat, "bend"), "rsuSRMTxChannel")->value.number == 180);
  }
}

TEST_CASE("units with the same texts put in share what comes of them") {
  const Tree tree(district(three_units));
  CHECK(&tree.row("LK-102", repeat, "notice") == &tree.row("LK-103", repeat, "notice"));
  CHECK(&tree.row("LK-101", repeat, "notice") != &tree.row("LK-103", repeat, "notice"));
}

TEST_CASE("what a unit asks for itself does not touch its neighbours") {
  Files files = district("LK-102,127.0.102.1,rsu-4.1,signals,172\nLK-103,127.0.103.1,rsu-4.1,signals,172\n");
  files["units.yaml"] =
      "units:\n  LK-101:\n    address: 127.0.101.1\n    model: rsu-4.1\n    groups: [signals]\n"
      "    settings: {notify-port: 1162}\n"
      "    tables: {store-and-repeat: {rows: {bend: {channel: 172}}}}\n";
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.value("LK-101", "rsuNotifyPort")->value.number == 1162);
  REQUIRE(tree.value("LK-101", "rsuNotifyPort")->overrode.size() == 1);
  CHECK(tree.value("LK-101", "rsuNotifyPort")->overrode[0].layer == "group signals");
  CHECK(column(tree.row("LK-101", repeat, "bend"), "rsuSRMTxChannel")->value.number == 172);
  for (const char* name : {"LK-102", "LK-103"}) {
    CHECK(tree.value(name, "rsuNotifyPort")->value.number == 162);
    CHECK(tree.value(name, "rsuNotifyPort")->overrode.empty());
    CHECK(column(tree.row(name, repeat, "bend"), "rsuSRMTxChannel")->value.number == 180);
  }
}

TEST_CASE("a fault of a group is told once, in the words that one unit alone has for it") {
  const std::string wrong = "settings:\n  notify-port: many\n";
  const Tree one(district("LK-101,127.0.101.1,rsu-4.1,signals,\n", wrong));
  const Tree three(district(three_units, wrong));
  REQUIRE(one.faults.sorted().size() == 1);
  REQUIRE(three.faults.sorted().size() == 1);
  const Fault alone = one.faults.sorted()[0];
  const Fault shared = three.faults.sorted()[0];
  CHECK(shared.place == alone.place);
  CHECK(alone.text.find("(unit LK-101)") != std::string::npos);
  const std::string words = alone.text.substr(0, alone.text.find("(unit"));
  CHECK(shared.text == words + "(unit LK-101 and 2 more units)");
}

TEST_CASE("a fault of one unit of a shape is told for that unit, wherever it stands in the file") {
  Files files = district(three_units);
  files.erase("payloads/LK-102.hex");
  const std::string two_reversed =
      "LK-102,127.0.102.1,rsu-4.1,signals,172\nLK-101,127.0.101.1,rsu-4.1,signals,\n";
  for (const std::string& units : {three_units, two_reversed}) {
    files["units.csv"] = header + units;
    const Tree tree(files);
    const auto faults = tree.faults.sorted();
    REQUIRE(faults.size() == 1);
    CHECK(faults[0].place.file == "groups/signals.yaml");
    CHECK(says(faults[0].text, {"payloads/LK-102.hex is missing", "(unit LK-102)"}));
    CHECK(tree.value("LK-101", "sysName")->value == smi::Value::of_octets("LK-101"));
    CHECK(tree.value("LK-102", "sysName")->value == smi::Value::of_octets("LK-102"));
    CHECK(column(tree.row("LK-101", repeat, "map"), "rsuSRMPayload") != nullptr);
    CHECK(column(tree.row("LK-102", repeat, "map"), "rsuSRMPayload") == nullptr);
  }
}

TEST_CASE("the first unit that a fault names is the first by name, not by line") {
  const Tree tree(district("LK-103,127.0.103.1,rsu-4.1,signals,\nLK-101,127.0.101.1,rsu-4.1,signals,\n",
                           "settings:\n  system-name: \"{site.pole}\"\n"));
  REQUIRE(tree.faults.sorted().size() == 1);
  CHECK(says(tree.faults.sorted()[0].text, {"(unit LK-101 and 1 more unit)"}));
}

TEST_CASE("rows that only a unit's own values bring to one place are told for that unit") {
  const std::string rows =
      "tables:\n  store-and-repeat:\n    rows:\n"
      "      one: {index: 2, psid: 0x82}\n"
      "      two: {index: \"{place}\", psid: 0x83}\n"
      "values: {place: 3}\n";
  Files files = district("", rows);
  files["units.csv"] =
      "unit,address,model,groups,values.place\n"
      "LK-101,127.0.101.1,rsu-4.1,signals,\n"
      "LK-102,127.0.102.1,rsu-4.1,signals,4\n"
      "LK-103,127.0.103.1,rsu-4.1,signals,2\n";
  const Tree tree(files);
  REQUIRE(tree.faults.sorted().size() == 1);
  CHECK(says(tree.faults.sorted()[0].text, {"row two", "the same index 2 as row one", "(unit LK-103)"}));
  CHECK(tree.row("LK-101", repeat, "two").index == 3U);
  CHECK(tree.row("LK-102", repeat, "two").index == 4U);
}

TEST_CASE("a value that two groups dispute is no fault where each unit settles it") {
  Files files = {{"fleet.yaml", least_fleet + "settings: {system-name: \"{lane}\"}\n"},
                 {"groups/a.yaml", "values: {lane: 1}\n"},
                 {"groups/b.yaml", "values: {lane: 2}\n"},
                 {"units.csv",
                  "unit,address,model,groups,values.lane\n"
                  "LK-101,127.0.101.1,rsu-4.1,a + b,7\nLK-102,127.0.102.1,rsu-4.1,a + b,8\n"}};
  const Tree settled(files);
  INFO(settled.report());
  CHECK_FALSE(settled.faults.any());
  CHECK(settled.value("LK-102", "sysName")->value == smi::Value::of_octets("8"));
  files["units.csv"] += "LK-103,127.0.103.1,rsu-4.1,a + b,\n";
  const Tree disputed(files);
  REQUIRE(disputed.faults.sorted().size() == 1);
  CHECK(says(disputed.faults.sorted()[0].text, {"value lane", "equals", "(unit LK-103)"}));
}

TEST_CASE("a group asks alike for units of another model, each on its own objects") {
  const Tree tree(district("LK-101,127.0.101.1,rsu-4.1,signals,\nLK-102,127.0.102.1,ntcip1218-v01,signals,\n",
                           "settings: {gnss-output-port: 5115, system-name: \"{unit}\"}\n"));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.value("LK-101", "rsuGpsOutputPort")->value.number == 5115);
  CHECK(tree.value("LK-102", "rsuGnssOutputPort")->value.number == 5115);
  CHECK(tree.value("LK-102", "rsuGpsOutputPort") == nullptr);
}

TEST_CASE("a unit is found by its name, in whichever order the files have it") {
  const Tree tree(
      district("LK-103,127.0.103.1,rsu-4.1,,\nLK-101,127.0.101.1,rsu-4.1,,\nLK-102,127.0.102.1,rsu-4.1,,\n"));
  CHECK_FALSE(tree.faults.any());
  for (const char* name : {"LK-101", "LK-102", "LK-103"}) {
    REQUIRE(tree.fleet.unit(name) != nullptr);
    CHECK(tree.fleet.unit(name)->name == name);
  }
  for (const char* name : {"", "LK-1", "LK-100", "LK-1015", "LK-104"})
    CHECK(tree.fleet.unit(name) == nullptr);
}

TEST_CASE("elements stay where they are when the fleet is moved") {
  Tree tree(district(three_units));
  const DesiredValue* const name = tree.value("LK-102", "sysName");
  const DesiredRow* const row = &tree.row("LK-102", repeat, "map");
  const Unit* const unit = &tree.unit("LK-102");
  const Fleet moved = std::move(tree.fleet);
  REQUIRE(moved.unit("LK-102") == unit);
  const auto& values = moved.unit("LK-102")->desired.values;
  CHECK(std::any_of(values.begin(), values.end(), [&](const DesiredValue& value) { return &value == name; }));
  CHECK(&moved.unit("LK-102")->desired.tables[0].rows[0] == row);
}

TEST_CASE("of a hundred rows with one place, each is told with the first") {
  std::string rows = "tables:\n  store-and-repeat:\n    rows:\n";
  for (int i = 0; i < 100; ++i) {
    rows += "      r" + std::to_string(i) + ": {match: [psid], psid: " + std::to_string(i % 50 + 1) + "}\n";
  }
  const Tree tree(district("LK-101,127.0.101.1,rsu-4.1,signals,\n", rows));
  const auto faults = tree.faults.sorted();
  REQUIRE(faults.size() == 50);
  CHECK(says(faults[0].text, {"row r50 of", "the same match values as row r0 at groups/signals.yaml:4:7"}));
  CHECK(says(faults[49].text, {"row r99 of", "as row r49 at groups/signals.yaml:53:7"}));
}
