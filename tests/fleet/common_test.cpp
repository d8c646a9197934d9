#include <fmt/format.h>

#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const Files good = {{"fleet.yaml", least_fleet}, {"units.yaml", two_units}};

Files with_settings(const std::string& settings) {
  Files files = good;
  files["fleet.yaml"] = least_fleet + "settings:\n" + settings;
  return files;
}

void check_setting(const std::string& marked, const std::vector<std::string>& words) {
  check_wrong(good, "fleet.yaml", {least_fleet + "settings:\n  " + marked + "\n", words});
}

std::string hex(const smi::Value& value) {
  return smi::to_hex(value.octets);
}

}  // namespace

TEST_CASE("a common setting is written once and converted for each model") {
  const Tree tree(
      with_settings("  position-tolerance: 15 m\n"
                    "  notify-address: 192.0.2.10\n"
                    "  mode: operate\n"
                    "  reference-latitude: 51.1234567 deg\n"
                    "  reference-elevation: 41.2 m\n"
                    "  certificate-request-before: 7 days\n"
                    "  wra-prefix-length: 64\n"
                    "  notify-port: 162\n"));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  // NTCIP 1218 counts metres, RSU 4.1 centimetres
  CHECK(tree.value("LK-101", "rsuGnssMaxDeviation")->value == smi::Value::integer(15));
  CHECK(tree.value("LK-102", "rsuGpsMaxDeviation")->value == smi::Value::integer(1500));
  // text in NTCIP 1218, 16 octets in RSU 4.1, IPv4 mapped (RFC 4291 2.5.5.2)
  CHECK(tree.value("LK-101", "rsuNotifyIpAddress")->value == smi::Value::of_octets("192.0.2.10"));
  CHECK(hex(tree.value("LK-102", "rsuNotifyIpAddress")->value) == "00000000000000000000ffffc000020a");
  // operate 3 in NTCIP 1218, 4 in RSU 4.1: the two standards
  CHECK(tree.value("LK-101", "rsuMode")->value == smi::Value::integer(3));
  CHECK(tree.value("LK-102", "rsuMode")->value == smi::Value::integer(4));
  CHECK(tree.value("LK-101", "rsuLocationLat")->value == smi::Value::integer(511234567));
  CHECK(tree.value("LK-102", "rsuGpsRefLat")->value == smi::Value::integer(511234567));
  CHECK(tree.value("LK-101", "rsuLocationElv")->value == smi::Value::integer(4120));
  // hours in NTCIP 1218, one octet of days in RSU 4.1
  CHECK(tree.value("LK-101", "rsuSecCredReq")->value == smi::Value::integer(168));
  CHECK(hex(tree.value("LK-102", "rsuSecCredReq")->value) == "07");
  // RSU 4.1 MIB, rsuWraIpPrefixLength: /64 is 40
  CHECK(hex(tree.value("LK-102", "rsuWraIpPrefixLength")->value) == "40");
  CHECK(tree.value("LK-101", "rsuNotifyPort")->value == smi::Value::integer(162));
}

TEST_CASE("a value names what the files call it, where, and as it was written") {
  const Tree tree(with_settings("  position-tolerance: 15 m\n"));
  const DesiredValue& value = *tree.value("LK-102", "rsuGpsMaxDeviation");
  CHECK(value.name == "position-tolerance");
  CHECK(value.asked.place == Place{"fleet.yaml", 5, 23});
  CHECK(value.asked.layer == "fleet");
  CHECK(value.asked.text == "15 m");
  CHECK(value.overrode.empty());
}

