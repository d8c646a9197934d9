#include "change/recover.h"

#include "change/serial_no.h"
#include "district.h"
#include "records/change_record.h"

namespace {

using namespace vergeset;
using change::Outcome;
using test::District;
using test::operating;
using test::SimNetwork;
using test::two_units;

const std::vector<std::string> names{"LK-101", "LK-102"};

using Settings = std::map<std::string, std::map<smi::Oid, smi::Value>>;

Settings settings(District& district) {
  Settings all;
  for (const std::string& name : names) all[name] = district.settings(name);
  return all;
}

/// Runs a change that is killed at its SET number `at`, from 0: before it left, or once it was carried out.
/// False where the change has fewer.
bool kill_at(District& district, std::size_t at, bool carried_out) {
  std::size_t sets = 0;
  const auto kill = [&] { district.network.kill = sets++ == at; };
  if (carried_out) {
    district.network.after_set = [&](const std::string&, const std::vector<snmp::VarBind>&) { kill(); };
  } else {
    district.network.before_set = [&](const std::string&) { kill(); };
  }
  bool killed = false;
  try {
    district.apply();
  } catch (const SimNetwork::Killed&) {
    killed = true;
  }
  district.network.before_set = {};
  district.network.after_set = {};
  return killed;
}

change::RecoverOptions as_tester() {
  change::RecoverOptions options;
  options.who = "test@bench";
  return options;
}

bool on_air(District& district, const std::string& name) {
  const schema::ModeRule& rule = *district.unit(name).model->mode;
  return district.read(name, rule.status->name).number == rule.status_operate;
}

std::string outcome(const District& district, const std::string& name) {
  const auto record = records::find_change(district.disk, 1);
  REQUIRE(record);
  for (const records::UnitOutcome& unit : record->units) {
    if (unit.unit == name) return unit.outcome;
  }
  return {};
}

TEST_CASE(
    "a change that is killed at any SET is recovered: each unit as found or as desired, and on record") {
  Settings desired;
  {
    District whole(two_units());
    operating(whole);
    whole.apply();
    desired = settings(whole);
  }
  for (const bool carried_out : {false, true}) {
    std::size_t points = 0;
    for (;; ++points) {
      District district(two_units());
      operating(district);
      const Settings as_found = settings(district);
      if (!kill_at(district, points, carried_out)) break;
      INFO("killed at SET " << points << (carried_out ? ", carried out" : ", not sent"));
      CHECK_FALSE(change::why_not_apply(district.disk).empty());
      const auto recovered = change::recover(district.world, as_tester());
      REQUIRE(recovered.size() == 1);
      CHECK(recovered[0].ended);
      CHECK(recovered[0].unfinished.empty());
      for (const std::string& name : names) {
        const std::string ended = outcome(district, name);
        INFO(name << ": " << ended);
        CHECK(on_air(district, name));
        if (ended == "settled") {
          CHECK(district.settings(name) == desired.at(name));
        } else {
          CHECK((ended == "restored" || ended == "held"));
          CHECK(district.settings(name) == as_found.at(name));
        }
      }
      CHECK(change::why_not_apply(district.disk).empty());

      const std::size_t sets = district.network.sets.size();
      const auto files = district.disk.files;
      CHECK(change::recover(district.world, as_tester()).empty());
      CHECK(district.network.sets.size() == sets);
      CHECK(district.disk.files == files);
      for (const change::UnitResult& unit : district.apply().units) {
        CHECK((unit.outcome == Outcome::settled || unit.outcome == Outcome::nothing_to_do));
      }
    }
    CHECK(points > 4);
  }
}

TEST_CASE("a unit that had its last SET is finished, not taken back") {
  District district(two_units());
  operating(district);
  std::size_t sets = 0;
  {
    District counting(two_units());
    operating(counting);
    counting.apply();
    sets = counting.network.sets.size();
  }
  REQUIRE(kill_at(district, sets - 1, true));
  change::recover(district.world, as_tester());
  CHECK(outcome(district, "LK-101") == "settled");
  CHECK(outcome(district, "LK-102") == "settled");
}

TEST_CASE("a unit that does not answer stays unfinished until it does, or is given up") {
  District district(two_units());
  operating(district);
  REQUIRE(kill_at(district, 2, true));
  const std::string where = District::where(district.unit("LK-102"));
  sim::SimUnit gone = district.network.units.at(where);
  district.network.units.erase(where);

  const auto first = change::recover(district.world, as_tester());
  REQUIRE(first.size() == 1);
  CHECK_FALSE(first[0].ended);
  CHECK(first[0].unfinished == std::vector<std::string>{"LK-102"});
  CHECK(change::why_not_apply(district.disk).find("change 0001 (apply, by ") == 0);
  SECTION("it comes back") {
    district.network.units.emplace(where, gone);
    const auto second = change::recover(district.world, as_tester());
    REQUIRE(second.size() == 1);
    CHECK(second[0].ended);
    CHECK(on_air(district, "LK-102"));
  }
  SECTION("it is given up") {
    change::RecoverOptions options = as_tester();
    options.give_up = true;
    const auto second = change::recover(district.world, options);
    REQUIRE(second.size() == 1);
    CHECK(second[0].ended);
    CHECK(outcome(district, "LK-102") == "needs attention");
    CHECK(second[0].units[0].what.find("vergeset rollback 1 LK-102") != std::string::npos);
  }
  CHECK(change::why_not_apply(district.disk).empty());
}

TEST_CASE("recovery touches no other unit that stands at the address now") {
  District district(two_units());
  operating(district);
  REQUIRE(kill_at(district, 2, true));
  district.put("LK-102", "rsuID", 0, "LK-101");
  const std::size_t sets = district.network.sets.size();
  const auto recovered = change::recover(district.world, as_tester());
  CHECK(recovered.at(0).unfinished == std::vector<std::string>{"LK-102"});
  const std::string where = District::where(district.unit("LK-102"));
  for (std::size_t i = sets; i < district.network.sets.size(); ++i)
    CHECK(district.network.sets[i].where != where);
}

TEST_CASE("a setting that another manager makes between our reading and our SET is not overwritten") {
  // RFC 3418 snmpSetSerialNo: "allows several cooperating command generator applications to coordinate their
  // use of the SNMP set operation".
  District district(two_units());
  operating(district);
  sim::SimUnit& unit = district.sim("LK-101");
  bool first = true;
  district.network.before_set = [&](const std::string& where) {
    if (where != District::where(district.unit("LK-101")) || !std::exchange(first, false)) return;
    const schema::Object& address = *district.unit("LK-101").model->object("rsuNotifyIpAddress");
    const std::int64_t serial = district.read("LK-101", "snmpSetSerialNo").number;
    const std::vector<sim::VarBind> other{{address.oid.child(0), smi::Value::of_octets("192.0.2.99")},
                                          {change::SerialNo::instance(), smi::Value::integer(serial)}};
    REQUIRE(unit.check(other, district.network.now_ms()).ok());
    unit.commit(district.network.now_ms());
    district.network.after_set = [&](const std::string& at, const std::vector<snmp::VarBind>&) {
      if (at != where) return;
      CHECK(district.read("LK-101", "rsuNotifyIpAddress").octets == "192.0.2.99");
      district.network.after_set = {};
    };
  };
  const change::ChangeResult result = district.apply();
  INFO(result.units[0].what);
  CHECK(result.units[0].what.find("someone else has set this unit") != std::string::npos);
  CHECK(result.units[0].outcome == Outcome::needs_attention);
  CHECK(result.units[0].what.find("vergeset diff LK-101") != std::string::npos);
  CHECK(district.read("LK-101", "rsuNotifyIpAddress").octets == "192.0.2.99");
  CHECK(result.units[1].outcome == Outcome::settled);
}

}  // namespace
