#include "catch.h"
#include "small_model.h"

using namespace vergeset;
using namespace small;
using sim::Status;
using sim::Verdict;

TEST_CASE("rsuMode is what was asked for, rsuModeStatus follows after the transition: NTCIP 1218 rsuMode") {
  Bench bench;
  REQUIRE(bench.set({put(scalar(5), 3)}).ok());
  CHECK(bench.number(scalar(5)) == 3);
  CHECK(bench.number(scalar(6)) == 2);
  bench.now += 1499;
  CHECK(bench.number(scalar(6)) == 2);
  bench.now += 1;
  CHECK(bench.number(scalar(6)) == 3);
}

TEST_CASE("where one object is both, it reads the old mode until the transition ended: RSU 4.1 rsuMode") {
  auto model = small::model();
  schema::Object& only = model->objects["rsuMode"];
  only.syntax = *smi::Syntax::parse("INTEGER { standby(2), operate(4), off(16) }");
  model->mode->status = model->mode->asked;
  model->mode->operate = model->mode->status_operate = 4;
  model->mode->status_fault.reset();
  sim::Store store({model.get(), "LK-201", {}, 1000}, nullptr, start);
  const std::vector<sim::VarBind> operate{put(scalar(5), 4)};
  REQUIRE(store.check(operate, start).ok());
  store.commit(operate, start);
  CHECK(store.get(scalar(5), start + 999).number == 2);
  CHECK(store.get(scalar(5), start + 1000).number == 4);
  const std::vector<sim::VarBind> off{put(scalar(5), 16)};
  store.commit(off, start + 2000);
  CHECK(store.get(scalar(5), start + 3000).number == 16);
}

TEST_CASE("an object that needs standby refuses until the unit is in standby: inconsistentValue") {
  Bench bench;
  CHECK(bench.set({put(channel(1), 178)}).ok());
  REQUIRE(bench.set({put(scalar(5), 3)}).ok());
  CHECK(bench.set({put(channel(1), 180)}).ok());  // not yet in operate
  bench.now += 1500;
  CHECK(bench.set({put(scalar(1), "LK-101"), put(channel(1), 183)}) ==
        Verdict{Status::inconsistent_value, 2});
  // Asking for standby in the same request is not being in it.
  CHECK(bench.set({put(scalar(5), 2), put(channel(1), 183)}) == Verdict{Status::inconsistent_value, 2});
  REQUIRE(bench.set({put(scalar(5), 2)}).ok());
  CHECK(bench.set({put(channel(1), 183)}) == Verdict{Status::inconsistent_value, 1});
  bench.now += 1500;
  CHECK(bench.set({put(channel(1), 183)}).ok());
}

TEST_CASE("a table that needs standby makes and removes rows there only") {
  auto model = small::model();
  model->tables["rsuMsgRepeatStatusTable"].needs_standby = true;
  Bench bench;
  bench.model = std::move(model);
  bench.store = sim::Store({bench.model.get(), "LK-101", {}, 0}, nullptr, start);
  REQUIRE(bench.set(bench.whole_row(1)).ok());
  REQUIRE(bench.set({put(scalar(5), 3)}).ok());
  CHECK(bench.set(bench.whole_row(2)) == Verdict{Status::inconsistent_value, 3});
  CHECK(bench.set({put(message(status, 1), 6)}) == Verdict{Status::inconsistent_value, 1});
  CHECK(bench.set({put(scalar(8), 1)}) == Verdict{Status::inconsistent_value, 1});
  CHECK(bench.set({put(message(interval, 1), 100)}).ok());
}

TEST_CASE("the fleet's traits are the simulated unit's quirks") {
  const auto model = small::model();
  fleet::Desired quirks;
  quirks.traits["rsuID"].needs_standby = true;
  quirks.traits["rsuMsgRepeatStatusTable"].needs_standby = true;
  sim::Store store({model.get(), "LK-101", {}, 0}, &quirks, start);
  store.commit({put(scalar(5), 3)}, start);
  CHECK(store.check({put(scalar(1), "x")}, start) == Verdict{Status::inconsistent_value, 1});
  CHECK(store.check(Bench().whole_row(1), start) == Verdict{Status::inconsistent_value, 3});
}

TEST_CASE("a stuck unit stays in standby or ends in fault, as often as it was told") {
  Bench bench;
  bench.store.stick(sim::Store::Stuck::fault, 1);
  REQUIRE(bench.set({put(scalar(5), 3)}).ok());
  bench.now += 5000;
  CHECK(bench.number(scalar(6)) == 4);
  REQUIRE(bench.set({put(scalar(5), 3)}).ok());
  bench.now += 5000;
  CHECK(bench.number(scalar(6)) == 3);
  REQUIRE(bench.set({put(scalar(5), 2)}).ok());
  bench.now += 5000;
  bench.store.stick(sim::Store::Stuck::standby, 1);
  REQUIRE(bench.set({put(scalar(5), 3)}).ok());
  bench.now += 5000;
  CHECK(bench.number(scalar(5)) == 3);
  CHECK(bench.number(scalar(6)) == 2);
}

TEST_CASE("after a reboot the unit is in the mode last asked for, and its times begin again") {
  Bench bench;
  REQUIRE(bench.set({put(scalar(5), 3)}).ok());
  bench.store.reboot(bench.now + 10);
  bench.now += 10;
  CHECK(bench.number(scalar(6)) == 3);
}
