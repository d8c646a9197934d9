#include "smi/wire.h"

using namespace vergeset::smi;

TEST_CASE("DateAndTime has the octets of its example in RFC 2579") {
  // RFC 2579, DateAndTime: Tuesday May 26, 1992 at 1:30:15 PM EDT
  CHECK(wire("DateAndTime", "1992-05-26T13:30:15.0-04:00") == "07c8051a0d1e0f002d0400");
  CHECK(words("DateAndTime", "07c8051a0d1e0f002d0400") == "1992-05-26T13:30:15-04:00");
}

TEST_CASE("minute stamps have the octets that RSU 4.1 publishes") {
  // RSU 4.1 MIB, revision 2018-12-06, rsuSRMDeliveryStart
  CHECK(wire("MinuteStamp", "2017-10-07T23:34Z") == "07e10a071722");
  CHECK(words("MinuteStamp", "07e10a071722") == "2017-10-07T23:34Z");
  // US DOT, RSU 4.1 implementation FAQ, 30 March 2018
  CHECK(wire("MinuteStamp", "2018-03-13T12:35Z") == "07e2030d0c23");
  CHECK(words("MinuteStamp", "07e2030d0c23") == "2018-03-13T12:35Z");
}

TEST_CASE("the closing time has the octets that RSU 4.1 publishes") {
  // RSU 4.1 MIB, rsuSysLogCloseTime
  CHECK(wire("TimeOfDay", "23:59:00") == "173b00");
  CHECK(wire("TimeOfDay", "23:59") == "173b00");
  CHECK(words("TimeOfDay", "173b00") == "23:59:00");
}

TEST_CASE("a time in UTC travels in 8 octets, one with an offset in 11") {
  CHECK(wire("DateAndTime", "2026-11-01T06:00Z") == "07ea0b0106000000");
  CHECK(wire("DateAndTime", "2026-11-01 06:00:30.5Z") == "07ea0b0106001e05");
  CHECK(wire("DateAndTime", "2026-11-01T07:00+01:00") == "07ea0b01070000002b0100");
  CHECK(wire("DateAndTime", "2026-11-01T07:00+0100") == "07ea0b01070000002b0100");
  CHECK(wire("DateAndTime", "2026-11-01T06:00+00:00") == "07ea0b01060000002b0000");
}

TEST_CASE("a time takes the only length that its object allows, at the same instant") {
  CHECK(wire("DateAndTime (SIZE(8))", "2027-01-01T00:30+01:00") == "07ea0c1f171e0000");
  CHECK(wire("DateAndTime (SIZE(11))", "2026-11-01T06:00Z") == "07ea0b01060000002b0000");
}

TEST_CASE("a time without a zone is refused") {
  CHECK(wire("DateAndTime", "2026-11-01T06:00") ==
        "refused: 2026-11-01T06:00 has no time zone: say Z or an offset such as +01:00");
  CHECK(refused("MinuteStamp", "2026-11-01T06:00:00"));
}

TEST_CASE("fields that calendar or clock do not have are refused") {
  CHECK(wire("DateAndTime", "2026-02-29T00:00Z") ==
        "refused: 2026-02-29T00:00Z: month 2026-02 has no day 29");
  CHECK_FALSE(refused("DateAndTime", "2024-02-29T00:00Z"));
  CHECK_FALSE(refused("DateAndTime", "2000-02-29T00:00Z"));
  CHECK(refused("DateAndTime", "2100-02-29T00:00Z"));
  for (const char* text : {"2026-00-01T00:00Z",
                           "2026-13-01T00:00Z",
                           "2026-04-31T00:00Z",
                           "2026-01-00T00:00Z",
                           "2026-01-01T24:00Z",
                           "2026-01-01T00:60Z",
                           "2026-01-01T00:00:61Z",
                           "65536-01-01T00:00Z",
                           "2026-01-01T00:00+14:00",
                           "2026-01-01T00:00+01:60",
                           "2026-01-01T00:00:00.Z",
                           "2026-01-01T00:00:00.25Z",
                           "2026-1-1T00:00Z",
                           "26-01-01T00:00Z",
                           "2026-01-01",
                           "2026-01-01T00:00ZZ",
                           "2026-01-01T00:00 Z",
                           "2026-01-01T00:00+",
                           "2026-01-01T00:00+1",
                           "2026-01-01T00Z",
                           "yesterday",
                           "",
                           "99999999999-01-01T00:00Z"}) {
    INFO(text);
    CHECK(refused("DateAndTime", text));
    CHECK(refused("DateAndTime (SIZE(8))", text));
  }
}

