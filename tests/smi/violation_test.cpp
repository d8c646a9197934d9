#include "smi/wire.h"

using namespace vergeset::smi;

namespace {

std::string fault(std::string_view notation, const Value& value) {
  return violation(syntax_of(notation), value).value_or("none");
}

}  // namespace

TEST_CASE("a number over the wire that is out of range is told with its bound") {
  CHECK(fault("Integer32 (0..100)", Value::integer(100)) == "none");
  CHECK(fault("Integer32 (0..100)", Value::integer(200)) ==
        "200 is above 100, the most that Integer32 (0..100) allows");
  CHECK(fault("Integer32 (-100..-60)", Value::integer(-101)) ==
        "-101 is below -100, the least that Integer32 (-100..-60) allows");
  CHECK(fault("Integer32 (1|3)", Value::integer(2)) == "2 is none of 1|3, which Integer32 (1|3) allows");
  CHECK(fault("OctetNumber (0..128)", octets_value("81")) ==
        "129 is above 128, the most that OctetNumber (0..128) allows");
  CHECK(fault("OctetNumber (0..128)", octets_value("4000")) ==
        "2 octets came where OctetNumber (0..128) wants one");
  CHECK(fault("Counter64", Value::of_number(Type::counter64, -1)) == "none");
  CHECK(fault("Counter64 (0..10)", Value::of_number(Type::counter64, -1)) ==
        "18446744073709551615 is above 10, the most that Counter64 (0..10) allows");
}

TEST_CASE("a number without a label is told with the labels") {
  CHECK(fault("INTEGER { off(0), on(1) }", Value::integer(1)) == "none");
  CHECK(fault("INTEGER { off(0), on(1) }", Value::integer(7)) == "7 is none of off(0), on(1)");
  CHECK(fault("RowStatus", Value::integer(4)) == "none");
  CHECK(fault("RowStatus", Value::integer(7)) ==
        "7 is none of active(1), notInService(2), notReady(3), createAndGo(4), createAndWait(5), destroy(6)");
  CHECK(fault("BITS { a(0), b(1) }", octets_value("c0")) == "none");
  CHECK(fault("BITS { a(0), b(1) }", octets_value("c001")) == "bit 15 is set and is none of a(0), b(1)");
}

TEST_CASE("octets of a wrong length are told with the length") {
  CHECK(fault("OCTET STRING (SIZE(0|6))", octets_value("010203")) ==
        "a length of 3 octets is none of 0|6, which OCTET STRING (SIZE(0|6)) allows");
  CHECK(fault("DisplayString (SIZE(0..3))", Value::of_octets("pole")) ==
        "a length of 4 octets is above 3, the most that DisplayString (SIZE(0..3)) allows");
  CHECK(fault("Psid (SIZE(1..4))", Value::of_octets("")) ==
        "a length of 0 octets is below 1, the least that Psid (SIZE(1..4)) allows");
  CHECK(fault("MacAddress (SIZE(0..6))", octets_value("01")) ==
        "a length of 1 octet is none that MacAddress (SIZE(0..6)) can have");
  CHECK(fault("AddressOctets", octets_value("7f000001")) ==
        "a length of 4 octets is below 16, the least that AddressOctets (SIZE(16)) allows");
  CHECK(fault("IpAddress", {Type::ip_address, 0, octets_of("7f00"), {}}) ==
        "a length of 2 octets is below 4, the least that IpAddress allows");
}

TEST_CASE("octets that mean nothing in their form are told") {
  CHECK(fault("DateAndTime", octets_value("07e10d0717220000")) ==
        "0x07e10d0717220000 is no time of calendar and clock");
  CHECK(fault("TimeOfDay", octets_value("180000")) == "0x180000 is no time of day");
  CHECK(fault("AddressText (SIZE(0..64))", Value::of_octets("lk-101")) ==
        "lk-101 is no IPv4 or IPv6 address");
  CHECK(fault("AddressText (SIZE(0..64))", Value::of_octets("")) == "none");
  CHECK(fault("Psid", octets_value("80")) ==
        "the first octet of a P-encoded PSID announces 2 octets, found 1");
  CHECK(fault("DisplayString", Value::of_octets("caf\xc3\xa9")) == "octet 4 is 0xc3, which is not ASCII");
  // RFC 2579, DisplayString
  CHECK(fault("DisplayString", Value::of_octets("a\rb")) == "octet 2 is a CR without LF or NUL behind it");
  CHECK(fault("DisplayString", Value::of_octets("a\r\nb\tc")) == "none");
}

TEST_CASE("no time is no violation where its length is allowed") {
  CHECK(fault("DateAndTime", octets_value("0000000000000000")) == "none");
  CHECK(fault("MinuteStamp", octets_value("")) == "none");
  CHECK(fault("DateAndTime", octets_value("")) ==
        "a length of 0 octets is below 8, the least that DateAndTime (SIZE(8|11)) allows");
}

TEST_CASE("a value of another type is told with both types") {
  CHECK(fault("Integer32", Value::of_octets("7")) ==
        "a value of type OCTET STRING came where Integer32 travels as Integer32");
  CHECK(fault("OctetNumber", Value::integer(64)) ==
        "a value of type Integer32 came where OctetNumber travels as OCTET STRING");
  CHECK(fault("Integer32", Value::of_number(Type::gauge32, 7)) ==
        "a value of type Gauge32 came where Integer32 travels as Integer32");
  CHECK(fault("Integer32", Value::of_number(Type::no_such_instance, 0)) ==
        "there is no value (noSuchInstance)");
}