TEST_CASE("times are eight octets on one model and six on the other") {
  Files files = good;
  files["fleet.yaml"] = least_fleet +
                        "tables:\n  store-and-repeat:\n    rows:\n      map:\n        match: [psid]\n"
                        "        psid: 0x82\n        start: 2017-10-07T23:34Z\n        enabled: yes\n"
                        "        interval: 1 s\n";
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const DesiredRow& ntcip = tree.row("LK-101", "store-and-repeat", "map");
  const DesiredRow& rsu41 = tree.row("LK-102", "store-and-repeat", "map");
  // RFC 2579, DateAndTime; RSU 4.1 MIB, revision 2018-12-06, rsuSRMDeliveryStart
  CHECK(hex(column(ntcip, "rsuMsgRepeatDeliveryStart")->value) == "07e10a0717220000");
  CHECK(hex(column(rsu41, "rsuSRMDeliveryStart")->value) == "07e10a071722");
  // MAP and SPaT safety 0x82 is 8002: IEEE 1609.12 allocations, from memory; P-encoding, IEEE 1609.3
  CHECK(hex(column(ntcip, "rsuMsgRepeatPsid")->value) == "8002");
  CHECK(hex(column(rsu41, "rsuSRMPsid")->value) == "8002");
  CHECK(column(ntcip, "rsuMsgRepeatEnable")->value == smi::Value::integer(1));
  CHECK(column(rsu41, "rsuSRMTxInterval")->value == smi::Value::integer(1000));
}

TEST_CASE("where a common setting has a unit, a bare number is refused") {
  check_setting("position-tolerance: @@15",
                {"position-tolerance needs a unit, as in 15 m; found 15", "(unit LK-101 and 1 more unit)"});
  check_setting("position-tolerance: @@far", {"position-tolerance", "(m)", "found far"});
  check_setting("position-tolerance: @@15 s", {"position-tolerance is given in m", "length", "1 more unit"});
  check_setting("position-tolerance: @@15 furlongs", {"position-tolerance", "furlongs"});
}

TEST_CASE("what only one model refuses is told for that model's units") {
  // 0..20000 m in NTCIP 1218, 1..2000000 cm in RSU 4.1: the two object lists
  check_setting("position-tolerance: @@0 m", {"position-tolerance: 0 m: ", "(unit LK-102)"});
  check_setting("position-tolerance: @@15.5 m", {"position-tolerance", "15.5", "(unit LK-101)"});
}

TEST_CASE("a standard's own name takes its number bare or with a unit") {
  const Tree tree(with_settings("  rsuSecCredReq: 24\n"));
  CHECK(tree.value("LK-101", "rsuSecCredReq")->value == smi::Value::integer(24));
  CHECK(hex(tree.value("LK-102", "rsuSecCredReq")->value) == "18");
  Files files = good;
  files["fleet.yaml"] = least_fleet +
                        "only:\n  rsu-4.1: {settings: {rsuTxPower: 80 %, rsuGpsMaxDeviation: 3 m}}\n"
                        "  ntcip1218-v01: {settings: {rsuSysLogSeverity: warning}}\n";
  const Tree only(files);
  INFO(only.report());
  REQUIRE_FALSE(only.faults.any());
  CHECK(only.value("LK-102", "rsuTxPower")->value == smi::Value::integer(80));
  CHECK(only.value("LK-102", "rsuGpsMaxDeviation")->value == smi::Value::integer(300));
  CHECK(only.value("LK-101", "rsuSysLogSeverity")->value == smi::Value::integer(4));
  CHECK(only.value("LK-101", "rsuTxPower") == nullptr);
}

TEST_CASE("what a model lacks is left out with the reason, or refused with it") {
  const Tree tree(with_settings("  wra-second-dns: 192.0.2.53\n"));
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.value("LK-101", "rsuWraSecondaryDns") != nullptr);
  REQUIRE(tree.unit("LK-102").desired.left_out.size() == 1);
  const LeftOut& left = tree.unit("LK-102").desired.left_out[0];
  CHECK(left.name == "wra-second-dns");
  CHECK_FALSE(left.why.empty());
  CHECK(left.asked.text == "192.0.2.53");

  check_setting("@@transmit-power-share: 80 %", {"transmit-power-share cannot be had on ntcip1218-v01", "dBm",
                                                 "percent does not convert", "(unit LK-101)"});
}

TEST_CASE("percent is refused where dBm is counted, in a row too") {
  Files files = good;
  files["units.yaml"] = "units:\n  LK-101: {address: 127.0.0.1, model: ntcip1218-v01}\n";
  check_wrong(
      files, "fleet.yaml",
      {least_fleet + "tables: {radio: {rows: {one: {index: 1, power: @@80 %}}}}\n", {"power", "dBm"}});
  files["units.yaml"] = "units:\n  LK-102: {address: 127.0.0.1, model: rsu-4.1}\n";
  check_wrong(files, "fleet.yaml",
              {least_fleet + "tables: {radio: {rows: {one: {index: 1, @@power: 20 dBm}}}}\n",
               {"power cannot be had on rsu-4.1", "percent"}});
}

