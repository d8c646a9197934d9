#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

// Published UPER sample messages of a connected-vehicle certification body, 2017: a MAP and a TIM.
const std::string map_hex = "0012020000";
const std::string tim_hex = "001f200000008000000001f4000000220000025fc180b914f6241019300188c4644420";

const std::string map_row =
    "match: [psid, message], psid: 0x82, message: MAP, channel: 183, interval: 1000 ms, "
    "payload: {file: payloads/map.hex}";

const Files good = {{"fleet.yaml", least_fleet},
                    {"payloads/map.hex", map_hex},
                    {"payloads/tim.hex", "# a TIM\n" + tim_hex + "\n"},
                    {"units.yaml", two_units}};

std::string table_of(const std::string& body, const std::string& table = "store-and-repeat") {
  return "tables: {" + table + ": {" + body + "}}\n";
}

std::string rows(const std::string& body) {
  return table_of("rows: {" + body + "}");
}

Files with(const std::string& added) {
  Files files = good;
  files["fleet.yaml"] = least_fleet + added;
  return files;
}

void check_rows(const std::string& body, const std::vector<std::string>& words) {
  check_wrong(good, "fleet.yaml", {least_fleet + rows(body), words});
}

/// On units of one model.
Files of_model(const std::string& model) {
  Files files = good;
  files["units.yaml"] = "units:\n  LK-101: {address: 127.0.0.1, model: " + model + ", groups: [[a, b]]}\n";
  files["groups/a.yaml"] = "";
  files["groups/b.yaml"] = "";
  return files;
}

}  // namespace

TEST_CASE("a row is found by columns, or by the payload where a model has no column for the message") {
  const Tree tree(with(rows("map: {" + map_row + "}")));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const DesiredRow& rsu41 = tree.row("LK-102", "store-and-repeat", "map");
  REQUIRE(rsu41.match.size() == 2);
  CHECK(rsu41.columns[rsu41.match[0]].object->name == "rsuSRMPsid");
  CHECK(rsu41.columns[rsu41.match[1]].object->name == "rsuSRMDsrcMsgId");
  // SAE J2735: MAP is 18
  CHECK(column(rsu41, "rsuSRMDsrcMsgId")->value == smi::Value::integer(18));
  CHECK_FALSE(rsu41.match_payload.has_value());

  const DesiredRow& ntcip = tree.row("LK-101", "store-and-repeat", "map");
  REQUIRE(ntcip.match.size() == 1);
  CHECK(ntcip.columns[ntcip.match[0]].object->name == "rsuMsgRepeatPsid");
  REQUIRE(ntcip.match_payload.has_value());
  CHECK(ntcip.match_payload->payload->name == "rsuMsgRepeatPayload");
  CHECK(ntcip.match_payload->message_id == 18);
  CHECK(smi::to_hex(column(ntcip, "rsuMsgRepeatPayload")->value.octets) == map_hex);
  CHECK(ntcip.columns.size() == 4);
  CHECK(ntcip.present);
  CHECK_FALSE(ntcip.index.has_value());
  CHECK(ntcip.asked.place == Place{"fleet.yaml", 4, 36});
  CHECK(tree.fleet.files == std::vector<std::string>{"fleet.yaml", "payloads/map.hex", "units.yaml"});
}

TEST_CASE("columns stand by number and carry their source") {
  const Tree tree(with(rows("map: {" + map_row + "}")));
  const DesiredRow& row = tree.row("LK-102", "store-and-repeat", "map");
  for (std::size_t i = 1; i < row.columns.size(); ++i) {
    CHECK(row.columns[i - 1].object->oid < row.columns[i].object->oid);
  }
  CHECK(column(row, "rsuSRMTxInterval")->name == "interval");
  CHECK(column(row, "rsuSRMTxInterval")->asked.text == "1000 ms");
  CHECK(column(row, "rsuSRMPayload")->asked.text == "payloads/map.hex");
}

