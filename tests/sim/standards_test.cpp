#include <cstdlib>

#include "catch.h"
#include "sim/control.h"
#include "sim/sim_unit.h"

using namespace vergeset;

namespace {

constexpr std::int64_t start = 1764054000000;

/// The models as they ship.
struct Standards {
  Faults faults;
  schema::Schema schema = schema::load_schema(SOURCE_DIR "/schemas", "", faults);
  sim::SimUnit unit(const char* model) const {
    return sim::SimUnit(sim::Store(
        {schema.model(model), "LK-101", sim::Spot{51.1234567, -1.2345678, 41.2}, 0}, nullptr, start));
  }
};

}  // namespace

TEST_CASE("everything that a unit of either standard holds is allowed by its own model") {
  const Standards standards;
  REQUIRE_FALSE(standards.faults.any());
  for (const auto& [name, model] : standards.schema.models) {
    const auto unit = standards.unit(name.c_str());
    for (const std::int64_t now : {start, start + 86400000}) {
      for (const auto& bind : unit.store.walk(now)) {
        const schema::Object* object = model->object_at(bind.oid);
        REQUIRE(object != nullptr);
        INFO(name << " " << model->name_of(bind.oid));
        CHECK(smi::violation(object->syntax, bind.value).value_or("") == "");
      }
    }
  }
}

TEST_CASE("a simulated unit is known as what it is") {
  const Standards standards;
  for (const auto& [name, model] : standards.schema.models) {
    INFO(name);
    const auto unit = standards.unit(name.c_str());
    const auto& identity = model->identity;
    REQUIRE(identity.present != nullptr);
    const auto held = unit.store.get(identity.present->oid.child(0), start);
    CHECK_FALSE(held.absent());
    if (identity.equals) CHECK(held == *identity.equals);
  }
}

TEST_CASE("an application fills rsuIFMPayload while its row is active, enabled and on air") {
  const Standards standards;
  auto unit = standards.unit("ntcip1218-v01");
  const auto& model = unit.store.model();
  const auto column = [&](const char* name) { return model.object(name)->oid.child(1); };
  const std::vector<sim::VarBind> row{
      {column("rsuIFMPsid"), smi::Value::of_octets(std::string("\x80\x02", 2))},
      {column("rsuIFMEnable"), smi::Value::integer(1)},
      {column("rsuIFMStatus"), smi::Value::integer(4)},
  };
  REQUIRE(unit.store.check(row, start).ok());
  unit.store.commit(row, start);
  const auto payload = [&](std::int64_t now) { return unit.store.get(column("rsuIFMPayload"), now).octets; };
  CHECK(payload(start).empty());
  const sim::VarBind operate{model.mode->asked->oid.child(0), smi::Value::integer(model.mode->operate)};
  unit.store.commit({operate}, start);
  CHECK(payload(start + 100).starts_with(std::string("\x00\x13", 2)));  // SPAT 19 (SAE J2735)
  CHECK(payload(start + 100) != payload(start + 200));
  // The third octet counts those behind it, in a MessageFrame below 128 octets (SAE J2735, UPER).
  CHECK(payload(start + 100).size() == 3U + static_cast<unsigned char>(payload(start + 100)[2]));
  unit.store.commit({{column("rsuIFMEnable"), smi::Value::integer(0)}}, start + 300);
  CHECK(payload(start + 300).empty());
}

TEST_CASE("no channel works off the air: rsuChanStatus of both standards") {
  const Standards standards;
  for (const auto& [name, model] : standards.schema.models) {
    auto unit = standards.unit(name.c_str());
    INFO(name);
    if (model->object("rsuChanStatus") == nullptr) continue;
    CHECK(sim::obey(unit, "get rsuChanStatus", start) == "noneOp\n");
    REQUIRE(sim::obey(unit, "set rsuMode operate", start) == "ok\n");
    CHECK(sim::obey(unit, "get rsuChanStatus", start + 1) == "contOp\n");
  }
}

TEST_CASE(
    "how far a unit with a reference position is from it, it says in metres: NTCIP 1218 "
    "rsuLocationDeviation") {
  const Standards standards;
  auto unit = standards.unit("ntcip1218-v01");
  const smi::Oid deviates = unit.store.model().object("rsuLocationDeviation")->oid.child(0);
  CHECK(unit.store.get(deviates, start).number == 20001);
  REQUIRE(sim::obey(unit, "set rsuLocationLat 51.1234567 deg", start) == "ok\n");
  REQUIRE(sim::obey(unit, "set rsuLocationLon -1.2345678 deg", start) == "ok\n");
  const auto deviation = unit.store.get(deviates, start);
  CHECK(deviation.number <= 4);
  REQUIRE(sim::obey(unit, "set rsuLocationLat 51.1324567 deg", start) == "ok\n");
  const auto further = unit.store.get(deviates, start);
  CHECK(std::abs(further.number - 1002) <= 5);  // 0.009 of a degree of 111,320 m
}
