#include <algorithm>

#include "catch.h"
#include "schema/facts.h"
#include "schema/small_model.h"
#include "smi/quantity.h"

using namespace vergeset;
using namespace vergeset::schema;

namespace {

void check_fault(const std::string& marked, const std::string& words) {
  const Marked text(marked);
  const Loaded loaded({{"m.yaml", small_table}, {"common.yaml", text.text}});
  CHECK(loaded.unlike(text.place("schemas/common.yaml") + ": " + words) == "");
}

const CommonSetting& column(const std::string& table, const std::string& name) {
  return shipped().tables.at(table).columns.at(name);
}

}  // namespace

TEST_CASE("a common name that names no object of its model is a fault with a suggestion") {
  check_fault("settings:\n  reach: {about: a, on: {m: @@farr}}\n",
              "farr is no object of m; did you mean far?");
  check_fault("settings:\n  reach: {about: a, on: {@@n: far}}\n", "no model n is known");
  check_fault("settings:\n  name: {about: a, on: {m: @@thingName}}\n",
              "thingName is a column of things; a setting is a scalar");
  check_fault("tables:\n  t: {about: a, on: {m: @@thinks}}\n",
              "thinks is no table of m; did you mean things?");
  check_fault("tables:\n  t: {about: a, on: {m: things}, columns: {c: {about: a, on: {m: @@far}}}}\n",
              "far is no column of things");
  check_fault("tables:\n  t: {about: a, on: {}, columns: {c: {about: a, on: {m: @@thingName}}}}\n",
              "t has no table on m");
}

TEST_CASE("a second common.yaml maps known names and does not explain them anew") {
  const std::string first =
      "settings:\n  reach: {about: a, unit: m, on: {m: far}}\n"
      "tables:\n  t: {about: a, on: {m: things}, columns: {c: {about: a, on: {m: thingName}}}}\n";
  const auto check = [&](const std::string& marked, const std::string& words) {
    const Marked text(marked);
    const Loaded loaded({{"m.yaml", small_table}, {"common.yaml", first}}, {{"common.yaml", text.text}});
    CHECK(loaded.unlike(text.place("models/common.yaml") + ": " + words) == "");
  };
  check("settings:\n  reach: {@@unit: cm, on: {m: far}}\n", "unknown key \"unit\"");
  check("tables:\n  t: {@@about: b}\n", "unknown key \"about\"");
  check("tables:\n  t: {columns: {c: {@@about: b, on: {m: thingName}}}}\n", "unknown key \"about\"");
}

TEST_CASE("a common name of what cannot be asked for is a fault") {
  check_fault("settings:\n  state-of: {about: a, on: {m: @@state}}\n", "state is no configuration");
}

TEST_CASE("a common name whose unit does not convert is a fault") {
  check_fault("settings:\n  reach: {about: a, unit: s, on: {m: @@far}}\n",
              "far counts in m; s does not convert into it");
  check_fault("settings:\n  reach: {about: a, on: {m: @@far}}\n", "far counts in m; reach needs a `unit:`");
  check_fault("settings:\n  name: {about: a, unit: m, on: {m: @@id}}\n", "id is no number; it has no m");
  const Marked bare("settings:\n  reach: {about: a, unit: m, on: {m: @@count}}\n");
  const Loaded loaded(
      {{"m.yaml", small_scalars + "  count: {oid: 9, syntax: Integer32, access: read-write}\n"},
       {"common.yaml", bare.text}});
  CHECK(loaded.unlike(bare.place("schemas/common.yaml") +
                      ": count has no unit of measure; m does not convert into it") == "");
  check_fault("settings:\n  reach: {about: a, unit: @@furlong, on: {}}\n",
              "\"furlong\" is no unit of measure");
}

TEST_CASE("labels that an object does not have are faults") {
  check_fault("settings:\n  on-air: {about: a, on: {m: {object: mode, labels: {yes: @@oparate}}}}\n",
              "mode cannot be \"oparate\"");
  check_fault("settings:\n  reach: {about: a, unit: m, labels: {all: 200}, on: {m: @@far}}\n",
              "far is Integer32 (0..100); it does not take all 200");
  check_fault("settings:\n  reach: {about: a, unit: m, labels: {all: @@many}, on: {m: far}}\n",
              "the number of a label");
}

