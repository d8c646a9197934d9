#include "change/settle.h"

#include "change/keep.h"
#include "change/serial_no.h"
#include "district.h"
#include "records/change_record.h"

namespace {

using namespace vergeset;
using change::Outcome;
using test::District;
using test::operating;
using test::two_units;

std::size_t sets_to(const District& district, const std::string& name) {
  const std::string where = District::where(district.unit(name));
  return static_cast<std::size_t>(std::count_if(district.network.sets.begin(), district.network.sets.end(),
                                                [&](const auto& sent) { return sent.where == where; }));
}

TEST_CASE("a change brings factory units of both standards to what the files ask, on each standard's wire") {
  District district(two_units());
  const change::ChangeResult result = district.apply();
  REQUIRE(result.units.size() == 2);
  for (const change::UnitResult& unit : result.units) {
    INFO(unit.unit << ": " << unit.what);
    CHECK(unit.outcome == Outcome::settled);
  }
  // One counts position deviation in metres, the other in centimetres; operate is 3 in one and 4 in the
  // other; one takes addresses as text, the other as 16 octets; one stamps time in 8 octets, the other in
  // 6 (the two standards' object lists).
  CHECK(district.read("LK-101", "rsuGnssMaxDeviation").number == 15);
  CHECK(district.read("LK-102", "rsuGpsMaxDeviation").number == 1500);
  CHECK(district.read("LK-101", "rsuMode").number == 3);
  CHECK(district.read("LK-101", "rsuModeStatus").number == 3);
  CHECK(district.read("LK-102", "rsuMode").number == 4);
  CHECK(district.read("LK-101", "rsuNotifyIpAddress").octets == "192.0.2.10");
  CHECK(smi::to_hex(district.read("LK-102", "rsuNotifyIpAddress").octets) ==
        "00000000000000000000ffffc000020a");
  CHECK(smi::to_hex(district.read("LK-101", "rsuMsgRepeatPsid", 1).octets) == "8002");
  CHECK(smi::to_hex(district.read("LK-101", "rsuMsgRepeatDeliveryStart", 1).octets) == "07ea010100000000");
  CHECK(smi::to_hex(district.read("LK-102", "rsuSRMDeliveryStart", 1).octets) == "07ea01010000");
  CHECK(district.read("LK-102", "rsuSRMDsrcMsgId", 1).number == 18);
}

TEST_CASE("a second apply finds nothing to do, sends no SET and makes no record") {
  District district(two_units());
  CHECK(district.apply().number == 1);
  const std::size_t sets = district.network.sets.size();
  const change::ChangeResult again = district.apply();
  CHECK(again.number == 0);
  for (const change::UnitResult& unit : again.units) CHECK(unit.outcome == Outcome::nothing_to_do);
  CHECK(district.network.sets.size() == sets);
}

TEST_CASE("a dry run sends no SET") {
  District district(two_units());
  const auto previews = change::preview(district.world, district.goals(), false, 16);
  REQUIRE(previews.size() == 2);
  CHECK_FALSE(previews[0].result.sequence.steps.empty());
  CHECK(district.network.sets.empty());
  for (const auto& [where, unit] : district.network.units) CHECK(unit.counters.sets == 0);
}

TEST_CASE("no SET leaves before its line in the journal and the unit's snapshot are on disk") {
  District district(two_units());
  std::map<std::string, std::size_t> seen;
  district.network.before_set = [&](const std::string& where) {
    const std::string unit = where == District::where(district.unit("LK-101")) ? "LK-101" : "LK-102";
    const auto journal = records::read_journal(*district.disk.read("changes/0001/journal.jsonl"));
    std::size_t steps = 0;
    for (const records::Json& event : journal.events) {
      steps += event["event"] == "step" && event["unit"] == unit ? 1U : 0U;
    }
    CHECK(steps == ++seen[unit]);
    CHECK(district.disk.read("changes/0001/" + unit + ".snapshot.yaml"));
  };
  district.apply();
  CHECK(seen["LK-101"] > 1);
  CHECK(seen["LK-102"] > 1);
  CHECK(district.disk.read("changes/0001/LK-101.snapshot.yaml"));
}

TEST_CASE("a unit on air is off air only for what needs standby, and the time is measured") {
  District district(two_units());
  operating(district);
  const change::ChangeResult result = district.apply();
  // NTCIP 1218 leaves standby to the unit, and message tables are set on air; RSU 4.1 units usually take
  // them in standby only (common practice, no source).
  CHECK(result.units[0].off_air.count() == 0);
  CHECK(result.units[1].off_air.count() >= 2 * 1500);
  CHECK(result.units[1].off_air.count() < 10000);
  CHECK(district.read("LK-102", "rsuMode").number == 4);
}

TEST_CASE("a group may say that a vendor's message tables need standby") {
  District district(two_units("traits:\n  rsuMsgRepeatStatusTable: {needs-standby: yes}\n"));
  operating(district);
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::settled);
  CHECK(result.units[0].off_air.count() >= 2 * 1500);
}

