#include "smi/quantity.h"

#include <limits>

#include "catch.h"

using namespace vergeset;
using namespace vergeset::smi;

namespace {

/// The number that an object counting in `unit` takes for a text, or why it takes none.
std::string counted(std::string_view text, std::string_view unit) {
  const auto quantity = Quantity::parse(text);
  if (!quantity) return quantity.problem();
  const auto number = in_unit(*quantity, unit);
  return number ? std::to_string(*number) : number.problem();
}

}  // namespace

TEST_CASE("decimals are exact") {
  CHECK(*Decimal::parse("51.1234567") == Decimal{511234567, 7});
  CHECK(*Decimal::parse("-0.5") == Decimal{-5, 1});
  CHECK(*Decimal::parse("+7") == Decimal{7, 0});
  CHECK(*Decimal::parse("15.00") == Decimal{15, 0});
  CHECK(*Decimal::parse("-9223372036854775808") == Decimal{std::numeric_limits<std::int64_t>::min(), 0});
  CHECK(Decimal::parse("51.1234567")->str() == "51.1234567");
  CHECK(Decimal{-5, 3}.str() == "-0.005");
  CHECK(Decimal{0, 2}.str() == "0.00");
  CHECK(Decimal{5, -2}.str() == "500");
  CHECK(Decimal{std::numeric_limits<std::int64_t>::min(), 18}.str() == "-9.223372036854775808");
}

TEST_CASE("what is no decimal, or too long for an exact one, is refused") {
  for (const char* text :
       {"", "-", ".", "5.", ".5", "1.2.3", "1,000", "1e3", "0x10", "--1", "1 2", "NaN", "inf",
        "9223372036854775808", "-9223372036854775809", "0.1234567890123456789", "99999999999.9999999999"}) {
    INFO(text);
    CHECK_FALSE(Decimal::parse(text));
  }
}

TEST_CASE("a quantity is a number and what stands behind it") {
  CHECK(Quantity::parse("15 m")->unit == "m");
  CHECK(Quantity::parse("-60dBm")->unit == "dBm");
  CHECK(Quantity::parse("-60dBm")->number == Decimal{-60, 0});
  CHECK(Quantity::parse(" 51.5 ")->unit.empty());
  CHECK(Quantity::parse("80 % of full strength")->unit == "% of full strength");
  CHECK(Quantity::parse("3 100 ms")->unit == "100 ms");
  for (const char* text : {"", "m", "m 15", "15 20", "0x10", "1.2.3 m", "- m", "1,5 m", "15 (m)", "\x01"}) {
    INFO(text);
    CHECK_FALSE(Quantity::parse(text));
  }
}

TEST_CASE("a quantity is counted in the unit of its object") {
  CHECK(counted("15 m", "cm") == "1500");
  CHECK(counted("15 m", "m") == "15");
  CHECK(counted("1500cm", "m") == "15");
  CHECK(counted("2.5 m", "dm") == "25");
  CHECK(counted("250 ms", "ms") == "250");
  CHECK(counted("1 s", "ms") == "1000");
  CHECK(counted("300 ms", "100 ms") == "3");
  CHECK(counted("2 hours", "min") == "120");
  CHECK(counted("2 days", "h") == "48");
  CHECK(counted("168 h", "days") == "7");
  CHECK(counted("20 dBm", "dBm") == "20");
  CHECK(counted("80 %", "% of full strength") == "80");
  CHECK(counted("-4.5 dBi", "dBi").find("broken") != std::string::npos);
  CHECK(counted("-34 C", "degree C") == "-34");
  CHECK(counted("5 megabytes", "MB") == "5");
  CHECK(counted("2 per s", "per 5 s") == "10");
  CHECK(counted("5 rows", "rows") == "5");
}

TEST_CASE("a position in degrees comes out to the last digit") {
  CHECK(counted("51.1234567 deg", "1e-7 degree") == "511234567");
  CHECK(counted("-179.9999999 degrees", "1e-7 degree") == "-1799999999");
  CHECK(counted("90 deg", "1e-7 degree") == "900000000");
  CHECK(counted("51.12345678 deg", "1e-7 degree") ==
        "51.12345678 deg comes out broken: this object counts in whole 1e-7 degree, the nearest are "
        "51.1234567 deg "
        "and 51.1234568 deg");
}

TEST_CASE("a run of 300 ft is 91.44 m") {
  // 1 ft is 0.3048 m
  CHECK(counted("300 ft", "cm") == "9144");
  CHECK(counted("300 ft", "m").find("the nearest are 91 m and 92 m") != std::string::npos);
  CHECK(counted("10 in", "mm") == "254");
}

TEST_CASE("a quantity without a unit is in the object's own") {
  CHECK(counted("15", "cm") == "15");
  CHECK(counted("15", "") == "15");
  CHECK(counted("15", "furlongs") == "15");
  CHECK(counted("15 furlongs", "furlongs") == "15");
  CHECK(counted("15.5", "m") ==
        "15.5 comes out broken: this object counts in whole m, the nearest are 15 m and 16 m");
  CHECK(counted("15 m", "") == "this object counts in no unit: write 15 alone, without m");
}

