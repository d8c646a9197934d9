#include "catch.h"
#include "report/change_text.h"
#include "report/history_text.h"
#include "report/steps_text.h"
#include "report/survey_text.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

namespace {

change::UnitResult ended(const std::string& unit, change::Outcome outcome, const std::string& what = {}) {
  change::UnitResult result;
  result.unit = unit;
  result.outcome = outcome;
  result.what = what;
  return result;
}

}  // namespace

TEST_CASE("a dry run shows each request with its variable bindings and the time off air") {
  const fleet::Unit unit = unit_here();
  const std::string text = dry_run_text(terminal(), {preview_of(unit)});
  CHECK_THAT(text, Catch::Contains("  step 1 of 4, on air: notify-address, position-tolerance\n"
                                   "    rsuNotifyIpAddress.0 = 192.0.2.10\n"
                                   "    rsuGnssMaxDeviation.0 = 15 m\n"));
  CHECK_THAT(text, Catch::Contains("  step 2 of 4: go to standby\n    rsuMode.0 = standby(2)\n"));
  CHECK_THAT(text, Catch::Contains("  step 3 of 4, in standby: make store-and-repeat map (row 1)\n"));
  CHECK_THAT(text, Catch::Contains("  step 4 of 4: go to operate\n    rsuMode.0 = operate(3)\n"));
  CHECK_THAT(text, Catch::Contains("createAndGo(4)"));
  CHECK_THAT(text, Catch::Contains("  off air for about 4.2 s\n"));
  CHECK(lines_of(text).back() == "1 unit: 1 would change; no SET was sent");
}

TEST_CASE("a dry run fits the terminal") {
  const fleet::Unit unit = unit_here();
  CHECK(widest(dry_run_text(terminal(80), {preview_of(unit)})) <= 80);
}

TEST_CASE("steps that need no standby promise no time off air") {
  change::Sequence sequence;
  CHECK(off_air_text(sequence) == "no time off air");
  sequence.ends_off_air = true;
  CHECK(off_air_text(sequence) == "will be left off air, in standby");
}

TEST_CASE("before a change the person reads what changes, on how many units, and in which waves") {
  const fleet::Unit one = unit_here("LK-101");
  const fleet::Unit two = unit_here("LK-102");
  change::Preview refused = preview_of(two);
  refused.result.outcome = change::Outcome::refused;
  refused.result.what = "wrong unit: its rsuID is LK-103";
  const std::string text = preview_text(terminal(), {preview_of(one), refused}, {1, 3});
  CHECK_THAT(text, Catch::Contains("LK-102   refused\n    wrong unit: its rsuID is LK-103"));
  CHECK_THAT(text, Catch::Contains("2 units: 1 would change, 1 refused"));
  CHECK_THAT(text, Catch::Contains("position-tolerance     1       no"));
  CHECK_THAT(text, Catch::Contains("store-and-repeat map   1       yes"));
  CHECK_THAT(text, Catch::Contains("In 2 waves of 1, 3 units."));
}

TEST_CASE("the caution says how many leave operate, for how long, and what that means") {
  const fleet::Unit unit = unit_here();
  const std::string text = caution_text(terminal(200), {preview_of(unit)});
  CHECK_THAT(text, Catch::Contains("1 unit goes to standby, for about 4.2 s."));
  CHECK_THAT(text, Catch::Contains("sends no MAP, SPaT or traveller information: vehicles lose it."));
  CHECK_THAT(text, Catch::Contains("licensed engineer"));
}

TEST_CASE("a change without standby and without rows needs no caution") {
  const fleet::Unit unit = unit_here();
  change::Preview preview = preview_of(unit);
  preview.result.differences = {tolerance()};
  preview.result.sequence = {};
  CHECK(caution_text(terminal(), {preview}).empty());
}

TEST_CASE("as a unit ends its line tells outcome, steps and measured time off air") {
  change::UnitResult result = ended("LK-4", change::Outcome::settled);
  result.steps_done = 4;
  result.off_air = std::chrono::milliseconds(4130);
  CHECK(unit_end_text(terminal(), 6, result) == "  LK-4     settled, 4 steps, off air for 4.1 s\n");
}

TEST_CASE("a unit that did not come back on air has no measured time, and says so") {
  change::UnitResult result = ended("LK-4", change::Outcome::needs_attention);
  result.off_air = std::chrono::milliseconds(60000);
  result.still_off_air = true;
  CHECK(unit_end_text(terminal(), 4, result) == "  LK-4   needs attention, still off air\n");
}