TEST_CASE("a SET whose response is lost is read back and not sent again") {
  District district(two_units());
  district.sim("LK-101").trouble.drop_response = 1;
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::settled);
  CHECK(sets_to(district, "LK-101") == result.units[0].sequence.steps.size());
}

TEST_CASE("a createAndGo whose response is lost is not repeated") {
  // A second one would answer inconsistentValue though the first one worked (RFC 2579 RowStatus).
  District district(two_units());
  operating(district);
  district.sim("LK-101").trouble.drop_response = 2;  // the scalars, then the row
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::settled);
  CHECK(sets_to(district, "LK-101") == 2);
}

TEST_CASE("a SET that was lost on its way is read back and sent again") {
  District district(two_units());
  operating(district);
  const auto before = sets_to(district, "LK-101");
  district.network.before_set = [&, first = true](const std::string& where) mutable {
    if (first && where == District::where(district.unit("LK-101"))) {
      first = false;
      district.sim("LK-101").trouble.drop = 1;
    }
  };
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::settled);
  CHECK(sets_to(district, "LK-101") - before == result.units[0].sequence.steps.size() + 1);
}

TEST_CASE("where any step is refused the unit is put back exactly as found, in operate, and verified") {
  for (const char* name : {"LK-101", "LK-102"}) {
    District counting(two_units());
    operating(counting);
    counting.apply();
    const std::size_t steps = sets_to(counting, name);
    REQUIRE(steps >= 2);
    for (std::size_t step = 0; step < steps; ++step) {
      District district(two_units());
      operating(district);
      const auto as_found = district.settings(name);
      std::size_t seen = 0;
      district.network.before_set = [&](const std::string& where) {
        if (where != District::where(district.unit(name))) return;
        if (seen++ == step) district.sim(name).trouble.refusals.push_back({"", sim::Status::gen_err, 1});
      };
      const change::ChangeResult result = district.apply();
      const auto& unit = result.units[name == std::string("LK-101") ? 0 : 1];
      INFO(name << " step " << step << ": " << unit.what);
      CHECK(unit.outcome == Outcome::restored);
      CHECK(district.settings(name) == as_found);
      CHECK(district.read(name, "rsuMode").number == (name == std::string("LK-101") ? 3 : 4));
    }
  }
}

TEST_CASE("a unit that falls silent on its way to operate is said to have stopped answering") {
  District district(two_units());
  operating(district);
  const smi::Oid mode = district.unit("LK-102").model->mode->asked->oid.child(0);
  district.network.after_set = [&](const std::string& where, const std::vector<snmp::VarBind>& set) {
    const bool to_operate = set.front().oid == mode && set.front().value.number == 4;
    if (where == District::where(district.unit("LK-102")) && to_operate)
      district.sim("LK-102").trouble.drop = 100000;
  };
  const change::ChangeResult result = district.apply();
  INFO(result.units[1].what);
  CHECK(result.units[1].outcome == Outcome::needs_attention);
  CHECK(result.units[1].what.find("not in operate after 60 s: the unit stopped answering") !=
        std::string::npos);
}

TEST_CASE("a SET that is acknowledged and ignored is found by reading back, and the unit is restored") {
  District district(two_units());
  operating(district);
  const auto as_found = district.settings("LK-101");
  district.sim("LK-101").trouble.ignored.push_back({"rsuNotifyIpAddress", 1});
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::restored);
  CHECK(result.units[0].what.find("notify-address") != std::string::npos);
  CHECK(district.settings("LK-101") == as_found);
}

TEST_CASE("a unit that stays in standby needs attention, and the record says what to do") {
  District district(two_units());
  operating(district);
  district.sim("LK-102").store.stick(sim::Store::Stuck::standby, 100);
  const change::ChangeResult result = district.apply();
  CHECK(result.units[1].outcome == Outcome::needs_attention);
  CHECK(result.units[1].what.find("vergeset rollback 1 LK-102") != std::string::npos);
  const auto record = records::find_change(district.disk, 1);
  REQUIRE(record);
  CHECK(record->units[1].outcome == "needs attention");
  CHECK_FALSE(record->ended.empty());
}