TEST_CASE("an object with two common names on one model is a fault") {
  check_fault(
      "settings:\n  reach: {about: a, unit: m, on: {m: far}}\n  span: {about: a, unit: m, on: {m: @@far}}\n",
      "far is reach already; an object has one common name");
}

TEST_CASE("the form of a common name is checked") {
  check_fault("settings:\n  reach: @@{unit: m, on: {m: far}}\n", "`about:` is missing");
  check_fault("settings:\n  reach: @@{about: a, unit: m}\n", "`on:` is missing");
  check_fault("settings:\n  @@reach: far\n", "a common setting is a map");
  check_fault("settings:\n  @@far: {about: a, unit: m, on: {m: far}}\n",
              "far is an object of m; a common name is another");
  check_fault("settings:\n  reach: {about: a, unit: m, @@onn: {}, on: {m: far}}\n",
              "unknown key \"onn\"; did you mean on?");
  check_fault("settings:\n  reach: {about: a, unit: m, on: {m: far}, elsewhere: @@leave}\n",
              "`leave out`, or {refuse: REASON}, is expected; found \"leave\"");
  check_fault("settings:\n  reach: {about: a, unit: m, on: {m: far}, elsewhere: @@{}}\n",
              "`refuse:` is missing");
  check_fault("@@setings: {}\n", "unknown key \"setings\"; did you mean settings?");
  check_fault("tables:\n  @@t: things\n", "a common table is a map");
  check_fault("tables:\n  t: {about: a, on: {m: things}, columns: {@@c: thingName}}\n",
              "a common column is a map");
}

TEST_CASE("where a model lacks a common name it is refused with a reason, or left out") {
  const Loaded loaded({{"m.yaml", small_table},
                       {"common.yaml",
                        "settings:\n"
                        "  a: {about: a, on: {}}\n"
                        "  b: {about: b, on: {}, elsewhere: leave out}\n"
                        "  c: {about: c, on: {}, elsewhere: {refuse: no such thing}}\n"}});
  REQUIRE(loaded.report().empty());
  CHECK(loaded.schema.settings.at("a").refusal == "this model has no object for a");
  CHECK_FALSE(loaded.schema.settings.at("a").left_out);
  CHECK(loaded.schema.settings.at("b").refusal.empty());
  CHECK(loaded.schema.settings.at("b").left_out);
  CHECK(loaded.schema.settings.at("c").refusal == "no such thing");
}

TEST_CASE("a kind of message may be told from a payload column, and not from a number") {
  const std::string text = "tables:\n  t: {about: a, on: {m: things}, columns: {kind: {about: a, on: {m: ";
  const Loaded loaded({{"m.yaml", small_table}, {"common.yaml", text + "{from-payload: thingName}}}}}\n"}});
  REQUIRE(loaded.report().empty());
  const Mapping& mapping = loaded.schema.tables.at("t").columns.at("kind").on.at("m");
  CHECK(mapping.from_payload);
  CHECK(mapping.object->name == "thingName");
  check_fault(text + "@@{from-payload: thingIndex}}}}}\n",
              "thingIndex is Integer32 (1..9); a payload is an OCTET STRING");
}

TEST_CASE("the shipped common names that a fleet counts on are there on both standards") {
  for (const std::string name : {"unit-id",
                                 "location-description",
                                 "reference-latitude",
                                 "reference-longitude",
                                 "reference-elevation",
                                 "position-tolerance",
                                 "notify-address",
                                 "notify-port",
                                 "gnss-output-address",
                                 "gnss-output-port",
                                 "gnss-output-interface",
                                 "gnss-output-interval",
                                 "mode",
                                 "system-contact",
                                 "system-location",
                                 "system-name",
                                 "wra-prefix",
                                 "wra-prefix-length",
                                 "wra-gateway",
                                 "wra-dns",
                                 "certificate-request-before"}) {
    INFO(name);
    REQUIRE(shipped().settings.count(name) == 1);
    CHECK(shipped().settings.at(name).on.size() == 2);
  }
  for (const std::string name : {"radio", "store-and-repeat", "immediate-forward", "forwarding",
                                 "interface-logs", "service-advertisement"}) {
    INFO(name);
    REQUIRE(shipped().tables.count(name) == 1);
    CHECK(shipped().tables.at(name).on.size() == 2);
  }
}