TEST_CASE("layers merge rows of one name column by column") {
  Files files = with(rows("map: {" + map_row + "}"));
  files["groups/a.yaml"] = rows("map: {channel: 180}, old: {index: 7, present: no}");
  files["units.yaml"] =
      "units:\n  LK-102: {address: 127.0.0.1, model: rsu-4.1, groups: a, tables: {rsuSRMStatusTable: "
      "{others: "
      "remove, rows: {map: {index: 3, rsuSRMTxInterval: 500}, old: {present: yes}}}}}\n";
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const DesiredTable& table = tree.table("LK-102", "rsuSRMStatusTable");
  CHECK(table.others == Others::remove);
  REQUIRE(table.rows.size() == 2);
  const DesiredRow& map = table.rows[0];
  CHECK(map.index == 3U);
  CHECK(map.match.empty());
  CHECK(column(map, "rsuSRMTxChannel")->value == smi::Value::integer(180));
  REQUIRE(column(map, "rsuSRMTxChannel")->overrode.size() == 1);
  CHECK(column(map, "rsuSRMTxChannel")->overrode[0].layer == "fleet");
  CHECK(column(map, "rsuSRMTxInterval")->value == smi::Value::integer(500));
  CHECK(column(map, "rsuSRMPsid") != nullptr);
  CHECK(table.rows[1].present);
}

TEST_CASE("others are kept unless a layer says so") {
  CHECK(Tree(with(rows("map: {" + map_row + "}"))).table("LK-101", "store-and-repeat").others ==
        Others::keep);
  CHECK(Tree(with(table_of("others: ignore"))).table("LK-101", "store-and-repeat").others == Others::ignore);
  check_wrong(
      good, "fleet.yaml",
      {least_fleet + table_of("others: @@removed"), {"keep, remove or ignore", "did you mean remove"}});
}

TEST_CASE("a column that a model lacks is left out with its row's name, or refused") {
  const Tree tree(with(rows("map: {" + map_row + ", tx-mode: alternating}")));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  REQUIRE(tree.unit("LK-101").desired.left_out.size() == 1);
  CHECK(tree.unit("LK-101").desired.left_out[0].name == "store-and-repeat/map/tx-mode");
  CHECK(column(tree.row("LK-102", "store-and-repeat", "map"), "rsuSRMTxMode")->value ==
        smi::Value::integer(1));

  check_rows("map: {" + map_row + ", @@priority: 3}", {"priority cannot be had on rsu-4.1", "no priority"});
}

TEST_CASE("a table that a model lacks is left out under a common name and told under its own") {
  check_wrong(good, "fleet.yaml",
              {least_fleet + "tables: {@@rsuSRMStatusTable: {others: ignore}}\n",
               {"ntcip1218-v01 has no rsuSRMStatusTable", "under only: for rsu-4.1", "LK-101"}});
}

TEST_CASE("tables, columns and matches that nobody knows are told") {
  check_wrong(
      good, "fleet.yaml",
      {least_fleet + "tables: {@@store-and-repaet: {others: keep}}\n", {"did you mean store-and-repeat"}});
  check_wrong(good, "fleet.yaml",
              {least_fleet + "tables: {@@notify-port: {others: keep}}\n", {"is no table"}});
  check_wrong(good, "fleet.yaml", {least_fleet + table_of("@@other: keep"), {"did you mean others"}});
  check_rows("map: {index: 1, @@chanel: 183}",
             {"store-and-repeat has no column chanel", "did you mean channel"});
  check_rows("map: {match: [@@psdi], psid: 0x82}", {"no column psdi", "did you mean psid"});
  check_rows("map: @@x", {"a map of columns is expected"});
  check_rows("map: {index: 1, present: @@maybe}", {"yes or no", "maybe"});
}

TEST_CASE("a column of another model belongs under only") {
  check_wrong(of_model("rsu-4.1"), "fleet.yaml",
              {least_fleet + rows("map: {index: 1, @@rsuMsgRepeatPriority: 3}"),
               {"rsu-4.1 has no rsuMsgRepeatPriority", "ntcip1218-v01"}});
}

TEST_CASE("a row is found by exactly one of index and match") {
  check_rows("@@map: {psid: 0x82}", {"row map of store-and-repeat needs match", "or index"});
  check_rows("@@map: {index: 1, match: [psid], psid: 0x82}", {"both index and match"});
  check_rows("map: {@@match: [], psid: 0x82, index: 1}", {"match names no column"});
  check_rows("map: {match: [psid, @@channel], psid: 0x82}",
             {"match names channel, but the row does not give it"});
  check_rows("map: {match: [psid, @@message], psid: 0x82}", {"match names message", "does not give it"});
  check_wrong(of_model("rsu-4.1"), "fleet.yaml",
              {least_fleet + rows("map: {index: @@0, psid: 0x82}"), {"expected an index 1 to", "found 0"}});
  check_wrong(of_model("rsu-4.1"), "fleet.yaml",
              {least_fleet + rows("map: {index: @@one, psid: 0x82}"), {"expected an index", "found one"}});
  check_wrong(of_model("ntcip1218-v01"), "fleet.yaml",
              {least_fleet + rows("map: {index: @@256, psid: 0x82}"), {"1 to 255"}});
}

