#include <limits>

#include "catch.h"
#include "change/identify.h"
#include "change/work_order.h"
#include "records/change_record.h"

namespace {

using namespace vergeset;

std::string sealed(const std::string& body) {
  return body + "# digest: " + records::sha256(body) + "\n";
}

TEST_CASE("a work order that names a unit twice is none: both would be carried out side by side") {
  const std::string unit =
      "{model: small, engine-id: \"80\", leaves-operate: no, ends-off-air: no, steps: [], "
      "as-found: {on-air: no, values: [], rows: []}, desired: {on-air: no, values: [], rows: []}}\n";
  const std::string once = "work-order: 1\nfleet: Larkmoor district\nunits:\n  LK-101: " + unit;
  CHECK(change::order_from_yaml(sealed(once)));
  const auto twice = change::order_from_yaml(sealed(once + "  LK-101: " + unit));
  REQUIRE_FALSE(twice);
  CHECK(twice.problem().find("LK-101 stands there a second time") != std::string::npos);
}

TEST_CASE("a latitude that is no plausible number does not tell where a unit is") {
  schema::Model model;
  for (std::uint32_t arc = 1; arc <= 3; ++arc) model.objects[std::to_string(arc)].oid = smi::Oid{1, 3, arc};
  model.identity.latitude = &model.objects["1"];
  model.identity.longitude = &model.objects["2"];
  fleet::Fleet fleet;
  fleet.position_within_m = 500;
  fleet::Unit unit;
  unit.model = &model;
  unit.site.latitude = 54.9;
  unit.site.longitude = -20.0;
  change::AsFound found;
  const auto tells = [&](smi::Value latitude) {
    found.instances[smi::Oid{1, 3, 1, 0}] = std::move(latitude);
    found.instances[smi::Oid{1, 3, 2, 0}] = smi::Value::integer(-200000000);
    return change::wrong_unit(fleet, unit, found).has_value();
  };
  CHECK(tells(smi::Value::integer(0)));
  CHECK_FALSE(tells(smi::Value::integer(549000000)));
  CHECK_FALSE(tells(smi::Value::of_octets("54.9")));
  // The bit pattern of the least int64, which has no absolute value.
  CHECK_FALSE(tells(smi::Value::of_number(smi::Type::counter64, std::numeric_limits<std::int64_t>::min())));
}

}  // namespace