TEST_CASE("a common setting with a unit has one that both objects convert") {
  // NTCIP 1218 rsuGnssMaxDeviation in metres, RSU 4.1 rsuGpsMaxDeviation in centimetres
  const CommonSetting& tolerance = shipped().settings.at("position-tolerance");
  const auto quantity = smi::Quantity::parse("15 m");
  REQUIRE(quantity);
  CHECK(*smi::in_unit(*quantity, tolerance.on.at("ntcip1218-v01").object->unit) == 15);
  CHECK(*smi::in_unit(*quantity, tolerance.on.at("rsu-4.1").object->unit) == 1500);
  const auto days = smi::Quantity::parse("48 h");
  REQUIRE(days);
  const CommonSetting& request = shipped().settings.at("certificate-request-before");
  CHECK(*smi::in_unit(*days, request.on.at("ntcip1218-v01").object->unit) == 48);
  CHECK(*smi::in_unit(*days, request.on.at("rsu-4.1").object->unit) == 2);
}

TEST_CASE("kinds of message have their J2735 numbers") {
  // RSU 4.1 MIB, rsuSRMDsrcMsgId; SAE J2735
  const CommonSetting& message = column("store-and-repeat", "message");
  for (const smi::Label& label : {smi::Label{"MAP", 18}, {"SPAT", 19}, {"BSM", 20}, {"TIM", 31}}) {
    CHECK(std::count(message.labels.begin(), message.labels.end(), label) == 1);
  }
  CHECK(message.on.at("ntcip1218-v01").from_payload);
  CHECK(message.on.at("ntcip1218-v01").object->name == "rsuMsgRepeatPayload");
  CHECK(message.on.at("rsu-4.1").object->name == "rsuSRMDsrcMsgId");
}

TEST_CASE("power in dBm is refused on RSU 4.1 with what to do instead, and percent on NTCIP 1218") {
  const CommonSetting& power = column("radio", "power");
  CHECK(power.on.count("rsu-4.1") == 0);
  CHECK(power.refusal ==
        "RSU 4.1 counts power in percent of full strength (rsuTxPower); dBm does not convert into it: set "
        "rsuTxPower under `only: rsu-4.1`");
  CHECK(column("radio", "second-power").refusal == power.refusal);
  const CommonSetting& share = shipped().settings.at("transmit-power-share");
  CHECK(share.on.at("rsu-4.1").object->name == "rsuTxPower");
  CHECK(share.refusal.find("percent does not convert into it") != std::string::npos);
  CHECK(column("store-and-repeat", "options").refusal == "RSU 4.1 has no such options");
  CHECK(column("store-and-repeat", "tx-mode").left_out);
}

TEST_CASE("labels of a common name are those of each model's own object") {
  const CommonSetting& mode = column("radio", "mode");
  CHECK(mode.on.at("ntcip1218-v01").labels.at("alternating") == "alt");
  CHECK(mode.on.at("rsu-4.1").labels.at("continuous") == "cont");
  // The two object lists: cont is 3 in NTCIP 1218 and 0 in RSU 4.1
  CHECK(smi::encode(mode.on.at("ntcip1218-v01").object->syntax, "cont")->number == 3);
  CHECK(smi::encode(mode.on.at("rsu-4.1").object->syntax, "cont")->number == 0);
}

TEST_CASE("every shipped common name says what it means, and names an object or says why not") {
  const auto check = [](const CommonSetting& setting) {
    INFO(setting.name);
    CHECK_FALSE(setting.about.empty());
    CHECK_FALSE(setting.on.empty());
    CHECK(setting.left_out == setting.refusal.empty());
    for (const auto& [model, mapping] : setting.on)
      CHECK((mapping.from_payload || mapping.object->configuration()));
  };
  for (const auto& [name, setting] : shipped().settings) check(setting);
  for (const auto& [name, table] : shipped().tables) {
    for (const auto& [column_name, setting] : table.columns) check(setting);
  }
}