TEST_CASE("a unit that does not answer is no answer and stops no other unit") {
  District district(two_units());
  district.network.units.erase(District::where(district.unit("LK-101")));
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::no_answer);
  CHECK(result.units[1].outcome == Outcome::settled);
}

TEST_CASE("another unit's rsuID, another standard, or a far position refuses a unit before any SET") {
  District district(two_units());
  SECTION("another unit's rsuID") {
    district.put("LK-101", "rsuID", 0, "LK-102");
  }
  SECTION("another standard") {
    district.network.units.erase(District::where(district.unit("LK-101")));
    sim::Nature nature{district.unit("LK-102").model, "LK-101", std::nullopt, 1500};
    district.network.units.emplace(District::where(district.unit("LK-101")),
                                   sim::SimUnit(sim::Store(nature, nullptr, district.network.now_ms())));
  }
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::refused);
  CHECK(result.units[0].what.find("wrong unit") != std::string::npos);
  CHECK(sets_to(district, "LK-101") == 0);
  CHECK(district.audit()[0].verdict == change::Verdict::wrong_unit);
}

std::size_t steps_in_journal(const District& district) {
  const auto journal = district.disk.read("changes/0001/journal.jsonl");
  std::size_t steps = 0;
  if (!journal) return 0;
  for (const records::Json& event : records::read_journal(*journal).events) {
    const bool step = event["event"] == "step" || event["event"] == "restore step";
    steps += step ? 1U : 0U;
  }
  return steps;
}

TEST_CASE("a disk that is full at any write stops all before the next SET, and each unit is told as it is") {
  int written = 0;
  {
    District whole(two_units());
    operating(whole);
    whole.disk.writes_left = 1000;
    whole.apply();
    written = 1000 - whole.disk.writes_left;
  }
  REQUIRE(written > 15);
  for (int writes = 0; writes < written; ++writes) {
    District district(two_units());
    operating(district);
    const auto as_found = std::map<std::string, std::map<smi::Oid, smi::Value>>{
        {"LK-101", district.settings("LK-101")}, {"LK-102", district.settings("LK-102")}};
    district.disk.writes_left = writes;
    change::ChangeResult result;
    try {
      result = district.apply();
    } catch (const records::DiskError&) {
      CHECK(district.network.sets.empty());
      continue;
    }
    INFO(writes << " writes: " << result.stopped);
    CHECK(district.network.sets.size() <= steps_in_journal(district));
    for (const change::UnitResult& unit : result.units) {
      INFO(unit.unit << ": " << change::outcome_name(unit.outcome) << ", " << unit.what);
      const bool untouched = unit.outcome == Outcome::held || unit.outcome == Outcome::refused ||
                             unit.outcome == Outcome::no_answer;
      if (untouched) CHECK(district.settings(unit.unit) == as_found.at(unit.unit));
      const bool on_air = district.read(unit.unit, "rsuMode").number == (unit.unit == "LK-101" ? 3 : 4);
      CHECK((on_air || (unit.outcome == Outcome::needs_attention &&
                        unit.what.find("in standby") != std::string::npos)));
      if (unit.outcome == Outcome::needs_attention)
        CHECK(unit.what.find("vergeset recover") != std::string::npos);
    }
  }
}

TEST_CASE("the SET stands in the unit's log before it leaves") {
  District district(two_units());
  std::size_t seen = 0;
  district.network.before_set = [&](const std::string& where) {
    if (where != District::where(district.unit("LK-101"))) return;
    const std::string log = district.disk.read("units/LK-101.log").value_or("");
    std::size_t lines = 0;
    for (auto at = log.find("  SET rsu"); at != std::string::npos; at = log.find("  SET rsu", at + 1))
      ++lines;
    CHECK(lines == ++seen);
  };
  district.apply();
  CHECK(seen > 1);
}

