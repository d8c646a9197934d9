#include "fleet/import_cells.h"

#include <cmath>

#include "catch.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

/// The date, "either" where a person has to decide, or the problem.
std::string date(const std::string& cell, DateOrder order = DateOrder::undecided) {
  const auto read = date_of(cell, order);
  if (!read) return read.problem();
  return *read ? **read : "either";
}

std::string text(const Result<std::string>& read) {
  return read ? *read : read.problem();
}

std::string metres(const std::string& cell, const std::string& bare = "m") {
  return text(measure_of_cell(cell, "m", bare));
}

bool starts(const std::string& all, const std::string& with) {
  return all.rfind(with, 0) == 0;
}

}  // namespace

TEST_CASE("a date whose day and month could be each other is not decided before a person does") {
  CHECK(date("6/10/2024") == "either");
  CHECK(date("06.10.24") == "either");
  CHECK(date("6/10/2024", DateOrder::day_first) == "2024-10-06");
  CHECK(date("6/10/2024", DateOrder::month_first) == "2024-06-10");
  CHECK(date("25/6/2024") == "2024-06-25");
  CHECK(date("6/25/2024") == "2024-06-25");
  CHECK(date("7/7/2024") == "2024-07-07");
  CHECK(date("25/6/2024", DateOrder::month_first) == "expected month/day/year, as --dates month-first says");
  CHECK(order_told_by("25/6/2024") == DateOrder::day_first);
  CHECK(order_told_by("6/25/2024") == DateOrder::month_first);
  CHECK(order_told_by("6/10/2024") == DateOrder::undecided);
}

TEST_CASE("dates that can be read in one way alone are read, with a time of day behind them or not") {
  for (const char* cell :
       {"2024-06-10", "2024/6/10", "2024.06.10", "20240610", "10 Jun 2024", "10-Jun-24", "June 10, 2024",
        "Jun 10 2024", "2024-06-10 08:30:00", "2024-06-10T08:30:00Z", "10 June 2024 8:30 AM"}) {
    INFO(cell);
    CHECK(date(cell) == "2024-06-10");
  }
}

TEST_CASE("what is no date is told as that") {
  for (const char* cell : {"soon", "2024", "31/2/2024", "2024-02-30", "6/10", "13/13/2024", "10 Foo 2024",
                           "6/10/2024/5", "6/10/2024 or 7/11/2024", "0/0/0"}) {
    INFO(cell);
    CHECK(starts(date(cell), "expected a date"));
  }
  CHECK(date("45453").find("number of days") != std::string::npos);
}

TEST_CASE("a decimal mark is taken from the cell where the cell settles it, and else from a person") {
  CHECK(mark_told_by("12,5") == DecimalMark::comma);
  CHECK(mark_told_by("1.234,5 m") == DecimalMark::comma);
  CHECK(mark_told_by("1,234.5") == DecimalMark::point);
  CHECK(mark_told_by("54.8999") == DecimalMark::point);
  CHECK(mark_told_by("1,234,567") == DecimalMark::point);
  CHECK(mark_told_by("0,125") == DecimalMark::comma);
  CHECK(mark_told_by("1,234") == DecimalMark::undecided);
  CHECK(mark_told_by("1.234") == DecimalMark::undecided);
  CHECK(mark_told_by("120 ft") == DecimalMark::undecided);
  CHECK(with_point("1,234 ft", DecimalMark::point) == "1234 ft");
  CHECK(with_point("1,234 ft", DecimalMark::comma) == "1.234 ft");
  CHECK(with_point("1.234,5", DecimalMark::undecided) == "1234.5");
  CHECK(with_point("12,5", DecimalMark::point) == "12.5");
  CHECK(with_point("120 ft", DecimalMark::undecided) == "120 ft");
  CHECK_FALSE(with_point("1,234", DecimalMark::undecided));
  CHECK_FALSE(measure_of_cell(*with_point("1,2,3", DecimalMark::undecided), "m", "m"));
}

TEST_CASE("lengths are converted from the unit in the cell, or that of the column") {
  // A foot is 0.3048 m and an inch 0.0254 m exactly (international yard and pound agreement, 1959).
  CHECK(metres("120 ft") == "36.576");
  CHECK(metres("120'") == "36.576");
  CHECK(metres("120 Feet") == "36.576");
  CHECK(metres("120 LF") == "36.576");
  CHECK(metres("120", "ft") == "36.576");
  CHECK(metres("31 m", "ft") == "31");
  CHECK(metres("31.50") == "31.5");
  CHECK(metres("5' 6\"") == "1.676");
  CHECK(metres("5 ft 6 in") == "1.676");
  CHECK(metres("250 cm") == "2.5");
  CHECK(metres("\u00b1 0.05 m") == "0.05");
  CHECK(metres("-3.2") == "-3.2");
  for (const char* cell : {"about 30", "30 kg", "ft", "", "12 ft 3 V", "1e5", "3 0", "120 ft (est.)"}) {
    INFO(cell);
    CHECK(metres(cell) == "expected a number of m");
  }
  CHECK(text(measure_of_cell("48.2 VDC", "V", "V")) == "48.2");
  CHECK(text(measure_of_cell("3 ohms", "ohm", "ohm")) == "3");
  CHECK(text(measure_of_cell("3 \u03a9", "ohm", "ohm")) == "3");
}

