#include "change/rehearse.h"

#include <sstream>

#include "district.h"
#include "sim/twin_text.h"

/// Twins from surveys, and whole rehearsals on them, in virtual time: what roadside-sim reads is given to the
/// store directly.
namespace {

using namespace vergeset;
using change::Outcome;
using change::Rehearsal;
using change::Unknown;
using test::District;
using test::two_units;

class Stage {
 public:
  explicit Stage(const std::string& more_fleet = "") : district(two_units(more_fleet)) {}

  change::AsFound whole(const std::string& name) {
    auto read = change::read_units(district.world, {&district.unit(name)}, true, 16);
    REQUIRE(read.front().verdict == change::Verdict::agrees);
    return std::move(read.front().found);
  }
  change::Preview preview(const std::string& name) {
    for (change::Preview& one : change::preview(district.world, district.goals(), false, 16)) {
      if (one.unit->name == name) return std::move(one);
    }
    FAIL("no unit " << name);
    return {};
  }
  /// The twin that the text describes, as roadside-sim would start it.
  sim::SimUnit started(const std::string& text) {
    std::istringstream lines(text);
    const auto twins = sim::read_twins(lines, 1);
    REQUIRE(twins);
    const schema::Model& model = *district.fleet.schema->model(twins->front().model);
    auto store = twins->front().store(model, 50, district.network.now_ms());
    REQUIRE(store);
    sim::SimUnit unit(*std::move(store));
    if (const auto pass = twins->front().refuse_after)
      unit.trouble.refusals.push_back({"", sim::Status::gen_err, 1, *pass});
    return unit;
  }
  fleet::Unit serve(const std::string& name, const std::string& host, const std::string& text) {
    fleet::Unit twin = district.unit(name);
    twin.host = host;
    district.network.units.erase(District::where(twin));
    district.network.units.emplace(District::where(twin), started(text));
    return twin;
  }
  /// `odd` is done to what was read of the unit: its twin is then another than itself.
  Rehearsal rehearse(const std::string& name, const std::function<void(change::AsFound&)>& odd = {}) {
    change::AsFound found = whole(name);
    if (odd) odd(found);
    const change::Preview looked = preview(name);
    const change::Sequence& planned = looked.result.sequence;
    const change::TwinPair twins{
        serve(name, "127.77.0.91", change::twin_text(district.unit(name), found, std::nullopt)),
        serve(name, "127.77.0.92", change::twin_text(district.unit(name), found, planned.steps.size() - 1))};
    const change::UnitGoal goal{&district.unit(name),
                                change::goal_of_files(district.fleet, district.unit(name))};
    Rehearsal rehearsal;
    district.network.run_each(
        1, [&](std::size_t) { return into(rehearsal, goal, planned, twins); }, 1);
    return rehearsal;
  }
  std::size_t sets_to(const std::string& name) const {
    const std::string where = District::where(district.unit(name));
    std::size_t count = 0;
    for (const auto& sent : district.network.sets) count += sent.where == where ? 1 : 0;
    return count;
  }

  District district;