TEST_CASE("a unit that is asked to operate and does not is drift, and is asked again") {
  District district(two_units());
  operating(district);
  sim::SimUnit& stuck = district.sim("LK-101");
  REQUIRE(district.apply().units[0].outcome == Outcome::settled);
  stuck.store.stick(sim::Store::Stuck::standby, 1);
  const smi::Oid mode = district.unit("LK-101").model->mode->asked->oid.child(0);
  for (const int asked : {2, 3}) {  // standby, then operate, which it never gets to
    REQUIRE(stuck.check({{mode, smi::Value::integer(asked)}}, district.network.now_ms()).ok());
    stuck.commit(district.network.now_ms());
    if (asked == 2) stuck.store.settle_mode(district.network.now_ms());
  }
  REQUIRE(district.read("LK-101", "rsuMode").number == 3);
  REQUIRE(district.read("LK-101", "rsuModeStatus").number == 2);

  const change::Audited audited = district.audit()[0];
  CHECK(audited.verdict == change::Verdict::drifted);
  REQUIRE(audited.comparison.differences.size() == 1);
  CHECK(audited.comparison.differences[0].items[0].as_found_text() == "in standby, asked to operate");
  const change::ChangeResult mended = district.apply();
  CHECK(mended.units[0].outcome == Outcome::settled);
  CHECK(district.read("LK-101", "rsuModeStatus").number == 3);
}

TEST_CASE("a restore goes on past what is refused, so that the unit operates again") {
  District district(two_units());
  operating(district);
  const smi::Oid status = district.unit("LK-102").model->table("rsuSRMStatusTable")->status->oid.child(1);
  district.network.after_set = [&](const std::string& where, const std::vector<snmp::VarBind>& set) {
    if (where != District::where(district.unit("LK-102"))) return;
    const bool makes_row =
        std::any_of(set.begin(), set.end(), [&](const snmp::VarBind& one) { return one.oid == status; });
    if (!makes_row) return;
    // The row was refused; from now on the scalars cannot be put back either.
    district.sim("LK-102").trouble.refusals.push_back({"rsuNotifyIpAddress", sim::Status::gen_err, 100});
  };
  district.sim("LK-102").trouble.refusals.push_back({"rsuSRMPsid.1", sim::Status::gen_err, 1});
  const change::ChangeResult result = district.apply();
  INFO(result.units[1].what);
  CHECK(result.units[1].outcome == Outcome::needs_attention);
  CHECK_FALSE(result.units[1].still_off_air);
  CHECK(district.read("LK-102", "rsuMode").number == 4);
}

TEST_CASE("a unit that forgot more than the change is about is not called restored") {
  District district(two_units());
  operating(district);
  REQUIRE(district.apply().units[0].outcome == Outcome::settled);
  district.put("LK-101", "rsuGnssMaxDeviation", 0, "99");
  bool first = true;
  district.network.after_set = [&](const std::string& where, const std::vector<snmp::VarBind>&) {
    if (!first || where != District::where(district.unit("LK-101"))) return;
    first = false;
    district.sim("LK-101").reboot({true}, district.network.now_ms());
  };
  const change::ChangeResult result = district.apply();
  INFO(result.units[0].what);
  CHECK(result.units[0].outcome == Outcome::needs_attention);
  CHECK(result.units[0].what.find("not as found though no step touched") != std::string::npos);
  CHECK(result.units[0].what.find("vergeset audit LK-101") != std::string::npos);
}

TEST_CASE("what can cut the manager off is set only with leave to do so, and last") {
  District district(two_units("only:\n  ntcip1218-v01:\n    settings: {rsuHostGateway: 192.0.2.1}\n"));
  const change::ChangeResult refused = district.apply();
  CHECK(refused.units[0].outcome == Outcome::refused);
  CHECK(sets_to(district, "LK-101") == 0);
  change::ApplyOptions options;
  options.allow_cut_off = true;
  const change::ChangeResult done = district.apply(options);
  CHECK(done.units[0].outcome == Outcome::settled);
  CHECK(done.units[0].sequence.steps.back().cuts_off);
}

std::map<std::string, std::string> eight_units() {
  auto files = two_units("waves: [1, 25%, rest]\n");
  std::string units = "units:\n";
  for (int i = 1; i <= 8; ++i) {
    units += fmt::format("  LK-20{}: {{address: 127.77.0.{}, port: 16161, model: ntcip1218-v01}}\n", i, i);
  }
  files["units.yaml"] = units;
  return files;
}

