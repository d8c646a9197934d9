#include "change/serial_no.h"

#include "district.h"
#include "records/unfinished.h"

// snmpSetSerialNo: RFC 3418; TestAndIncr: RFC 2579.

namespace {

using namespace vergeset;
using change::Outcome;
using change::SerialNo;
using test::District;
using test::two_units;

bool numbered(const std::vector<snmp::VarBind>& set) {
  return std::any_of(set.begin(), set.end(),
                     [](const snmp::VarBind& one) { return one.oid == SerialNo::instance(); });
}

TEST_CASE("after 2147483647 the serial number is 0: RFC 2579 TestAndIncr") {
  CHECK(SerialNo::next(2147483646) == 2147483647);
  CHECK(SerialNo::next(2147483647) == 0);
  SerialNo serial;
  serial.found(smi::Value::integer(2147483647));
  serial.counted();
  CHECK(serial.binding().value.number == 0);
}

TEST_CASE("a unit that does not offer the serial number is set without") {
  SerialNo serial;
  serial.found(smi::Value::of_number(smi::Type::no_such_object, 0));
  CHECK_FALSE(serial.offered());
}

TEST_CASE("every SET of a change names the number that the unit has, each the next") {
  District district(two_units());
  std::int64_t wanted = district.read("LK-101", "snmpSetSerialNo").number;
  district.apply();
  std::size_t sets = 0;
  for (const auto& sent : district.network.sets) {
    if (sent.where != District::where(district.unit("LK-101"))) continue;
    ++sets;
    REQUIRE(sent.varbinds.back().oid == SerialNo::instance());
    CHECK(sent.varbinds.back().value.number == wanted++);
  }
  CHECK(sets > 1);
  CHECK(district.read("LK-101", "snmpSetSerialNo").number == wanted);
}

TEST_CASE(
    "a unit that refuses the serial number once is asked again, and from the second time on set without") {
  for (const int refusals : {1, 2}) {
    District district(two_units());
    district.sim("LK-101").trouble.refusals.push_back({"snmpSetSerialNo", sim::Status::no_access, refusals});
    const change::ChangeResult result = district.apply();
    INFO(result.units[0].what);
    CHECK(result.units[0].outcome == Outcome::settled);
    std::size_t with = 0;
    std::size_t without = 0;
    for (const auto& sent : district.network.sets) {
      if (sent.where != District::where(district.unit("LK-101"))) continue;
      ++(numbered(sent.varbinds) ? with : without);
    }
    CHECK(with >= static_cast<std::size_t>(refusals));
    CHECK((without > 0) == (refusals == 2));
    // The journal tells recovery which SETs nothing but time keeps out.
    const std::string journal = district.disk.read("changes/0001/journal.jsonl").value_or("");
    CHECK((journal.find("\"unit\":\"LK-101\",\"number\":1") != std::string::npos));
    CHECK((journal.find("\"numbered\":false") != std::string::npos) == (refusals == 2));
  }
}

}  // namespace