TEST_CASE("an index may come from the unit's values") {
  Files files = with(rows("map: {index: \"{lane}\", psid: 0x82}"));
  files["units.yaml"] = "units:\n  LK-101: {address: 127.0.0.1, model: rsu-4.1, values: {lane: 12}}\n";
  CHECK(Tree(files).row("LK-101", "store-and-repeat", "map").index == 12U);
  check_wrong(of_model("rsu-4.1"), "fleet.yaml",
              {least_fleet + rows("map: {index: @@\"{lane}\", psid: 0x82}"), {"index: ", "{lane}"}});
}

TEST_CASE("a match on what the model lacks uses the other columns, and needs one") {
  const std::string row = "match: [psid, tx-mode], psid: 0x82, tx-mode: continuous";
  const Tree tree(with(rows("map: {" + row + "}")));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  check_wrong(of_model("rsu-4.1"), "fleet.yaml",
              {least_fleet + rows("map: {match: [psid, @@rsuMsgRepeatPriority], psid: 0x82}"),
               {"rsu-4.1 has no rsuMsgRepeatPriority to match"}});
  CHECK(tree.row("LK-101", "store-and-repeat", "map").match.size() == 1);
  CHECK(tree.row("LK-102", "store-and-repeat", "map").match.size() == 2);
  check_rows("map: {match: @@tx-mode, tx-mode: continuous}",
             {"ntcip1218-v01 has none of the columns", "LK-101"});
}

TEST_CASE("rows that are the unit's own need an index and cannot be removed") {
  const auto radio = [](const std::string& body) { return least_fleet + table_of(body, "radio"); };
  check_wrong(good, "fleet.yaml",
              {radio("rows: {@@one: {channel: 183}}"), {"needs index", "the unit's own"}});
  check_wrong(good, "fleet.yaml",
              {radio("rows: {one: {match: [@@channel], channel: 183}}"), {"state index for row one"}});
  check_wrong(
      of_model("rsu-4.1"), "fleet.yaml",
      {radio("rows: {one: {index: 1, present: @@no}}"), {"row one cannot be removed", "rows of radio"}});
  check_wrong(of_model("rsu-4.1"), "fleet.yaml",
              {radio("others: @@remove"), {"cannot be removed", "keep or ignore"}});
}

TEST_CASE("row status, index and read-only columns cannot be asked for") {
  const Files ntcip = of_model("ntcip1218-v01");
  const auto row = [](const std::string& table, const std::string& body) {
    return least_fleet + table_of("rows: {one: {index: 1, " + body + "}}", table);
  };
  check_wrong(ntcip, "fleet.yaml",
              {row("store-and-repeat", "@@rsuMsgRepeatStatus: active"), {"row's status", "present: no"}});
  check_wrong(ntcip, "fleet.yaml", {row("store-and-repeat", "@@rsuMsgRepeatIndex: 3"), {"row's index"}});
  check_wrong(ntcip, "fleet.yaml", {row("radio", "@@rsuRadioType: pC5"), {"rsuRadioType is read-only"}});
}

TEST_CASE("one column or table under two names in one layer is told") {
  check_wrong(of_model("rsu-4.1"), "fleet.yaml",
              {least_fleet + rows("map: {index: 1, channel: 183, @@rsuSRMTxChannel: 183}"),
               {"rsuSRMTxChannel is asked for a second time", "channel at fleet.yaml:4:"}});
  check_wrong(
      of_model("rsu-4.1"), "fleet.yaml",
      {least_fleet + "tables:\n  store-and-repeat: {others: keep}\n  @@rsuSRMStatusTable: {others: keep}\n",
       {"are one table"}});
}

TEST_CASE("two rows that would be found in one place are told") {
  check_rows("a: {index: 4, psid: 0x82}, @@b: {index: 4, psid: 0x83}",
             {"row b", "same index 4 as row a at fleet.yaml:4:"});
  check_rows("a: {match: [psid], psid: 0x82}, @@b: {match: [psid], psid: p8002}",
             {"same match values as row a"});
  check_rows(
      "a: {match: [psid, message], psid: 0x82, message: MAP}, "
      "@@b: {match: [message, psid], psid: 0x82, message: 18, present: no}",
      {"same match values as row a", "unit LK-101 and 1 more unit"});
  CHECK_FALSE(Tree(with(rows("a: {match: [psid, message], psid: 0x82, message: MAP}, "
                             "b: {match: [psid, message], psid: 0x82, message: SPAT}")))
                  .faults.any());
}

