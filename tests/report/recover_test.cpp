#include "catch.h"
#include "report/json.h"
#include "report/recover_text.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

namespace {

records::Unfinished broken_off() {
  records::Unfinished one;
  one.change.number = 42;
  one.change.kind = "apply";
  one.change.who = "ops@desk";
  one.change.why = "new lanes";
  one.change.begun = "2026-11-25T02:00:01.123Z";
  one.change.units = {{"LK-101", "settled", "", 3, 0},
                      {"LK-102", "needs attention", "", 1, 0},
                      {"LK-103", "needs attention", "", 1, 0},
                      {"LK-104", "held", "", 0, 0}};
  one.units.resize(2);
  one.units[0].unit = "LK-102";
  one.units[1].unit = "LK-103";
  one.units[1].standby_at = 1795572005000;  // 2026-11-25T02:00:05Z, by date -d
  return one;
}

change::UnitResult ended(const std::string& unit, change::Outcome outcome, bool records_failed = false) {
  change::UnitResult result;
  result.unit = unit;
  result.outcome = outcome;
  result.records_failed = records_failed;
  return result;
}

change::Recovered recovered(change::Outcome first, change::Outcome second) {
  change::Recovered one;
  one.was = broken_off();
  one.units = {ended("LK-102", first), ended("LK-103", second)};
  return one;
}

}  // namespace

TEST_CASE("a change that was broken off is told with who, why, when, and who may be in standby since when") {
  CHECK(unfinished_text(terminal(), {broken_off()}) ==
        "change 0042 has not ended: apply (new lanes), by ops@desk, begun\n"
        "2026-11-25T02:00Z\n"
        "  4 units, 2 begun and not ended\n"
        "  LK-103 may be in standby since 2026-11-25T02:00:05.000Z\n");
}

TEST_CASE("a recovered change ends with the counts of all its units") {
  change::Recovered one = recovered(change::Outcome::settled, change::Outcome::restored);
  one.ended = true;
  CHECK(recover_end_text(terminal(), {one}) ==
        "change 0042 has ended, 4 units: 2 settled, 1 restored, 1 held\n");
}

TEST_CASE("a change that stays unfinished names its units and what to do, by the cause") {
  change::Recovered one = recovered(change::Outcome::settled, change::Outcome::no_answer);
  one.unfinished = {"LK-103"};
  CHECK_THAT(recover_end_text(terminal(), {one}),
             Catch::StartsWith("change 0042 is unfinished still: LK-103. When they can be reached:") &&
                 Catch::Contains("--give-up"));
  one.stopped = "interrupted";
  CHECK(recover_end_text(terminal(), {one}) ==
        "stopped: interrupted\nchange 0042 is unfinished still: LK-103. Next: vergeset recover\n");
  one.stopped.clear();
  one.units[1].records_failed = true;
  CHECK_THAT(recover_end_text(terminal(), {one}), Catch::Contains("When its records can be written:"));
}

TEST_CASE("the document of a recovery has each change, what became of its units, and what is unfinished") {
  change::Recovered one = recovered(change::Outcome::settled, change::Outcome::no_answer);
  one.unfinished = {"LK-103"};
  const Json changes = recovered_json({one});
  REQUIRE(changes.size() == 1);
  CHECK(changes[0].at("change") == 42);
  CHECK(changes[0].at("who") == "ops@desk");
  CHECK(changes[0].at("has_ended") == false);
  CHECK(changes[0].at("unfinished") == Json::array({"LK-103"}));
  CHECK(changes[0].at("units").at(0).at("outcome") == "settled");
  CHECK(changes[0].at("units").at(1).at("unit") == "LK-103");
}
