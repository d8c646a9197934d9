#include "report/standing.h"

#include "catch.h"
#include "records/clock.h"
#include "report/night_summary.h"
#include "report/page.h"
#include "report/standing_words.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

namespace {

constexpr std::int64_t hour = 3600000;
constexpr std::int64_t day = 24 * hour;
// 2026-11-26T06:00:00Z.
constexpr std::int64_t morning = 1795672800000;

std::int64_t night_in_utc(std::int64_t time) {
  return (time + 12 * hour) / day;
}

records::AuditedUnit stood_as(const std::string& name, const std::string& verdict) {
  records::AuditedUnit unit;
  unit.unit = name;
  unit.verdict = verdict;
  return unit;
}

records::AuditedDifference difference_of(const std::string& name, const std::string& found) {
  records::AuditedDifference one;
  one.name = name;
  one.kind = "value";
  records::AuditedItem item;
  item.setting = name;
  item.as_found = {"rsuGnssMaxDeviation.0", smi::Oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 6, 9, 0},
                   smi::Value::integer(20)};
  item.desired = smi::Value::integer(15);
  item.as_found_words = found;
  item.desired_words = "15 m";
  one.items = {item};
  return one;
}

records::AuditedFinding finding_of(const std::string& rule, const std::string& severity) {
  return {rule, severity, rule + " is not as wanted", "common practice"};
}

/// Two units, and audits of them that are told newest first, as they are read.
struct Here {
  Here() {
    fleet.name = "Larkmoor district";
    units = {unit_here("LK-104"), unit_here("LK-105")};
  }

  void audit(std::int64_t begun, const std::vector<records::AuditedUnit>& found,
             const std::string& name = "Larkmoor district", const std::vector<std::string>& named = {}) {
    records::AuditHead head;
    head.fleet = name;
    head.choice.units = named;
    head.begun = records::stamp(begun);
    head.ended = records::stamp(begun + 60000);
    records::AuditText text;
    for (const auto& unit : found) text.add(unit);
    audits.insert(audits.begin(), text.under(head));
  }

  Standing standing(std::size_t nights = 3, std::vector<records::ChangeRecord> changes = {}) const {
    StandingMaker maker(fleet, {&units[0], &units[1]}, nights, morning, night_in_utc(morning), night_in_utc);
    for (const std::string& text : audits) maker.take_audit("audits/one.json", text);
    for (records::ChangeRecord& change : changes) maker.take_change(std::move(change));
    return maker.take();
  }

  fleet::Fleet fleet;
  std::vector<fleet::Unit> units;
  std::vector<std::string> audits;
};

}  // namespace

TEST_CASE("the newest audit of a night counts, from noon to noon, and one of a single unit for it alone") {
  Here here;
  here.audit(morning - 2 * day, {stood_as("LK-104", "agrees"), stood_as("LK-105", "no answer")});
  here.audit(morning - 16 * hour, {stood_as("LK-104", "drifted"), stood_as("LK-105", "agrees")});
  here.audit(morning - 4 * hour, {stood_as("LK-104", "agrees")});
  const Standing standing = here.standing();
  CHECK(night_text(standing.first_night()) == "2026-11-24");
  CHECK(night_text(standing.last_night) == "2026-11-26");
  const UnitStanding& one = standing.units[0];
  CHECK(one.nights == std::vector<Stood>{Stood::agrees, Stood::not_audited, Stood::agrees});
  CHECK(one.stands() == Stood::agrees);
  CHECK(one.audited == morning - 4 * hour);
  REQUIRE(one.before);
  CHECK(one.before->verdict == "agrees");
  const UnitStanding& other = standing.units[1];
  CHECK(other.nights == std::vector<Stood>{Stood::no_answer, Stood::not_audited, Stood::agrees});
  CHECK(other.before->verdict == "no answer");
  CHECK(standing.audit_begun == morning - 4 * hour);
}

TEST_CASE("an audit of one unit by its name makes the fleet's audit no younger") {
  Here here;
  here.audit(morning - 4 * hour, {stood_as("LK-104", "agrees"), stood_as("LK-105", "agrees")});
  here.audit(morning - hour, {stood_as("LK-104", "drifted")}, "Larkmoor district", {"LK-104"});
  const Standing standing = here.standing();
  CHECK(standing.audit_begun == morning - 4 * hour);
  CHECK(standing.units[0].stands() == Stood::drifted);
  CHECK(standing.units[0].audited == morning - hour);
}

TEST_CASE(
    "audits of another fleet, of units that are no more, and from before the first night tell nothing") {
  Here here;
  here.audit(morning - 30 * day, {stood_as("LK-104", "drifted")});
  here.audit(morning - 5 * hour, {stood_as("LK-900", "drifted")});
  here.audit(morning - 4 * hour, {stood_as("LK-104", "drifted")}, "Another district");
  const Standing standing = here.standing();
  CHECK(standing.units[0].stands() == Stood::not_audited);
  CHECK(standing.unread.empty());
}

TEST_CASE("a record that cannot be read is told and hides no other") {
  Here here;
  here.audit(morning - day, {stood_as("LK-104", "agrees")});
  here.audits.insert(here.audits.begin(), "{\"audit\": 9}");
  const Standing standing = here.standing();
  CHECK(standing.units[0].stands() == Stood::agrees);
  REQUIRE(notes(standing).size() == 1);
  CHECK_THAT(notes(standing).front(), Catch::StartsWith("1 record could not be read: audits/one.json: "));
}