TEST_CASE("a leap second is a time (RFC 2579, DateAndTime)") {
  CHECK(wire("DateAndTime", "2016-12-31T23:59:60Z") == "07e00c1f173b3c00");
  CHECK(words("DateAndTime", "07e00c1f173b3c00") == "2016-12-31T23:59:60Z");
}

TEST_CASE("a minute stamp is converted to UTC and takes no seconds") {
  CHECK(wire("MinuteStamp", "2026-12-31T20:30-04:00") == "07eb0101001e");
  CHECK(wire("MinuteStamp", "2026-03-01T00:30+01:00") == "07ea021c171e");
  CHECK(wire("MinuteStamp", "2026-11-01T06:00:30Z") ==
        "refused: expected a time to the minute, found 2026-11-01T06:00:30Z: leave the seconds out");
  CHECK(refused("MinuteStamp", "0000-01-01T00:30+01:00"));
  CHECK(refused("MinuteStamp", "65535-12-31T23:30-01:00"));
}

TEST_CASE("no time is written as none") {
  CHECK(wire("MinuteStamp", "none").empty());
  CHECK(refused("MinuteStamp (SIZE(6))", "none"));
  CHECK(wire("DateAndTime (SIZE(0|8|11))", "none").empty());
  // common practice, no source: eight zeros where no time was set
  CHECK(wire("DateAndTime", "none") == "0000000000000000");
  CHECK(refused("DateAndTime (SIZE(11))", "none"));
  for (const char* hex : {"", "000000000000", "0000000000000000", "0000000000000000000000"}) {
    CHECK(words("DateAndTime", hex) == "none");
    CHECK(words("MinuteStamp", hex) == "none");
    CHECK_FALSE(instant_of(octets_of(hex)));
  }
}

TEST_CASE("an instant counts tenths of a second since 1970 in UTC") {
  CHECK(*instant_of(octets_of("07b2010100000000")) == 0);
  CHECK(*instant_of(octets_of("07b201010000")) == 0);
  CHECK(*instant_of(octets_of("07b2010100000101")) == 11);
  CHECK(*instant_of(octets_of("07b10c1f173b3b09")) == -1);
  // RFC 2579, DateAndTime: 1992-05-26 17:30:15 UTC, 706901415 by `date -u +%s`
  CHECK(*instant_of(octets_of("07c8051a0d1e0f002d0400")) == 7069014150);
  CHECK(*instant_of(octets_of("07b2010101000000"
                              "2b0100")) == 0);
  CHECK(*instant_of(octets_of("07b10c1f17000000"
                              "2d0100")) == 0);
  // 0000-01-01 is 719528 days before 1970-01-01 in the Gregorian calendar carried backwards
  CHECK(*instant_of(octets_of("0000010100000000")) == -719528LL * 864000);
  CHECK(*instant_of(octets_of("0000030100000000")) == (-719528LL + 60) * 864000);
  CHECK(instant_of(octets_of("ffff0c1f173b3c09")));
}

TEST_CASE("octets that are no time have no instant and are shown in hex") {
  for (const char* hex :
       {"07", "07e10a0717", "07e10d071722", "07e10a201722", "07e10a071822", "07e1020717220000ff",
        "07c8051a0d1e3d00", "07c8051a0d1e0f0a", "07c8051a0d1e0f002a0400", "07c8051a0d1e0f002d0e00",
        "07c8051a0d1e0f002d043c", "0000000000", "000000000001"}) {
    INFO(hex);
    CHECK_FALSE(instant_of(octets_of(hex)));
    CHECK(words("DateAndTime", hex) == std::string("0x") + hex);
    CHECK(violation(syntax_of("DateAndTime"), octets_value(hex)));
  }
}

TEST_CASE("what is no time of day is refused") {
  for (const char* text : {"", "24:00", "23:60", "23:59:60", "2359", "23-59", "1:00", "23:59:", "23:59:0",
                           "23:59:00Z", "ab:cd", "-1:00"}) {
    INFO(text);
    CHECK(refused("TimeOfDay", text));
  }
  CHECK(words("TimeOfDay", "180000") == "0x180000");
  CHECK(words("TimeOfDay", "1700") == "0x1700");
}