TEST_CASE("a standard's own name that the unit's model lacks belongs under only") {
  check_setting("@@rsuTxPower: 80",
                {"ntcip1218-v01 has no rsuTxPower", "under only: for rsu-4.1", "(unit LK-101)"});
  check_setting("@@rsuSysLogSeverity: warning", {"rsu-4.1 has no rsuSysLogSeverity", "ntcip1218-v01"});
}

TEST_CASE("what cannot be desired is told with the reason") {
  check_setting("@@rsuFirmwareVersion: 1", {"rsuFirmwareVersion is read-only"});
  check_setting("@@rsuReboot: 1", {"rsuReboot is an action"});
  Files own = good;
  own["models/own.yaml"] = "model: own\nbased-on: rsu-4.1\nscalars: {rsuNotifyPort: {access: read-only}}\n";
  own["units.yaml"] = "units:\n  LK-101: {address: 127.0.0.1, model: own}\n";
  check_wrong(own, "fleet.yaml",
              {least_fleet + "settings: {@@rsuNotifyPort: 162}\n", {"is read-only", "(unit LK-101)"}});
  Files files = good;
  files["units.yaml"] = "units:\n  LK-101: {address: 127.0.0.1, model: ntcip1218-v01}\n";
  check_wrong(
      files, "fleet.yaml",
      {least_fleet + "settings: {@@rsuSysLogQueryPriority: error}\n", {"rsuSysLogQueryPriority", "query"}});
}

TEST_CASE("a name that nobody knows is told once, used or not") {
  check_setting("@@notify-adress: 192.0.2.10",
                {"no model has a setting notify-adress", "did you mean notify-address"});
  check_setting("@@rsuMsgRepeatPsid: 0x82", {"is a column of a table"});
  check_setting("@@store-and-repeat: x", {"is a table", "under tables:"});
  check_wrong(good, "groups/unused.yaml", {"settings: {@@notify-prt: 162}\n", {"did you mean notify-port"}});
  check_wrong(good, "groups/unused.yaml",
              {"only: {@@rsu4.1: {settings: {mode: operate}}}\n", {"did you mean rsu-4.1"}});
  check_wrong(good, "groups/unused.yaml",
              {"@@setings: {mode: operate}\n", {"setings", "did you mean settings"}});
}

TEST_CASE("a wrong label is told with the right ones") {
  check_setting("mode: @@opertae", {"mode: expected one of operate, standby, found opertae",
                                    "did you mean operate", "1 more unit"});
  check_setting("mode: @@3", {"mode: expected one of operate, standby, found 3", "1 more unit"});
  // The two object lists: 1 is other on the one and alt on the other
  check_wrong(good, "fleet.yaml",
              {least_fleet + "tables: {radio: {rows: {one: {index: 1, mode: @@1}}}}\n",
               {"mode: expected one of alternating, continuous, found 1", "on the next"}});
  check_wrong(good, "fleet.yaml",
              {least_fleet + "tables: {forwarding: {rows: {one: {index: 1, protocol: @@1}}}}\n",
               {"protocol: expected one of udp, found 1", "1 more unit"}});
  check_setting("notify-address: @@192.0.2", {"notify-address", "192.0.2"});
  check_setting("unit-id: @@{a: b}", {"a value or {file: PATH}", "unit-id", "found a map"});
  check_setting("@@unit-id:", {"a value", "unit-id", "found nothing"});
}

TEST_CASE("a fault that a thousand units share is told once, with how many they are") {
  std::string units = "units:\n";
  for (int i = 1; i <= 1000; ++i) {
    units +=
        fmt::format("  LK-{}: {{address: 127.1.{}.{}, model: rsu-4.1}}\n", 1000 + i, i / 200, i % 200 + 1);
  }
  Files files = good;
  files["units.yaml"] = units;
  check_wrong(files, "fleet.yaml",
              {least_fleet + "settings:\n  notify-port: @@70000\n  unit-id: {unit}\n",
               {"notify-port", "70000", "(unit LK-1001 and 999 more units)"}});
}