TEST_CASE("what a change did to a unit is counted, and one that has not ended is noted") {
  Here here;
  records::ChangeRecord ended;
  ended.number = 7;
  ended.fleet = here.fleet.name;
  ended.begun = records::stamp(morning - 10 * hour);
  ended.ended = records::stamp(morning - 9 * hour);
  ended.units = {{"LK-104", "settled", "", 3, 4200}, {"LK-105", "nothing to do", "", 0, 0}};
  records::ChangeRecord broken = ended;
  broken.number = 8;
  broken.ended.clear();
  broken.units = {{"LK-104", "needs attention", "may be in standby", 1, 800}};
  records::ChangeRecord old = ended;
  old.number = 1;
  old.begun = records::stamp(morning - 300 * day);
  const Standing standing = here.standing(3, {old, ended, broken});
  CHECK(standing.changes.size() == 2);
  CHECK(standing.units[0].off_air_ms() == 5000);
  CHECK(standing.off_air_ever_ms == 9200);
  CHECK(standing.units[0].changed == std::vector<bool>{false, false, true});
  CHECK(standing.units[1].changes.empty());
  CHECK_THAT(notes(standing).back(), Catch::StartsWith("Change 0008 has not ended"));
}

TEST_CASE("the summary tells a difference that is new, and not one that is as it was") {
  Here here;
  auto before = stood_as("LK-104", "drifted");
  before.differences = {difference_of("position-tolerance", "20 m")};
  before.health = {finding_of("satellites", "warning")};
  auto now = before;
  here.audit(morning - day - 4 * hour, {before, stood_as("LK-105", "agrees")});
  SECTION("all as it was") {
    here.audit(morning - 4 * hour, {now, stood_as("LK-105", "agrees")});
    CHECK(night_summary(here.standing()) ==
          "Larkmoor district, night of 2026-11-26: 2 of 2 units audited\nnothing changed since the night "
          "before\n");
  }
  SECTION("another value, another finding") {
    now.differences = {difference_of("position-tolerance", "30 m")};
    now.health.push_back(finding_of("temperature", "warning"));
    now.doors = {{"community public", records::FactoryTry::Result::opens, ""}};
    here.audit(morning - 4 * hour, {now, stood_as("LK-105", "wrong unit")});
    CHECK(night_summary(here.standing()) ==
          "Larkmoor district, night of 2026-11-26: 2 of 2 units audited\n"
          "drifted: LK-104 (position-tolerance)\n"
          "no answer: LK-105 (wrong unit)\n"
          "found: error: community public opens it, as from the factory (LK-104) and warning: temperature is "
          "not as "
          "wanted (LK-104)\n");
  }
  SECTION("no audit") {
    CHECK_THAT(night_summary(here.standing()),
               Catch::Contains("no audit; see why the nightly job did not run"));
  }
}

TEST_CASE(
    "what ends is soon within a month, and of what units renew by themselves when the fleet wants more "
    "left") {
  Here here;
  here.fleet.limits.certificate_left_h = 24;
  auto now = stood_as("LK-104", "agrees");
  now.ends = {{"application certificate for PSID 0x82", morning + 23 * hour, false, true},
              {"application certificate for PSID 0x83", morning + 25 * hour, false, true},
              {"enrolment certificate", morning + 29 * day},
              {"another certificate", morning + 31 * day},
              {"one that is over", morning - hour}};
  here.audit(morning - 4 * hour, {now});
  std::vector<std::pair<std::string, bool>> told;
  for (const Ending& one : endings(here.fleet, here.standing().units[0], morning))
    told.emplace_back(one.what, one.soon);
  CHECK(told == std::vector<std::pair<std::string, bool>>{{"application certificate for PSID 0x82", true},
                                                          {"application certificate for PSID 0x83", false},
                                                          {"enrolment certificate", true},
                                                          {"another certificate", false}});
}

TEST_CASE("a value that is too long for the page is cut, wherever its letters end") {
  Here here;
  auto now = stood_as("LK-104", "drifted");
  for (const char* begin : {"", "x"}) {
    std::string found = begin;
    for (int i = 0; i < 300; ++i) found += "\xc3\xa4";
    now.differences.push_back(difference_of("position-tolerance", found));
  }
  here.audit(morning - 4 * hour, {now});
  CHECK_THAT(page(here.standing()), Catch::Contains("characters)"));
}

TEST_CASE("in the page no text can end the element that holds it") {
  // HTML Living Standard, 4.12.1.3: "<!--", "<script" and "</script" are what must not stand in a script
  // element.
  Here here;
  auto now = stood_as("LK-104", "no answer");
  now.what = "</script><!-- <script>";
  here.audit(morning - 4 * hour, {now});
  const std::string text = page(here.standing());
  const std::size_t begin = text.find("id=\"standing\">");
  REQUIRE(begin != std::string::npos);
  const std::string behind = text.substr(begin + 14);
  const std::string inside = behind.substr(0, behind.find("</script>"));
  CHECK(inside.find('<') == std::string::npos);
  CHECK_THAT(inside, Catch::EndsWith("}") && Catch::Contains("\\u003c/script>"));
}
