#include "report/where_text.h"

#include <algorithm>

#include "catch.h"
#include "report/json.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

namespace {

fleet::DesiredValue desired(const std::string& object, const std::string& name, smi::Value value, int line) {
  fleet::DesiredValue out;
  out.name = name;
  out.object = model_here().object(object);
  out.value = std::move(value);
  out.asked = {{"groups/signals.yaml", line, 5}, "group signals", "as written"};
  return out;
}

fleet::Unit asking_unit() {
  fleet::Unit unit = unit_here();
  fleet::DesiredValue address =
      desired("rsuNotifyIpAddress", "notify-address", smi::Value::of_octets("192.0.2.10"), 12);
  address.overrode.push_back({{"fleet.yaml", 30, 3}, "fleet", "192.0.2.9"});
  unit.desired.values = {address,
                         desired("rsuGnssMaxDeviation", "position-tolerance", smi::Value::integer(15), 14)};
  fleet::DesiredRow row;
  row.label = "map";
  row.columns = {desired("rsuMsgRepeatPsid", "psid", smi::Value::of_octets("\x80\x02"), 21)};
  row.match = {0};
  row.asked = {{"groups/signals.yaml", 20, 5}, "group signals", ""};
  unit.desired.tables = {
      {"store-and-repeat", model_here().table("rsuMsgRepeatStatusTable"), fleet::Others::remove, {row}}};
  unit.desired.left_out = {
      {"antenna-offset", "means nothing on NTCIP 1218 v01", {{"fleet.yaml", 40, 3}, "fleet", "1 m"}}};
  return unit;
}

}  // namespace

TEST_CASE("each desired value stands with its file, line and layer, and what it overrode") {
  const fleet::Unit unit = asking_unit();
  const std::string text = where_text(terminal(100), unit, where(unit, ""));
  CHECK_THAT(text,
             Catch::Contains("notify-address       192.0.2.10   groups/signals.yaml:12:5   group signals"));
  CHECK_THAT(text, Catch::Contains("  overrode           192.0.2.9    fleet.yaml:30:3            fleet"));
  CHECK_THAT(text, Catch::Contains("15 m"));
  CHECK_THAT(text, Catch::Contains("rows that nobody asked for: remove"));
  CHECK_THAT(text, Catch::Contains("picked by psid"));
  CHECK_THAT(text, Catch::Contains("antenna-offset   means nothing on NTCIP 1218 v01"));
}

TEST_CASE("one value is found by its common name, the standard's, or its row's") {
  const fleet::Unit unit = asking_unit();
  CHECK(where(unit, "notify-address").values.size() == 1);
  CHECK(where(unit, "rsuNotifyIpAddress").values.size() == 1);
  CHECK(where(unit, "store-and-repeat").tables.size() == 1);
  CHECK(where(unit, "rsuMsgRepeatStatusTable").tables.size() == 1);
  CHECK(where(unit, "map").tables.size() == 1);
  CHECK(where(unit, "antenna-offset").left_out.size() == 1);
  CHECK(where(unit, "rsuMode").empty());
}

TEST_CASE("a row is found by TABLE/ROW and a column by TABLE/ROW/COLUMN, each without the other rows") {
  fleet::Unit unit = asking_unit();
  fleet::DesiredTable table = unit.desired.tables[0];
  fleet::DesiredRow notice = table.rows[0];
  notice.label = "notice";
  table.rows.push_back(notice);
  unit.desired.tables = {table};
  fleet::LeftOut left = unit.desired.left_out[0];
  left.name = "store-and-repeat/map/options";
  unit.desired.left_out = {left};
  for (const char* name :
       {"store-and-repeat/map", "rsuMsgRepeatStatusTable/map", "store-and-repeat/map/psid"}) {
    const Where found = where(unit, name);
    REQUIRE(found.tables.size() == 1);
    CHECK_THAT(where_text(terminal(100), unit, found), !Catch::Contains("notice"));
    CHECK(where_json(unit, found)["tables"][0]["rows"].size() == 1);
  }
  CHECK(where(unit, "store-and-repeat/map").left_out.size() == 1);
  CHECK(where(unit, "store-and-repeat/map/options").left_out.size() == 1);
  CHECK(where(unit, "store-and-repeat/mop").empty());
  CHECK(where(unit, "store-and-repeat/map/channel").empty());
}

TEST_CASE("what can be asked about holds common names, objects and tables") {
  const std::vector<std::string> names = askable(asking_unit(), schema_here());
  for (const char* name : {"notify-address", "rsuMode", "store-and-repeat", "rsuMsgRepeatStatusTable", "psid",
                           "store-and-repeat/map", "store-and-repeat/map/psid"}) {
    CHECK(std::find(names.begin(), names.end(), name) != names.end());
  }
}

TEST_CASE("where's document has its documented names") {
  const fleet::Unit unit = asking_unit();
  const Json json = Json::parse(dump(where_json(unit, where(unit, ""))));
  CHECK(json["settings"][0]["setting"] == "notify-address");
  CHECK(json["settings"][0]["asked"]["line"] == 12);
  CHECK(json["settings"][0]["overrode"][0]["text"] == "192.0.2.9");
  CHECK(json["tables"][0]["others"] == "remove");
  CHECK(json["tables"][0]["rows"][0]["match"][0] == "psid");
  CHECK(json["tables"][0]["rows"][0]["index"].is_null());
  CHECK(json["left_out"][0]["setting"] == "antenna-offset");
}

TEST_CASE("where fits the terminal") {
  const fleet::Unit unit = asking_unit();
  CHECK(widest(where_text(terminal(80), unit, where(unit, ""))) <= 80);
}
