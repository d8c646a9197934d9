#include "change/compare.h"

#include "district.h"

namespace {

using namespace vergeset;
using change::Comparison;
using change::Difference;
using test::District;
using test::two_units;

Comparison compared(District& district, const std::string& name) {
  for (const change::Audited& one : district.audit()) {
    if (one.unit->name == name) return one.comparison;
  }
  FAIL("no unit " << name);
  return {};
}

TEST_CASE("a factory unit differs in what the files ask for and in nothing else") {
  District district(two_units());
  for (const char* name : {"LK-101", "LK-102"}) {
    const Comparison comparison = compared(district, name);
    std::vector<std::string> titles;
    for (const Difference& difference : comparison.differences) titles.push_back(difference.title());
    CHECK_THAT(titles, Catch::Matchers::UnorderedEquals(
                           std::vector<std::string>{"unit-id", "notify-address", "position-tolerance", "mode",
                                                    "store-and-repeat map (row 1)"}));
    CHECK(comparison.obstacles.empty());
  }
}

TEST_CASE("a desired row that is found under another index is that row") {
  District district(two_units());
  district.apply();
  // By hand the row is taken away and put back as row 7.
  const auto move_row = [&](const char* unit, const char* status,
                            const std::map<std::string, std::string>& columns) {
    district.put(unit, status, 1, "destroy");
    district.put(unit, status, 7, "createAndWait");
    for (const auto& [column, text] : columns) district.put(unit, column, 7, text);
    district.put(unit, status, 7, "active");
  };
  move_row("LK-101", "rsuMsgRepeatStatus",
           {{"rsuMsgRepeatPsid", "0x82"},
            {"rsuMsgRepeatTxChannel", "183"},
            {"rsuMsgRepeatTxInterval", "1000"},
            {"rsuMsgRepeatDeliveryStart", "2026-01-01T00:00Z"},
            {"rsuMsgRepeatDeliveryStop", "2036-01-01T00:00Z"},
            {"rsuMsgRepeatPayload", "0012020000"},
            {"rsuMsgRepeatEnable", "on"}});
  move_row("LK-102", "rsuSRMStatus",
           {{"rsuSRMPsid", "0x82"},
            {"rsuSRMDsrcMsgId", "18"},
            {"rsuSRMTxMode", "cont"},
            {"rsuSRMTxChannel", "183"},
            {"rsuSRMTxInterval", "1000"},
            {"rsuSRMDeliveryStart", "2026-01-01T00:00Z"},
            {"rsuSRMDeliveryStop", "2036-01-01T00:00Z"},
            {"rsuSRMPayload", "0012020000"},
            {"rsuSRMEnable", "on"}});
  CHECK(compared(district, "LK-101").agrees());
  CHECK(compared(district, "LK-102").agrees());
}

TEST_CASE("a stamp of 11 octets at another offset is no drift against 8 octets in UTC") {
  // RFC 2579 DateAndTime: both forms name instants.
  District district(two_units());
  district.apply();
  district.put("LK-101", "rsuMsgRepeatDeliveryStart", 1, "2026-01-01T01:00+01:00");
  CHECK(compared(district, "LK-101").agrees());
  district.put("LK-101", "rsuMsgRepeatDeliveryStart", 1, "2026-01-01T01:00Z");
  CHECK_FALSE(compared(district, "LK-101").agrees());
}

TEST_CASE("text with a trailing NUL is no drift") {
  District district(two_units());
  district.apply();
  const schema::Object& id = *district.unit("LK-102").model->object("rsuID");
  const auto text = smi::Value::of_octets(std::string("LK-102\0", 7));
  REQUIRE(district.sim("LK-102").store.put_by_hand(id, 0, text, district.network.now_ms()));
  CHECK(compared(district, "LK-102").agrees());
}

void add_row(District& district, std::uint32_t index) {
  district.put("LK-101", "rsuMsgRepeatStatus", index, "createAndWait");
  for (const auto& [column, text] : std::map<std::string, std::string>{{"rsuMsgRepeatPsid", "0x8003"},
                                                                       {"rsuMsgRepeatTxChannel", "183"},
                                                                       {"rsuMsgRepeatTxInterval", "500"},
                                                                       {"rsuMsgRepeatPayload", "001f00"},
                                                                       {"rsuMsgRepeatEnable", "on"}}) {
    district.put("LK-101", column, index, text);
  }
  district.put("LK-101", "rsuMsgRepeatStatus", index, "active");
}

std::map<std::string, std::string> two_units_with_others(const std::string& others) {
  auto files = two_units();
  std::string& fleet = files["fleet.yaml"];
  fleet.insert(fleet.find("    rows:"), "    others: " + others + "\n");
  return files;
}

TEST_CASE("a row that nobody asked for is kept and told, removed, or ignored, as its table says") {
  SECTION("keep is the default") {
    District district(two_units());
    district.apply();
    add_row(district, 5);
    const Comparison comparison = compared(district, "LK-101");
    CHECK(comparison.agrees());
    REQUIRE(comparison.remarks.size() == 1);
    CHECK(comparison.remarks.front().kind == change::Remark::Kind::other_row);
    CHECK(comparison.remarks.front().name == "store-and-repeat row 5");
  }
  SECTION("remove") {
    District district(two_units_with_others("remove"));
    district.apply();
    add_row(district, 5);
    const Comparison comparison = compared(district, "LK-101");
    REQUIRE(comparison.differences.size() == 1);
    CHECK(comparison.differences.front().kind == Difference::Kind::remove_row);
    CHECK(comparison.differences.front().row.index == 5);
    district.apply();
    CHECK(compared(district, "LK-101").agrees());
    CHECK(district.read("LK-101", "rsuMsgRepeatStatus", 5).absent());
    CHECK_FALSE(district.read("LK-101", "rsuMsgRepeatStatus", 1).absent());
  }
  SECTION("ignore") {
    District district(two_units_with_others("ignore"));
    district.apply();
    add_row(district, 5);
    const Comparison comparison = compared(district, "LK-101");
    CHECK(comparison.agrees());
    CHECK(comparison.remarks.empty());
  }
}

TEST_CASE("a new row takes the first index that is free") {
  District district(two_units());
  add_row(district, 1);
  add_row(district, 3);
  const Comparison comparison = compared(district, "LK-101");
  for (const Difference& difference : comparison.differences) {
    if (difference.is_row()) CHECK(difference.title() == "store-and-repeat map (row 2)");
  }
}

TEST_CASE("more rows than the unit takes is an obstacle, told before any SET") {
  District district(two_units());
  const std::int64_t most = district.read("LK-101", "maxRsuMsgRepeat").number;
  REQUIRE(most >= 1);
  for (std::int64_t i = 1; i <= most; ++i) add_row(district, static_cast<std::uint32_t>(i));
  const Comparison comparison = compared(district, "LK-101");
  CHECK_FALSE(comparison.obstacles.empty());
  const auto result = district.apply();
  CHECK(result.units[0].outcome == change::Outcome::refused);
  for (const auto& sent : district.network.sets)
    CHECK(sent.where != District::where(district.unit("LK-101")));
}

TEST_CASE("an object that a unit does not offer is told as that and is no difference") {
  District district(two_units());
  change::AsFound found;
  const fleet::Unit& unit = district.unit("LK-101");
  for (const fleet::DesiredValue& value : unit.desired.values) {
    found.instances[value.object->oid.child(0)] = value.value;
  }
  const smi::Oid missing = unit.model->object("rsuNotifyIpAddress")->oid.child(0);
  found.instances[missing] = smi::Value::of_number(smi::Type::no_such_object, 0);
  found.instances[unit.model->object("maxRsuMsgRepeat")->oid.child(0)] =
      smi::Value::of_number(smi::Type::no_such_object, 0);
  const Comparison comparison = change::compare(unit, found);
  CHECK(comparison.agrees());
  REQUIRE(comparison.remarks.size() == 2);
  CHECK(comparison.remarks[0].text == "the unit does not offer rsuNotifyIpAddress");
  CHECK(comparison.remarks[1].text == "the unit does not offer rsuMsgRepeatStatusTable");
}

}  // namespace
