#include "change/put_back.h"
#include "district.h"
#include "smi/row_status.h"

namespace {

using namespace vergeset;
using change::Outcome;
using test::District;
using test::two_units;

constexpr const char* name = "LK-101";

smi::Oid column(District& district, const char* object) {
  return district.unit(name).model->object(object)->oid.child(1);
}

void set(District& district, const std::vector<sim::VarBind>& binds) {
  sim::SimUnit& unit = district.sim(name);
  REQUIRE(unit.check(binds, district.network.now_ms()).ok());
  unit.commit(district.network.now_ms());
}

/// Row 1 of the message table begun by createAndWait, with the columns that tell which row it is.
void begin_row(District& district) {
  set(district,
      {{column(district, "rsuMsgRepeatStatus"), smi::Value::integer(smi::row_status::create_and_wait)}});
  set(district, {{column(district, "rsuMsgRepeatPsid"), smi::Value::of_octets(std::string("\x80\x02", 2))}});
}

TEST_CASE("a row that someone began and never finished is made anew: RFC 2579 RowStatus, notReady") {
  District district(two_units());
  begin_row(district);
  REQUIRE(district.read(name, "rsuMsgRepeatStatus", 1).number == smi::row_status::not_ready);
  district.apply();
  CHECK(district.audit()[0].verdict == change::Verdict::agrees);
  for (const change::UnitResult& unit : district.apply().units) CHECK(unit.outcome == Outcome::nothing_to_do);
}

TEST_CASE("a row that was found out of service is put back out of service") {
  District district(two_units());
  REQUIRE(district.apply().units[0].outcome == Outcome::settled);
  set(district,
      {{column(district, "rsuMsgRepeatStatus"), smi::Value::integer(smi::row_status::not_in_service)}});
  district.put(name, "rsuMsgRepeatTxInterval", 1, "500");
  const auto as_found = district.settings(name);
  district.sim(name).trouble.ignored.push_back({"rsuMsgRepeatTxInterval.1", 1});
  const change::ChangeResult result = district.apply();
  INFO(result.units[0].what);
  CHECK(result.units[0].outcome == Outcome::restored);
  CHECK(district.settings(name) == as_found);
  CHECK(district.read(name, "rsuMsgRepeatStatus", 1).number == smi::row_status::not_in_service);
}

}  // namespace