TEST_CASE("coordinates are read in degrees, minutes and seconds, with a sign or with the letter of a side") {
  CHECK(text(degrees_of("54.8999074", true, 0)) == "54.8999074");
  CHECK(text(degrees_of("-20.0293837", false, 0)) == "-20.0293837");
  CHECK(text(degrees_of("20.0293837 W", false, 0)) == "-20.0293837");
  CHECK(text(degrees_of("W20.0293837\u00b0", false, 0)) == "-20.0293837");
  CHECK(text(degrees_of("20.0293837", false, 'W')) == "-20.0293837");
  CHECK(text(degrees_of("-20.0293837", false, 'W')) == "-20.0293837");
  CHECK(text(degrees_of("54,8999074", true, 0)) == "54.8999074");
  CHECK(text(degrees_of("\u221220.5", false, 0)) == "-20.5");
  // 54 + 53/60 + 59.6664/3600 = 54.8999073...
  for (const char* cell :
       {"54\u00b053'59.6664\"N", "N 54 53 59.6664", "54-53-59.6664 N", "54d 53m 59.6664s N", "54:53:59.6664",
        "54\u00b0 53\u2032 59,6664\u2033 N", "54 deg 53.99444 min north"}) {
    INFO(cell);
    const auto degrees = degrees_of(cell, true, 0);
    REQUIRE(degrees);
    CHECK(std::abs(std::stod(*degrees) - (54 + 53.0 / 60 + 59.6664 / 3600)) < 1e-7);
  }
  CHECK(text(degrees_of("20 1 45.7813 S", true, 0)) == "-20.0293837");
}

TEST_CASE("coordinates that contradict themselves or the column are told") {
  CHECK(starts(text(degrees_of("20.5 W", true, 0)), "expected N or S"));
  CHECK(starts(text(degrees_of("54.5 N", false, 0)), "expected E or W"));
  CHECK(starts(text(degrees_of("-54.5 N", true, 0)), "expected a sign or a letter"));
  CHECK(starts(text(degrees_of("-20.5 W", false, 0)), "expected a sign or a letter"));
  for (const char* cell :
       {"54 61 0", "54 0 60", "54.5 30 0", "north", "54 1 2 3", "54.5 N S", "54.5 O", "x", "--5"}) {
    INFO(cell);
    CHECK(starts(text(degrees_of(cell, true, 0)), "expected degrees"));
  }
}

TEST_CASE("hardware addresses come in several groupings") {
  for (const char* cell : {"00:1a:2b:3c:4d:5e", "00-1A-2B-3C-4D-5E", "001a.2b3c.4d5e", "001A2B3C4D5E",
                           "0:1a:2b:3c:4d:5e", " 00 1a 2b 3c 4d 5e "}) {
    INFO(cell);
    CHECK(text(hardware_address_of(cell)) == "00:1a:2b:3c:4d:5e");
  }
  for (const char* cell : {"00:1a:2b:3c:4d", "00:1a:2b:3c:4d:5e:6f", "001a2b3c4d5g", "", "0:0"}) {
    INFO(cell);
    CHECK_FALSE(hardware_address_of(cell));
  }
}

TEST_CASE("an address gives up its port, its prefix and what a browser puts around it") {
  const auto taken = [](const std::string& cell) {
    const auto found = host_port_of(cell);
    return found ? found->host + " " + found->port + " " + found->without : "no: " + found.problem();
  };
  CHECK(taken("192.0.2.7") == "192.0.2.7  ");
  CHECK(taken("192.0.2.7:16161") == "192.0.2.7 16161 ");
  CHECK(taken("[2001:DB8::7]:161") == "2001:db8::7 161 ");
  CHECK(taken("2001:db8::7") == "2001:db8::7  ");
  CHECK(taken("192.0.2.7/24") == "192.0.2.7  /24");
  CHECK(taken("http://192.0.2.7/login") == "192.0.2.7  http:///login");
  CHECK(taken("RSU-7.Larkmoor.example") == "rsu-7.larkmoor.example  ");
  for (const char* cell : {"192.0.2", "192.0.2.7:", "192.0.2.7:0", "192.0.2.7:99999", "[2001:db8::7",
                           "192.0.2.7 192.0.2.8", "10.1.2.300", "see note"}) {
    INFO(cell);
    CHECK(starts(taken(cell), "no: expected"));
  }
}

TEST_CASE("yes and no have many words") {
  for (const char* cell : {"Yes", "Y", "TRUE", "x", "1"}) CHECK(text(yes_no_of(cell)) == "yes");
  for (const char* cell : {"No", "n", "false", "0"}) CHECK(text(yes_no_of(cell)) == "no");
  CHECK_FALSE(yes_no_of("maybe"));
}

TEST_CASE("a name becomes one that can be a file's, or is refused") {
  CHECK(text(unit_name_of("LK-101")) == "LK-101");
  CHECK(text(unit_name_of("RSU 12 (Main & 1st)")) == "RSU-12-Main-1st");
  CHECK(text(unit_name_of("../etc")) == "etc");
  CHECK_FALSE(unit_name_of("***"));
  CHECK_FALSE(unit_name_of("M\u00fchlweg"));
  CHECK_FALSE(unit_name_of(std::string(65, 'a')));
}

TEST_CASE("what a spreadsheet program has spoilt is told, and what says nothing is known") {
  CHECK_FALSE(spoilt("#REF!").empty());
  CHECK_FALSE(spoilt("1.23E+11").empty());
  CHECK(spoilt("LM12E+3").empty());
  CHECK(spoilt("1E11").empty());
  CHECK(says_nothing("N/A"));
  CHECK(says_nothing(" - "));
  CHECK_FALSE(says_nothing("0"));
}