TEST_CASE("a unit that is to stay in standby is told as what was asked, whoever asked it") {
  const fleet::Unit unit = unit_here();
  change::Preview preview = preview_of(unit);
  preview.result.sequence.ends_off_air = true;
  CHECK_THAT(caution_text(terminal(200), {preview}), Catch::Contains("1 unit is left in standby, as asked."));
}

TEST_CASE("a change ends with why it stopped, what was held, and the counts in the design's words") {
  change::ChangeResult result;
  result.number = 42;
  result.stopped = "1 of 2 units failed in wave 1; the fleet allows 0";
  result.units = {ended("LK-101", change::Outcome::settled), ended("LK-102", change::Outcome::no_answer),
                  ended("LK-103", change::Outcome::held), ended("LK-104", change::Outcome::needs_attention)};
  const std::vector<std::string> lines = lines_of(change_end_text(terminal(), result));
  CHECK(lines ==
        std::vector<std::string>{"stopped: 1 of 2 units failed in wave 1; the fleet allows 0", "held: LK-103",
                                 "change 0042, 4 units: 1 settled, 1 no answer, 1 held, 1 needs attention"});
}

TEST_CASE("a unit's log is read back into when, what for and what") {
  const auto lines = read_log(
      "2026-11-25T02:00:01.123Z  change 0042  SET rsuMode.0 = standby\n"
      "2026-11-25T02:00:01.180Z  change 0042  SET done: noError\n"
      "2026-11-25T02:01:00.000Z  audit        ends agrees\n"
      "torn");
  REQUIRE(lines.size() == 4);
  CHECK(lines[0].purpose == "change 0042");
  CHECK(lines[0].what == "SET rsuMode.0 = standby");
  CHECK(lines[0].is_set());
  CHECK(lines[1].is_set());
  CHECK(lines[2].purpose == "audit");
  CHECK_FALSE(lines[2].is_set());
  CHECK(lines[3].what == "torn");
}

TEST_CASE("changes are listed with who, what, outcome and why") {
  records::ChangeRecord change;
  change.number = 43;
  change.kind = "rollback";
  change.of = "0042";
  change.who = "ops@desk";
  change.why = "wrong lane";
  change.begun = "2026-11-25T02:00:01.123Z";
  change.units = {{"LK-104", "settled", "", 3, 4130}};
  const std::string list = changes_text(terminal(160), {change});
  CHECK_THAT(list, Catch::Contains("0043     2026-11-25T02:00Z   ops@desk   rollback of 0042"));
  CHECK_THAT(list, Catch::Contains("1 unit: 1 settled; has not ended   wrong lane"));
  const std::string narrow = changes_text(terminal(80), {change});
  CHECK(widest(narrow) <= 80);
  CHECK_THAT(narrow, Catch::EndsWith("\n         why: wrong lane\n"));
  const std::string one = change_text(terminal(), change);
  CHECK_THAT(one, Catch::Contains("LK-104   settled   3       4.1 s"));
  CHECK(widest(one) <= 80);
}

TEST_CASE("one change is shown by the units it touched; files one by one only where asked") {
  records::ChangeRecord change;
  change.units = {{"LK-103", "nothing to do", "", 0, 0},
                  {"LK-104", "settled", "", 1, 0},
                  {"LK-105", "nothing to do", "", 0, 0}};
  const std::string digest(64, 'a');
  change.files = {{"fleet.yaml", digest}};
  const std::string shown = change_text(terminal(), change);
  CHECK_THAT(shown, Catch::Contains("nothing to do: LK-103, LK-105\n"));
  CHECK_THAT(shown, Catch::Contains("1 file; --full for their digests"));
  CHECK_THAT(shown, !Catch::Contains("aaaa"));
  report::Screen whole = terminal();
  whole.full = true;
  CHECK_THAT(change_text(whole, change), Catch::Contains("fleet.yaml   " + digest));
}

TEST_CASE("a survey tells how much of each unit was read") {
  const fleet::Unit unit = unit_here();
  change::Audited read = agreeing(unit);
  const schema::Object& psid = *model_here().object("rsuMsgRepeatPsid");
  read.found.instances[psid.oid.child(1)] = smi::Value::of_octets("\x80\x02");
  read.found.instances[psid.oid.child(2)] = smi::Value::of_octets("\x80\x03");
  read.found.instances[model_here().object("rsuMode")->oid.child(0)] =
      smi::Value::of_number(smi::Type::no_such_object, 0);
  const SurveyCount counts = count(model_here(), read.found);
  CHECK(counts.objects == 1);
  CHECK(counts.rows == 2);
  CHECK(counts.absent == 1);
  CHECK(lines_of(survey_text(terminal(), {read, silent(unit)})).back() == "2 units: 1 read, 1 no answer");
}