TEST_CASE("a wave with more failures than allowed stops the change, and what has not started is held") {
  District district(eight_units());
  district.sim("LK-202").trouble.refusals.push_back({"", sim::Status::gen_err, 1});
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::settled);   // the canary
  CHECK(result.units[1].outcome == Outcome::restored);  // in the second wave, of two
  CHECK(result.units[2].outcome == Outcome::settled);
  for (std::size_t i = 3; i < 8; ++i) {
    CHECK(result.units[i].outcome == Outcome::held);
    CHECK(sets_to(district, result.units[i].unit) == 0);
  }
  CHECK(result.stopped == "1 of 2 units failed in wave 2; the fleet allows 0");
}

TEST_CASE("once a change is to stop, units of the wave that wait for their turn are held") {
  District district(eight_units());
  int asked = 0;
  change::ApplyOptions options;
  options.at_once = 1;
  options.may_go_on = [&] { return ++asked > 6 ? "interrupted" : ""; };
  const change::ChangeResult result = district.apply(options);
  CHECK(result.stopped == "interrupted");
  std::size_t settled = 0;
  for (const change::UnitResult& unit : result.units) {
    if (unit.outcome == Outcome::settled) {
      ++settled;
      continue;
    }
    CHECK(unit.outcome == Outcome::held);
    CHECK(unit.what == "interrupted");
    CHECK(sets_to(district, unit.unit) == 0);
  }
  CHECK(settled > 1);
  CHECK(settled < 8);
}

TEST_CASE("a canary that fails holds all others") {
  District district(eight_units());
  district.sim("LK-201").trouble.refusals.push_back({"", sim::Status::wrong_value, 1});
  const change::ChangeResult result = district.apply();
  CHECK(result.units[0].outcome == Outcome::restored);
  for (std::size_t i = 1; i < 8; ++i) CHECK(result.units[i].outcome == Outcome::held);
}

std::vector<change::UnitGoal> back_to(District& district, int number, bool force = false) {
  std::vector<change::UnitGoal> goals;
  for (const fleet::Unit& unit : district.fleet.units) {
    const auto kept = district.disk.read(records::change_path(number, unit.name + ".snapshot.yaml"));
    const auto left = district.disk.read(records::change_path(number, unit.name + ".left.yaml"));
    REQUIRE(kept);
    REQUIRE(left);
    goals.push_back({&unit, change::goal_of_snapshot(
                                district.fleet, unit, *records::snapshot_from_yaml(*kept),
                                *records::snapshot_from_yaml(*left), "change 0001, as found", force)});
  }
  return goals;
}

TEST_CASE("a rollback puts back what the change touched and nothing else") {
  District district(two_units());
  operating(district);
  const auto ntcip = district.settings("LK-101");
  const auto rsu41 = district.settings("LK-102");
  district.apply();
  CHECK(district.settings("LK-101") != ntcip);
  district.put("LK-101", "sysContact", 0, "somebody else's business");
  const change::ChangeResult result = district.apply(back_to(district, 1));
  for (const change::UnitResult& unit : result.units) {
    INFO(unit.what);
    CHECK(unit.outcome == Outcome::settled);
  }
  CHECK(district.settings("LK-102") == rsu41);
  auto expected = ntcip;
  expected[district.unit("LK-101").model->object("sysContact")->oid.child(0)] =
      smi::Value::of_octets("somebody else's business");
  CHECK(district.settings("LK-101") == expected);
  // A second rollback finds nothing to do.
  for (const auto& unit : district.apply(back_to(district, 1)).units)
    CHECK(unit.outcome == Outcome::nothing_to_do);
}

TEST_CASE("a rollback does not overwrite what someone else changed since, unless forced") {
  District district(two_units());
  operating(district);
  const auto as_found = district.settings("LK-101");
  district.apply();
  district.put("LK-101", "rsuNotifyIpAddress", 0, "198.51.100.7");
  const auto meddled = district.settings("LK-101");
  const change::ChangeResult refused = district.apply(back_to(district, 1));
  CHECK(refused.units[0].outcome == Outcome::refused);
  CHECK(refused.units[0].what.find("notify-address") != std::string::npos);
  CHECK(district.settings("LK-101") == meddled);
  const change::ChangeResult forced = district.apply(back_to(district, 1, true));
  CHECK(forced.units[0].outcome == Outcome::settled);
  CHECK(district.settings("LK-101") == as_found);
}