TEST_CASE("equals dispute columns, others, present and how a row is found") {
  const auto dispute = [](const std::string& a, const std::string& b, const std::vector<std::string>& words) {
    Files files = of_model("rsu-4.1");
    files["groups/a.yaml"] = a;
    check_wrong(files, "groups/b.yaml", {b, words});
  };
  dispute(rows("m: {index: 1, channel: 183}"), rows("m: {index: 1, channel: @@180}"),
          {"channel is 180", "183 in groups/a.yaml"});
  dispute(table_of("others: remove"), table_of("others: @@keep"),
          {"others of store-and-repeat is keep", "remove in"});
  dispute(rows("m: {index: 1}"), rows("m: {index: @@2}"), {"how row m is found is index 2", "index 1 in"});
  Files ntcip = of_model("ntcip1218-v01");
  ntcip["groups/a.yaml"] = rows("m: {index: 1, message: MAP}");
  check_wrong(ntcip, "groups/b.yaml",
              {rows("m: {index: 1, message: @@SPAT}"), {"message is SPAT", "MAP in groups/a.yaml"}});
  dispute(rows("m: {index: 1, present: yes}"), rows("m: {index: 1, present: @@no}"),
          {"present of row m is no", "yes in"});
}

TEST_CASE("the message that a row says and that of its payload must be one") {
  // J2735 message ids MAP 18, TIM 31: RSU 4.1 MIB, rsuSRMDsrcMsgId
  check_rows("map: {match: [psid, message], psid: 0x82, message: @@MAP, payload: {file: payloads/tim.hex}}",
             {"payload is a TIM (31), the row says MAP (18)", "unit LK-101 and 1 more unit"});
  check_rows("map: {index: 1, message: @@99, payload: {file: payloads/tim.hex}}",
             {"payload is a TIM (31), the row says message 99"});
  Files files = good;
  files["payloads/odd.hex"] = "0381004003";
  check_wrong(files, "fleet.yaml",
              {least_fleet + rows("map: {index: 1, message: @@MAP, payload: {file: payloads/odd.hex}}"),
               {"payload is a message 897", "(unit LK-101)"}});
}

TEST_CASE("a message that is none is told with the right one") {
  check_wrong(
      of_model("ntcip1218-v01"), "fleet.yaml",
      {least_fleet + rows("map: {index: 1, message: @@MAPP}"), {"message", "MAPP", "did you mean MAP"}});
}

TEST_CASE("a table of a fleet's own common names is left out where a model lacks it") {
  Files files = good;
  files["models/common.yaml"] = "tables:\n  lamps: {about: a, on: {}}\n";
  files["fleet.yaml"] = least_fleet + "tables: {lamps: {others: keep}}\n";
  files["units.yaml"] =
      "units:\n  LK-101: {address: 127.0.0.1, model: rsu-4.1, tables: {lamps: {others: ignore}}}\n";
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  REQUIRE(tree.unit("LK-101").desired.left_out.size() == 1);
  const LeftOut& left = tree.unit("LK-101").desired.left_out[0];
  CHECK(left.name == "lamps");
  CHECK(left.why == "rsu-4.1 has no such table");
  CHECK(left.asked.layer == "unit LK-101");
}

TEST_CASE("a list of words holds words alone") {
  check_wrong(of_model("ntcip1218-v01"), "fleet.yaml",
              {least_fleet + rows("map: {index: 1, options: [unsecured, @@{a: b}]}"), {"a word of a list"}});
}

TEST_CASE("options are labels in a list or behind each other") {
  Files files = of_model("ntcip1218-v01");
  files["fleet.yaml"] = least_fleet + rows("map: {index: 1, options: [unsecured, stopAfterLongCommLoss]}");
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  // bits 1 and 3 of NTCIP 1218's rsuMsgRepeatOptions; bit 0 is the high one (RFC 2578 7.1.4)
  CHECK(smi::to_hex(
            column(tree.row("LK-101", "store-and-repeat", "map"), "rsuMsgRepeatOptions")->value.octets) ==
        "50");
}