TEST_CASE("a broken number is refused with its neighbours") {
  CHECK(counted("15.5 m", "m") ==
        "15.5 m comes out broken: this object counts in whole m, the nearest are 15 m and 16 m");
  CHECK(counted("-15.5 m", "m") ==
        "-15.5 m comes out broken: this object counts in whole m, the nearest are -16 m and -15 m");
  CHECK(counted("1 day", "week").find("0 weeks and 1 week") != std::string::npos);
}

TEST_CASE("percent of full strength does not convert into dBm") {
  CHECK(counted("50 %", "dBm") ==
        "50 %: power in % of full strength does not convert into dBm: it depends on the unit's full strength "
        "and "
        "antenna");
  CHECK(counted("20 dBm", "% of full strength").find("depends on the unit's full strength") !=
        std::string::npos);
  CHECK(counted("100 mW", "dBm").find("logarithm") != std::string::npos);
}

TEST_CASE("units of two dimensions do not convert") {
  CHECK(counted("15 m", "s") == "15 m: a length does not convert into s, which counts a time");
  CHECK(counted("68 degree F", "degree C").find("write temperatures in deg C") != std::string::npos);
  CHECK_FALSE(same_dimension("m", "s"));
  CHECK_FALSE(same_dimension("% of full strength", "dBm"));
  CHECK_FALSE(same_dimension("m", ""));
  CHECK_FALSE(same_dimension("furlongs", "leagues"));
  CHECK(same_dimension("m", "cm"));
  CHECK(same_dimension("100 ms", "h"));
  CHECK(same_dimension("1e-7 degree", "degree"));
  CHECK(same_dimension("", ""));
  CHECK(same_dimension("furlongs", "furlongs"));
}

TEST_CASE("an unknown unit is refused with those that fit") {
  CHECK(counted("15 metrees", "cm") ==
        "unknown unit of measure metrees; did you mean metres?; this object takes m, dm, cm, mm, km, ft, in");
  CHECK(counted("15 furlongs", "cm") ==
        "unknown unit of measure furlongs; this object takes m, dm, cm, mm, km, ft, in");
  CHECK(
      counted("15 m", "furlongs") ==
      "this object counts in furlongs, into which nothing converts: write the number alone, found \"15 m\"");
}

TEST_CASE("a unit in another case is taken") {
  CHECK(counted("20 dbm", "dBm") == "20");
  CHECK(counted("5 mb", "MB") == "5");
  CHECK(counted("15 M", "m") == "15");
}

TEST_CASE("a number beyond 64 bits is refused and never wraps") {
  CHECK(counted("9223372036854775807", "") == "9223372036854775807");
  CHECK(counted("9223372036854775807 km", "mm") == "9223372036854775807 km is too large a number to count");
  CHECK(counted("-9223372036854775808 km", "mm") == "-9223372036854775808 km is too large a number to count");
  CHECK(counted("-9223372036854775808 mm", "mm") == "-9223372036854775808");
  CHECK(counted("99999999999999999999 m", "m").find("more digits") != std::string::npos);
  CHECK(Decimal{1, std::numeric_limits<int>::min()}.str() == "1e2147483648");
  const Quantity absurd{{1, std::numeric_limits<int>::min()}, "m"};
  CHECK_FALSE(in_unit(absurd, "m"));
  const Quantity tiny{{1, std::numeric_limits<int>::max()}, "m"};
  CHECK_FALSE(in_unit(tiny, "m"));
}

TEST_CASE("numbers are shown with their unit") {
  CHECK(with_unit(150, "1e-7 degree") == "0.0000150 deg");
  CHECK(with_unit(-1799999999, "1e-7 degree") == "-179.9999999 deg");
  CHECK(with_unit(15, "m") == "15 m");
  CHECK(with_unit(7, "") == "7");
  CHECK(with_unit(1, "days") == "1 day");
  CHECK(with_unit(2, "days") == "2 days");
  CHECK(with_unit(0, "messages") == "0 messages");
  CHECK(with_unit(1, "messages") == "1 message");
  CHECK(with_unit(3, "100 ms") == "300 ms");
  CHECK(with_unit(20, "dBm") == "20 dBm");
  CHECK(with_unit(80, "% of full strength") == "80 %");
  CHECK(with_unit(20, "degree C") == "20 deg C");
  CHECK(with_unit(3, "22.5 degree sector") == "sector 3");
  CHECK(with_unit(3, "furlongs") == "3 furlongs");
  CHECK(with_unit(std::numeric_limits<std::int64_t>::max(), "100 ms") == "9223372036854775807 times 100 ms");
}

TEST_CASE("a number shown with its unit is read back as the same number") {
  // every unit of both object lists, but the sectors of the compass, which are shown as "sector 3"
  for (const char* unit : {"dBm",      "satellites",  "rows",
                           "ms",       "octets",      "messages",
                           "s",        "1e-7 degree", "cm",
                           "m",        "dm",          "MB",
                           "h",        "100 ms",      "per 5 s",
                           "degree C", "min",         "dBi",
                           "degree",   "days",        "% of full strength",
                           ""}) {
    for (const std::int64_t number : {0L, 1L, -1L, 7L, 172L, 2147483647L, -2147483648L}) {
      const std::string text = with_unit(number, unit);
      INFO(text);
      CHECK(counted(text, unit) == std::to_string(number));
    }
  }
}