TEST_CASE("of a row that a change has changed, a rollback leaves other columns to whoever set them since") {
  District district(two_units());
  operating(district);
  REQUIRE(district.apply().units[0].outcome == Outcome::settled);
  district.put("LK-101", "rsuMsgRepeatTxInterval", 1, "700");
  REQUIRE(district.apply().units[0].outcome == Outcome::settled);  // change 2: the interval alone
  district.put("LK-101", "rsuMsgRepeatPriority", 1, "3");
  std::vector<change::UnitGoal> goals = {[&] {
    const fleet::Unit& unit = district.unit("LK-101");
    const auto kept = district.disk.read("changes/0002/LK-101.snapshot.yaml");
    const auto left = district.disk.read("changes/0002/LK-101.left.yaml");
    REQUIRE(kept);
    REQUIRE(left);
    return change::UnitGoal{
        &unit, change::goal_of_snapshot(district.fleet, unit, *records::snapshot_from_yaml(*kept),
                                        *records::snapshot_from_yaml(*left), "change 0002, as found", false)};
  }()};
  const change::ChangeResult result = district.apply(goals);
  INFO(result.units[0].what);
  CHECK(result.units[0].outcome == Outcome::settled);
  CHECK(district.read("LK-101", "rsuMsgRepeatTxInterval", 1).number == 700);
  CHECK(district.read("LK-101", "rsuMsgRepeatPriority", 1).number == 3);
}

change::WorkOrder order_of(District& district) {
  change::WorkOrder order{"Larkmoor", "2026-11-25T08:00:00.000Z", "test@bench", "", {}, {}};
  for (const change::Preview& preview : change::preview(district.world, district.goals(), false, 16)) {
    const records::Snapshot as_found = change::as_found_of(preview);
    order.units.push_back(
        {preview.unit->name, as_found,
         change::desired_snapshot(as_found, preview.result.differences, *preview.unit->model),
         preview.result.sequence});
  }
  return order;
}

std::vector<change::UnitGoal> as_ordered(District& district, const change::WorkOrder& order) {
  std::vector<change::UnitGoal> goals;
  for (const change::OrderedUnit& unit : order.units) {
    goals.push_back({district.fleet.unit(unit.unit),
                     change::goal_of_order(district.fleet, *district.fleet.unit(unit.unit), unit)});
  }
  return goals;
}

TEST_CASE("a work order is carried out exactly as it was written and read back from its file") {
  District district(two_units());
  const change::WorkOrder order = order_of(district);
  const auto read = change::order_from_yaml(to_yaml(order));
  REQUIRE(read);
  CHECK(to_yaml(*read) == to_yaml(order));
  const std::int64_t order_begins_at = district.read("LK-101", "snmpSetSerialNo").number;
  const change::ChangeResult result = district.apply(as_ordered(district, *read));
  std::vector<std::vector<snmp::VarBind>> ordered;
  std::int64_t serial = order_begins_at;
  for (const change::Step& step : order.units[0].sequence.steps) {
    ordered.emplace_back();
    for (const change::Assignment& one : step.assignments) ordered.back().push_back({one.oid, one.value});
    ordered.back().push_back({change::SerialNo::instance(), smi::Value::integer(serial++)});
  }
  std::vector<std::vector<snmp::VarBind>> sent;
  for (const auto& set : district.network.sets) {
    if (set.where == District::where(district.unit("LK-101"))) sent.push_back(set.varbinds);
  }
  CHECK(sent == ordered);
  for (const change::UnitResult& unit : result.units) CHECK(unit.outcome == Outcome::settled);
  for (const change::Audited& unit : district.audit()) CHECK(unit.verdict == change::Verdict::agrees);
}

TEST_CASE("a work order refuses a unit that is no longer as it was reviewed") {
  District district(two_units());
  const change::WorkOrder order = order_of(district);
  district.put("LK-101", "rsuNotifyIpAddress", 0, "198.51.100.7");
  const change::ChangeResult result = district.apply(as_ordered(district, order));
  CHECK(result.units[0].outcome == Outcome::refused);
  CHECK(result.units[0].what.find("no longer as it was reviewed") != std::string::npos);
  CHECK(sets_to(district, "LK-101") == 0);
  CHECK(result.units[1].outcome == Outcome::settled);
}

TEST_CASE("a work order that was edited or cut is no work order") {
  District district(two_units());
  const std::string text = to_yaml(order_of(district));
  std::string edited = text;
  edited.replace(edited.find("192.0.2.10"), 10, "192.0.2.66");
  CHECK_FALSE(change::order_from_yaml(edited));
  CHECK_FALSE(change::order_from_yaml(text.substr(0, text.size() / 2)));
  CHECK_FALSE(change::order_from_yaml(""));
}

}  // namespace
