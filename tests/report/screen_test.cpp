#include "report/screen.h"

#include "catch.h"
#include "report/table.h"
#include "report/words.h"
#include "sample.h"

using namespace vergeset;
using namespace vergeset::report;
using namespace vergeset::tests;

TEST_CASE("width counts characters of UTF-8, not octets") {
  CHECK(text_width("abc") == 3);
  CHECK(text_width("Sm\xc3\xb8rl\xc3\xa5") == 6);
  CHECK(text_width("e\xcc\x81") == 1);  // U+0301 combines
  CHECK(text_width("\xf0\x9f\x9a\xa6") == 1);
  CHECK(text_width("\xff\xfe") == 2);  // no UTF-8: an octet each
}

TEST_CASE("control characters are shown, and letters are left alone") {
  CHECK(printable("a\x1b[31mb") == "a\\x1b[31mb");
  CHECK(printable("two\nlines\r\t") == "two\\x0alines\\x0d\\x09");
  CHECK(printable("\xc2\x9b"
                  "31m") == "\\xc2\\x9b31m");                 // C1 CSI
  CHECK(printable("x\xe2\x80\xaey") == "x\\xe2\\x80\\xaey");  // U+202E turns the writing round
  CHECK(printable("\xc0\xafz") == "\\xc0\\xafz");             // overlong
  CHECK(printable("Mill Lane, \xc3\xa5") == "Mill Lane, \xc3\xa5");
}

TEST_CASE("columns are aligned by characters") {
  Table table(0, {"a", "b"});
  table.add({"Sm\xc3\xb8rl\xc3\xa5", "1"});
  table.add({"Weirby", "2"});
  CHECK(table.text(Screen{}) == "a        b\nSm\xc3\xb8rl\xc3\xa5   1\nWeirby   2\n");
}

TEST_CASE("a table on a terminal is never wider than the terminal") {
  Table table(2, {"setting", "as found", "desired"});
  table.add({std::string(60, 'x'), std::string(200, 'y'), "some words that go on for quite a while and on"});
  for (const int width : {40, 80, 132}) CHECK(widest(table.text(terminal(width))) <= width);
}

TEST_CASE("wrapping loses no letter") {
  const std::string text = "one two " + std::string(50, 'z') + " three";
  std::string joined;
  for (const std::string& line : wrapped(text, 12, true)) {
    CHECK(text_width(line) <= 12);
    for (const char c : line) joined += c == ' ' ? "" : std::string(1, c);
  }
  CHECK(joined == "onetwo" + std::string(50, 'z') + "three");
}

TEST_CASE("in a pipe no word is broken, so that grep finds it") {
  Table table(2, {"setting", "desired"});
  const std::string word(150, 'w');
  table.add({"name", word});
  CHECK_THAT(table.text(Screen{}), Catch::Contains(word));
}

TEST_CASE("in a pipe a word that is too wide leaves the other columns their room") {
  Table table(0, {"setting", "as found", "why"});
  const std::string prose = "some words that go on for quite a while and on";
  table.add({"name", std::string(120, 'w'), "short"});
  table.add({"other", "15 m", prose});
  CHECK_THAT(table.text(Screen{}), Catch::Contains(prose));
}

TEST_CASE("a place in a file is not broken while another column can give way") {
  Table table(2, {"setting", "desired", "asked at", "by"});
  const std::string place = "groups/northern-corridor.yaml:123:12";
  table.add({"forwarding-destination-address", std::string(64, 'a'), place, "group northern-corridor"});
  const std::string text = table.text(terminal(80));
  CHECK(widest(text) <= 80);
  CHECK_THAT(text, Catch::Contains(place));
}

TEST_CASE("a word that has to be broken is broken behind a mark") {
  CHECK(wrapped("groups/northern.yaml", 10, true) ==
        std::vector<std::string>{"groups/", "northern.y", "aml"});
}

TEST_CASE("a line below a row has the whole width") {
  Table table(0, {"change", "who"});
  table.add({"0042", "ops@desk"});
  table.add_below("why: a reason that is longer than both columns", 3);
  CHECK(lines_of(table.text(Screen{}))[2] == "   why: a reason that is longer than both columns");
}

TEST_CASE("what a cell holds cannot break its table or reach the terminal") {
  Table table(0, {"unit", "says"});
  table.add({"LK-1", "\x1b[2J\nLK-2   settled"});
  const std::string text = table.text(terminal());
  CHECK(lines_of(text).size() == 2);
  CHECK(text.find('\x1b') == std::string::npos);
}

TEST_CASE("style is bold and dim alone, and only where the screen has it") {
  Screen plain;
  CHECK(bold(plain, "LK-1") == "LK-1");
  CHECK(dim(plain, "unit") == "unit");
  Screen styled;
  styled.styled = true;
  CHECK(bold(styled, "LK-1") == "\033[1mLK-1\033[0m");
  CHECK(dim(styled, "unit") == "\033[2munit\033[0m");
}

TEST_CASE("long octet strings are shortened to their first octets, length and digest") {
  smi::Syntax octets;
  octets.form = smi::Form::octets;
  // The digest is that of sha256sum (coreutils 9.1): printf 'a%.0s' {1..34} | sha256sum.
  const smi::Value value = smi::Value::of_octets(std::string(34, 'a'));
  Screen screen;
  CHECK(value_text(screen, octets, "", value) == "61616161...(34 octets, sha256 a27c896c)");
  screen.full = true;
  CHECK_THAT(value_text(screen, octets, "", value), Catch::Contains(smi::to_hex(value.octets)));
  screen.full = false;
  CHECK(shorten_hex(screen, "SET x.1 = " + smi::to_hex(value.octets) + ", y = beef") ==
        "SET x.1 = 61616161...(34 octets, sha256 a27c896c), y = beef");
}

TEST_CASE("a summary counts in the order of its words and leaves out what does not occur") {
  CHECK(summary({"settled", "no answer", "held"}, {"held", "settled", "settled"}) ==
        "3 units: 2 settled, 1 held");
  CHECK(summary({"settled"}, {"settled"}) == "1 unit: 1 settled");
}

TEST_CASE("columns move closer together before a word is broken") {
  Table table(0, {"a", "b"});
  table.add({std::string(20, 'x'), std::string(18, 'y')});
  CHECK(lines_of(table.text(terminal(40))).size() == 2);
  CHECK(lines_of(table.text(terminal(39))).size() == 3);
}
