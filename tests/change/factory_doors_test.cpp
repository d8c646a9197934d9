// Factory credentials are tried without locking anyone out. That units lock out who fails three times in a
// row, and that a success ends the row: common practice, no source.

#include "change/factory_doors.h"

#include <map>

#include "change/district.h"
#include "snmp/principals.h"

using namespace vergeset;
using namespace vergeset::test;
using change::FactoryDoor;
using records::FactoryTry;
using Came = FactoryTry::Result;

namespace {

/// A unit's door keeper: who gets in, and after how many failures in a row nobody does.
struct Keeper {
  std::set<const snmp::Principal*> lets_in{nullptr};  ///< nullptr: the fleet's own
  int most_failures = 3;
  int failures = 0;  ///< in a row
  std::vector<std::pair<std::int64_t, const snmp::Principal*>> came;

  std::optional<snmp::Failure> refuses(std::int64_t now, const snmp::Principal* who) {
    came.emplace_back(now, who);
    if (failures >= most_failures) return snmp::Failure::no_answer;
    if (lets_in.count(who) > 0) {
      failures = 0;
      return std::nullopt;
    }
    ++failures;
    return snmp::Failure::wrong_auth;
  }
  std::size_t strangers() const {
    return static_cast<std::size_t>(
        std::count_if(came.begin(), came.end(), [](const auto& one) { return one.second != nullptr; }));
  }
};

class Guarded {
 public:
  Guarded() {
    for (const char* name : {"factory", "factory-2", "factory-3", "factory-4", "factory-5"}) {
      auto made = snmp::usm_principal(name, "none", Secret(), "none", Secret());
      REQUIRE(static_cast<bool>(made));
      doors.push_back({std::string("credential ") + name, name, *std::move(made)});
    }
    district.network.refuses = [this](const std::string& where, const snmp::Principal* who) {
      return keepers[where].refuses(district.network.now_ms(), who);
    };
  }
  Keeper& keeper(const std::string& name) { return keepers[District::where(district.unit(name))]; }
  std::vector<change::Audited> audit() {
    auto audited = district.audit();
    change::try_doors(district.world, doors, audited, 16);
    return audited;
  }
  void wait(std::chrono::hours time) {
    std::vector<snmp::Task<void>> tasks;
    tasks.push_back(district.network.sleep(time));
    district.network.run(std::move(tasks), 1);
  }
  static std::vector<Came> results(const change::Audited& unit) {
    std::vector<Came> all;
    for (const FactoryTry& one : unit.doors) all.push_back(one.result);
    return all;
  }

  District district{two_units()};
  std::vector<FactoryDoor> doors;
  std::map<std::string, Keeper> keepers;
};

}  // namespace

TEST_CASE(
    "a unit that still has a factory user is told, and tried by each credential once, with a pause between") {
  Guarded here;
  here.keeper("LK-101").lets_in.insert(here.doors[1].principal.get());
  const auto audited = here.audit();
  CHECK(Guarded::results(audited[0]) ==
        std::vector{Came::refused, Came::opens, Came::refused, Came::refused, Came::refused});
  CHECK(change::stands_open(audited[0]));
  CHECK_FALSE(change::stands_open(audited[1]));
  CHECK(here.keeper("LK-101").strangers() == here.doors.size());
  std::int64_t before = 0;
  for (const auto& [at, who] : here.keeper("LK-101").came) {
    if (who == nullptr) continue;
    CHECK(at - before >= 1000);
    before = at;
  }
}

TEST_CASE("five tries lock no unit out that takes three failures in a row, since it is read between them") {
  Guarded here;
  const auto audited = here.audit();
  CHECK(Guarded::results(audited[0]) == std::vector(5, Came::refused));
  CHECK(here.keeper("LK-101").failures <= 1);
  CHECK(here.district.audit()[0].verdict == change::Verdict::drifted);
}

TEST_CASE("a unit that lets nobody in after one failure is left alone from then on, and that is told") {
  Guarded here;
  here.keeper("LK-101").most_failures = 1;
  const auto audited = here.audit();
  CHECK(Guarded::results(audited[0]) ==
        std::vector{Came::refused, Came::not_tried, Came::not_tried, Came::not_tried, Came::not_tried});
  CHECK(here.keeper("LK-101").strangers() == 1);
  CHECK(change::stands_open(audited[0]));
  CHECK(Guarded::results(audited[1]) == std::vector(5, Came::refused));
}

TEST_CASE(
    "a second audit within twelve hours tries nothing, and tells what is known; a day later it tries again") {
  Guarded here;
  here.keeper("LK-101").lets_in.insert(here.doors[0].principal.get());
  const auto first = here.audit();
  const std::size_t tried = here.keeper("LK-101").strangers();
  here.wait(std::chrono::hours(11));
  const auto second = here.audit();
  CHECK(here.keeper("LK-101").strangers() == tried);
  CHECK(second[0].doors == first[0].doors);
  here.wait(std::chrono::hours(13));
  here.keeper("LK-101").lets_in.erase(here.doors[0].principal.get());
  const auto third = here.audit();
  CHECK(here.keeper("LK-101").strangers() == 2 * tried);
  CHECK(Guarded::results(third[0]) == std::vector(5, Came::refused));
}

TEST_CASE("a try that a killed run had begun counts as made") {
  Guarded here;
  records::FactoryTries tries = records::FactoryTries::read(here.district.disk, "LK-101");
  tries.begin(here.district.disk, "credential factory", here.district.network.now_ms());
  const auto audited = here.audit();
  CHECK(audited[0].doors[0].result == Came::begun);
  CHECK(here.keeper("LK-101").strangers() == 4);
}

TEST_CASE("a unit that gave no answer is not tried, nor a stranger; one that refuses our own user is") {
  Guarded here;
  records::KnownUnits known;
  here.district.world.known = &known;
  here.district.audit();
  here.district.network.engines[District::where(here.district.unit("LK-102"))] = "another engine";
  SECTION("no answer") {
    here.keeper("LK-101").failures = 1000;
    const auto audited = here.audit();
    CHECK(audited[0].verdict == change::Verdict::no_answer);
    CHECK(audited[0].doors.empty());
    CHECK(here.keeper("LK-101").strangers() == 0);
  }
  SECTION("as from the factory") {
    here.keeper("LK-101").lets_in = {here.doors[0].principal.get()};
    here.keeper("LK-101").most_failures = 1000;
    const auto audited = here.audit();
    CHECK(audited[0].verdict == change::Verdict::no_answer);
    CHECK(audited[0].doors.at(0).result == Came::opens);
  }
  CHECK(here.keeper("LK-102").strangers() == 0);
}

TEST_CASE("a unit that is spoken to by a factory credential stands open, without a try") {
  Guarded here;
  here.doors[0].credential = here.district.unit("LK-101").credential;
  const auto audited = here.audit();
  CHECK(audited[0].doors.at(0).result == Came::opens);
  CHECK(here.keeper("LK-101").strangers() == 4);
}
