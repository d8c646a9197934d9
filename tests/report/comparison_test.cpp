#include <regex>

#include "catch.h"
#include "report/audit_text.h"
#include "report/comparison_text.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

TEST_CASE("differences are a table of setting, as found and desired, in words") {
  const std::string text = differences_text(terminal(), {address(), tolerance()});
  const std::vector<std::string> lines = lines_of(text);
  REQUIRE(lines.size() == 3);
  CHECK(lines[0] == "  setting              as found   desired");
  CHECK(lines[1] == "  notify-address       0.0.0.0    192.0.2.10");
  CHECK(lines[2] == "  position-tolerance   20000 m    15 m");
}

TEST_CASE("a row that is to be made stands above its columns") {
  const std::vector<std::string> lines = lines_of(differences_text(terminal(), {new_row()}));
  REQUIRE(lines.size() >= 4);
  CHECK(std::regex_match(lines[1], std::regex("  store-and-repeat map \\(row 1\\) +no such row +new row")));
  CHECK(std::regex_match(lines[2], std::regex("    psid +0x82")));
  CHECK_THAT(lines[3], Catch::Contains("payload"));
}

TEST_CASE("a row that is to go stands above its columns as found, of which nothing is desired") {
  change::Difference gone = gone_row();
  CHECK_THAT(differences_text(terminal(), {gone}),
             Catch::Contains("(row 9)   there      no such row\n    psid") && Catch::EndsWith("0x83\n"));
  gone.whole_row.clear();
  CHECK_THAT(differences_text(terminal(), {gone}), Catch::EndsWith("(row 9)   there      no such row\n"));
}

TEST_CASE("what takes more words than the value is shown in them") {
  change::Difference mode = tolerance();
  mode.items.front().found_words = "15 m, not reached";
  CHECK_THAT(differences_text(terminal(), {mode}), Catch::Contains("15 m, not reached"));
}

TEST_CASE("a comparison with what was kept says so in place of the unit's address") {
  const fleet::Unit unit = unit_here();
  const From survey{From::Kind::survey, ""};
  CHECK(lines_of(audited_text(terminal(), drifted(unit), survey)).front() ==
        "LK-104   NTCIP 1218 v01   as surveyed 2026-11-25T02:00Z   3 differences");
  CHECK(lines_of(audited_text(terminal(), silent(unit), survey)).front() ==
        "LK-104   NTCIP 1218 v01   not surveyed   no answer");
  CHECK(lines_of(audited_text(terminal(), drifted(unit), {From::Kind::walk, "104.walk"})).front() ==
        "LK-104   NTCIP 1218 v01   from 104.walk   3 differences");
}

TEST_CASE("a long payload is shortened unless it is asked for whole") {
  Screen screen;
  CHECK_THAT(differences_text(screen, {new_row()}), Catch::Contains("00120001...(402 octets, sha256 "));
  screen.full = true;
  CHECK_THAT(differences_text(screen, {new_row()}), Catch::Contains(smi::to_hex(payload())));
}

TEST_CASE("no line of differences begins with a sign") {
  const std::regex sign("^ *[-+~*!<>]");
  const fleet::Unit unit = unit_here();
  for (const std::string& line : lines_of(audit_text(terminal(), {drifted(unit), silent(unit)}))) {
    INFO(line);
    CHECK_FALSE(std::regex_search(line, sign));
  }
}

TEST_CASE("a unit is headed by its name, model, address and number of differences") {
  const fleet::Unit unit = unit_here();
  CHECK(lines_of(audited_text(terminal(), drifted(unit))).front() ==
        "LK-104   NTCIP 1218 v01   127.77.0.104:16161   3 differences");
}

TEST_CASE("an IPv6 address is told from its port") {
  fleet::Unit unit = unit_here();
  unit.host = "2001:db8::7";
  CHECK(address_text(unit) == "[2001:db8::7]:16161");
}

TEST_CASE("an audit tells of rows nobody asked for, objects not offered and health") {
  const fleet::Unit unit = unit_here();
  const std::string text = audit_text(terminal(), {drifted(unit)});
  CHECK_THAT(text, Catch::Contains("rows that nobody asked for\n    store-and-repeat row 7"));
  CHECK_THAT(text, Catch::Contains("not there\n    notify-port: the unit does not offer rsuNotifyPort"));
  CHECK_THAT(text, Catch::Contains("health\n    warning: 3 satellites (NTCIP 1218 v01 rsuGnssStatus)"));
  CHECK_THAT(text, !Catch::Contains("supply"));
}

TEST_CASE("an audit ends with one line of counts and passes over units that agree") {
  const fleet::Unit one = unit_here("LK-101");
  const fleet::Unit two = unit_here("LK-102");
  const fleet::Unit three = unit_here("LK-103");
  const std::string text =
      audit_text(terminal(), {agreeing(one), drifted(two), silent(three), agreeing(one)});
  CHECK(lines_of(text).back() == "4 units: 2 agree, 1 drifted, 1 no answer");
  CHECK_THAT(text, !Catch::Contains("LK-101"));
  CHECK_THAT(text, Catch::Contains("no answer within 4 tries"));
}

TEST_CASE("an audit fits the terminal, whatever a unit answered") {
  const fleet::Unit unit = unit_here();
  change::Audited audited = drifted(unit);
  audited.comparison.differences.push_back(
      value_difference(item("rsuLocationDesc", "location-description",
                            smi::Value::of_octets("\x1b]0;owned\x07" + std::string(90, 'q')),
                            smi::Value::of_octets("Mill Lane at Weir Road"))));
  audited.comparison.obstacles = {
      "store-and-repeat: 30 rows would be needed, the unit takes 20 (maxRsuMsgRepeat), and "
      "more words follow so that the line is long"};
  for (const int width : {60, 80, 120}) {
    const std::string text = audit_text(terminal(width), {audited});
    CHECK(widest(text) <= width);
    CHECK(text.find('\x1b') == std::string::npos);
    CHECK(text.find('\x07') == std::string::npos);
  }
}

TEST_CASE("what holds for many units that agree is told once, with their names") {
  const fleet::Unit one = unit_here("LK-101");
  const fleet::Unit two = unit_here("LK-102");
  change::Audited first = agreeing(one);
  change::Audited second = agreeing(two);
  first.comparison.remarks = second.comparison.remarks = {
      {change::Remark::Kind::other_row, "radio row 2", "nobody asked for this row"}};
  CHECK(audit_text(terminal(), {first, second}) ==
        "of units that agree\n  radio row 2: nobody asked for this row\n    LK-101, LK-102\n\n2 units: 2 "
        "agree\n");
}