 private:
  snmp::Task<void> into(Rehearsal& rehearsal, const change::UnitGoal& goal, const change::Sequence& planned,
                        const change::TwinPair& twins) {
    rehearsal = co_await change::rehearse(district.world, goal, planned, twins, false);
  }
};

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

const Unknown* unknown_of_kind(const std::vector<Unknown>& all, Unknown::Kind kind) {
  for (const Unknown& one : all) {
    if (one.kind == kind) return &one;
  }
  return nullptr;
}

TEST_CASE("a twin answers everything as its unit did, to the last octet, and stays so") {
  Stage stage;
  stage.district.apply();
  for (const char* name : {"LK-101", "LK-102"}) {
    INFO(name);
    const change::AsFound found = stage.whole(name);
    const fleet::Unit twin =
        stage.serve(name, "127.77.0.91", change::twin_text(stage.district.unit(name), found, std::nullopt));
    const sim::SimUnit& served = stage.district.network.units.at(District::where(twin));
    std::size_t values = 0;
    for (const auto& [instance, value] : found.instances) {
      if (value.absent()) continue;
      ++values;
      INFO(twin.model->name_of(instance));
      CHECK(served.store.get(instance, stage.district.network.now_ms() + 60000) == value);
    }
    CHECK(served.store.walk(stage.district.network.now_ms()).size() == values);
  }
}

TEST_CASE("a twin is in the mode in which its unit was, not in the one that was asked for") {
  Stage stage;
  stage.district.apply();
  // "fault" is 4 of rsuModeStatus (NTCIP 1218 v01).
  stage.district.put("LK-101", "rsuModeStatus", 0, "fault");
  const sim::SimUnit twin =
      stage.started(change::twin_text(stage.district.unit("LK-101"), stage.whole("LK-101"), std::nullopt));
  CHECK(twin.store.mode(stage.district.network.now_ms()) == 4);
}

TEST_CASE("a twin does not offer what its unit did not answer, and rows made on it do not have it either") {
  Stage stage;
  stage.district.apply();
  change::AsFound found = stage.whole("LK-101");
  const schema::Model& model = *stage.district.unit("LK-101").model;
  found.instances[model.object("rsuNotifyIpAddress")->oid.child(0)] =
      smi::Value::of_number(smi::Type::no_such_object, 0);
  found.instances.erase(model.object("rsuMsgRepeatOptions")->oid.child(1));
  const sim::SimUnit twin =
      stage.started(change::twin_text(stage.district.unit("LK-101"), found, std::nullopt));
  const std::int64_t now = stage.district.network.now_ms();
  CHECK(twin.store.get(model.object("rsuNotifyIpAddress")->oid.child(0), now).type ==
        smi::Type::no_such_object);
  // RFC 3416 4.2.5 (2): notWritable, 17.
  CHECK(twin.store
            .check({{model.object("rsuNotifyIpAddress")->oid.child(0), smi::Value::of_octets("192.0.2.1")}},
                   now)
            .status == sim::Status::not_writable);
  CHECK(twin.store.get(model.object("rsuMsgRepeatOptions")->oid.child(1), now).absent());
  const auto unknown = change::unknown_of(stage.district.unit("LK-101"), found, {}, {});
  const Unknown* silent = unknown_of_kind(unknown, Unknown::Kind::not_answered);
  REQUIRE(silent != nullptr);
  CHECK(silent->names == std::vector<std::string>{"rsuMsgRepeatOptions", "rsuNotifyIpAddress"});
}

TEST_CASE(
    "a rehearsal carries the change out on twins of both standards, rolls back, restores, and leaves the "
    "units") {
  Stage stage;
  for (const char* name : {"LK-101", "LK-102"}) {
    const Rehearsal rehearsal = stage.rehearse(name);
    INFO(name << ": " << rehearsal.what);
    CHECK(rehearsal.passed());
    CHECK(rehearsal.steps >= 3);
    CHECK(rehearsal.verified);
    CHECK(rehearsal.rolled_back);
    CHECK(rehearsal.restored);
    CHECK(stage.sets_to(name) == 0);
  }
  CHECK_FALSE(stage.district.disk.read("changes/0001/journal.jsonl"));
}

TEST_CASE("a unit on air is rehearsed with its way to standby and back") {
  Stage stage;
  stage.district.apply();
  stage.district.put("LK-102", "rsuSRMTxInterval", 1, "500");
  const Rehearsal rehearsal = stage.rehearse("LK-102");
  INFO(rehearsal.what);
  CHECK(rehearsal.passed());
  CHECK(rehearsal.steps == 3);  // to standby, the row, to operate
}

TEST_CASE(
    "a rehearsal fails where a table of the twin is full, and what was not reached is told as not reached") {
  Stage stage;
  const schema::Model& model = *stage.district.unit("LK-101").model;
  const smi::Oid most = model.table("rsuMsgRepeatStatusTable")->most->oid.child(0);
  const Rehearsal rehearsal = stage.rehearse(
      "LK-101", [&](change::AsFound& found) { found.instances[most] = smi::Value::integer(0); });
  INFO(rehearsal.what);
  CHECK_FALSE(rehearsal.passed());
  CHECK_FALSE(rehearsal.verified);
  CHECK_FALSE(rehearsal.rolled_back);
  CHECK_FALSE(rehearsal.restored);
  CHECK(has(rehearsal.what, "store-and-repeat"));
  CHECK(stage.sets_to("LK-101") == 0);
}

TEST_CASE("a rehearsal fails where the steps on the twin are not those that were planned for the unit") {
  Stage stage;
  const schema::Model& model = *stage.district.unit("LK-101").model;
  const Rehearsal rehearsal = stage.rehearse("LK-101", [&](change::AsFound& found) {
    found.instances[model.object("rsuNotifyIpAddress")->oid.child(0)] = smi::Value::of_octets("192.0.2.10");
  });
  INFO(rehearsal.what);
  CHECK(has(rehearsal.what, "not those of the unit"));
  CHECK_FALSE(rehearsal.verified);
}

TEST_CASE("a rehearsal fails where what was found could not be put back") {
  Stage stage;
  const schema::Model& model = *stage.district.unit("LK-101").model;
  // Above what the model allows of rsuGnssMaxDeviation: a twin refuses it as wrongValue.
  const Rehearsal rehearsal = stage.rehearse("LK-101", [&](change::AsFound& found) {
    found.instances[model.object("rsuGnssMaxDeviation")->oid.child(0)] = smi::Value::integer(70000);
  });
  INFO(rehearsal.what);
  CHECK(rehearsal.verified);
  CHECK_FALSE(rehearsal.rolled_back);
  CHECK(has(rehearsal.what, "rolling back"));
  CHECK(has(rehearsal.what, "wrongValue"));
}

TEST_CASE("a rehearsal fails where reviewed steps leave out the standby that the unit needs") {
  Stage stage;
  stage.district.apply();
  stage.district.put("LK-102", "rsuSRMTxInterval", 1, "500");
  const change::AsFound found = stage.whole("LK-102");
  change::Preview looked = stage.preview("LK-102");
  // Steps that leave standby out, as somebody might have reviewed them.
  change::Sequence& planned = looked.result.sequence;
  std::erase_if(planned.steps, [](const change::Step& step) { return step.kind != change::Step::Kind::set; });
  change::UnitGoal goal{&stage.district.unit("LK-102"),
                        change::goal_of_files(stage.district.fleet, stage.district.unit("LK-102"))};
  goal.goal.reviewed = planned;
  const change::TwinPair twins{
      stage.serve("LK-102", "127.77.0.91", change::twin_text(*goal.unit, found, std::nullopt)),
      stage.serve("LK-102", "127.77.0.92", change::twin_text(*goal.unit, found, 0))};
  Rehearsal rehearsal;
  const auto run = [&](std::size_t) -> snmp::Task<void> {
    return [](District& district, Rehearsal& out, change::UnitGoal& wanted, const change::Sequence& steps,
              const change::TwinPair& pair) -> snmp::Task<void> {
      out = co_await change::rehearse(district.world, wanted, steps, pair, false);
    }(stage.district, rehearsal, goal, planned, twins);
  };
  stage.district.network.run_each(1, run, 1);
  INFO(rehearsal.what);
  CHECK(has(rehearsal.what, "step 1 of 1"));
  CHECK(has(rehearsal.what, "inconsistentValue"));
  CHECK_FALSE(rehearsal.verified);
  CHECK_FALSE(rehearsal.rolled_back);
  CHECK_FALSE(rehearsal.restored);
}

TEST_CASE(
    "a value that the model does not allow is shown by the twin, and told as what it would not take back") {
  Stage stage;
  stage.district.apply();
  change::AsFound found = stage.whole("LK-101");
  const schema::Model& model = *stage.district.unit("LK-101").model;
  const smi::Oid port = model.object("rsuNotifyPort")->oid.child(0);
  found.instances[port] = smi::Value::of_number(found.at(port).type, 70000);  // 0..65535
  const sim::SimUnit twin =
      stage.started(change::twin_text(stage.district.unit("LK-101"), found, std::nullopt));
  CHECK(twin.store.get(port, stage.district.network.now_ms()).number == 70000);
  const auto unknown = change::unknown_of(stage.district.unit("LK-101"), found, {}, {});
  const Unknown* odd = unknown_of_kind(unknown, Unknown::Kind::not_allowed);
  REQUIRE(odd != nullptr);
  CHECK(odd->names == std::vector<std::string>{"rsuNotifyPort.0"});
}

TEST_CASE("a new row in an empty table is told: neither its columns nor its room are known") {
  Stage stage;
  const change::Preview looked = stage.preview("LK-102");
  const auto unknown = change::unknown_of(stage.district.unit("LK-102"), stage.whole("LK-102"),
                                          looked.result.differences, looked.result.sequence);
  const Unknown* untried = unknown_of_kind(unknown, Unknown::Kind::rows_untried);
  REQUIRE(untried != nullptr);
  CHECK(untried->names == std::vector<std::string>{"store-and-repeat"});
}

TEST_CASE("what was rehearsed is carried out, or nothing: a unit that changed in the meantime is refused") {
  Stage stage;
  auto goals = stage.district.goals();
  const auto previews = change::preview(stage.district.world, goals, false, 16);
  for (std::size_t i = 0; i < goals.size(); ++i)
    goals[i].goal = change::as_rehearsed(goals[i].goal, previews[i].result.differences);
  stage.district.put("LK-101", "rsuNotifyIpAddress", 0, "198.51.100.7");
  change::ApplyOptions options;
  options.kind = "apply";
  options.failures_allowed = 1;
  const change::ChangeResult result = change::apply(stage.district.world, goals, previews, options);
  CHECK(result.units[0].outcome == Outcome::refused);
  CHECK(has(result.units[0].what, "no longer as it was rehearsed"));
  CHECK(stage.sets_to("LK-101") == 0);
  CHECK(result.units[1].outcome == Outcome::settled);
}

}  // namespace
