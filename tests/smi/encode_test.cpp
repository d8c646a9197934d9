#include "smi/wire.h"

using namespace vergeset::smi;

namespace {

constexpr std::string_view options =
    "BITS { bypass1609dot2off(0), unsecured(1), stopAfterShortCommLoss(2), stopAfterLongCommLoss(3) }";

}  // namespace

TEST_CASE("a number outside its range is refused with range and number") {
  CHECK(wire("Integer32 (172..184)", "183") == "183");
  CHECK(wire("Integer32 (172..184)", "300") == "refused: expected Integer32 (172..184), found 300");
  CHECK(wire("Integer32 (0..100)", "15 m") == "refused: expected Integer32 (0..100), found \"15 m\"");
  CHECK(wire("Integer32", "2147483648") ==
        "refused: expected Integer32 (-2147483648..2147483647), found 2147483648");
}

TEST_CASE("a number may be written in decimal or in hex") {
  CHECK(wire("Integer32", "-42") == "-42");
  CHECK(wire("Integer32", "+42") == "42");
  CHECK(wire("Integer32", "0x2A") == "42");
  CHECK(wire("Integer32", "007") == "7");
}

TEST_CASE("what is no whole number is refused, also far beyond 64 bits") {
  for (const char* text : {"", "-", "+", "+-1", "--1", "1.0", "1e3", "0x", "0x-1", "-0x1", "1 2", "ten",
                           "9223372036854775808", "-9223372036854775809", "18446744073709551617",
                           "0xffffffffffffffffffff", "99999999999999999999999999999999999"}) {
    INFO(text);
    CHECK(refused("Integer32", text));
    CHECK(refused("Gauge32", text));
    CHECK(refused("OctetNumber", text));
  }
  CHECK(refused("Integer32", std::string_view("1\0", 2)));
}

TEST_CASE("unsigned numbers have 32 or 64 bits") {
  CHECK(wire("Counter32", "4294967295") == "4294967295");
  CHECK(refused("Counter32", "4294967296"));
  CHECK(refused("Gauge32", "-1"));
  CHECK(wire("Counter64", "18446744073709551615") == "18446744073709551615");
  CHECK(refused("Counter64", "18446744073709551616"));
  CHECK(refused("Counter64", "-1"));
  CHECK(wire("Counter64 (0..10)", "10") == "10");
  CHECK(refused("Counter64 (0..10)", "18446744073709551615"));
}

TEST_CASE("a prefix length is one octet as RSU 4.1 publishes it") {
  // RSU 4.1 MIB, rsuWraIpPrefixLength
  CHECK(wire("OctetNumber (0..128)", "64") == "40");
  CHECK(wire("OctetNumber (0..128)", "60") == "3c");
  CHECK(wire("OctetNumber (0..128)", "52") == "34");
  CHECK(words("OctetNumber (0..128)", "40") == "64");
  CHECK(wire("OctetNumber (0..128)", "129") == "refused: expected OctetNumber (0..128), found 129");
  CHECK(wire("OctetNumber", "255") == "ff");
}

TEST_CASE("an enumeration is written by label or by number") {
  const std::string_view mode = "INTEGER { standby(2), operate(4), off(16) }";
  CHECK(wire(mode, "operate") == "4");
  CHECK(wire(mode, "OPERATE") == "4");
  CHECK(wire(mode, "4") == "4");
  CHECK(wire(mode, "0x10") == "16");
  CHECK(wire(mode, "operat") ==
        "refused: expected one of standby(2), operate(4), off(16), found operat; did you mean operate?");
  CHECK(wire(mode, "3") == "refused: expected one of standby(2), operate(4), off(16), found 3");
  CHECK(refused(mode, ""));
}

TEST_CASE("a label in another case is taken only where it can mean one thing") {
  const std::string_view two = "INTEGER { slotA(0), slota(1), other(2) }";
  CHECK(wire(two, "slotA") == "0");
  CHECK(wire(two, "slota") == "1");
  CHECK(refused(two, "SLOTA"));
  CHECK(wire(two, "Other") == "2");
}

TEST_CASE("standby and operate have the numbers of the two standards") {
  // RSU 4.1 MIB and NTCIP 1218 v01, rsuMode
  CHECK(wire("INTEGER { standby (2), operate (4), off (16) }", "off") == "16");
  CHECK(wire("INTEGER { other(1), standby(2), operate(3) }", "operate") == "3");
}

TEST_CASE("RowStatus has the numbers of RFC 2579") {
  // RFC 2579, RowStatus
  const std::vector<std::pair<const char*, const char*>> numbers{
      {"active", "1"},      {"notInService", "2"},  {"notReady", "3"},
      {"createAndGo", "4"}, {"createAndWait", "5"}, {"destroy", "6"}};
  for (const auto& [label, number] : numbers) {
    CHECK(wire("RowStatus", label) == number);
    CHECK(wire("RowStatus", number) == number);
  }
  CHECK(refused("RowStatus", "0"));
  CHECK(refused("RowStatus", "7"));
}

TEST_CASE("bit 0 is the high bit of the first octet (RFC 2578 7.1.4)") {
  CHECK(wire(options, "bypass1609dot2off") == "80");
  CHECK(wire(options, "unsecured, stopAfterLongCommLoss") == "50");
  CHECK(wire(options, "stopAfterLongCommLoss unsecured") == "50");
  CHECK(wire("BITS { a(0), b(8) }", "b") == "0080");
  CHECK(wire("BITS { a(0), b(7) }", "b") == "01");
  CHECK(words(options, "50") == "unsecured stopAfterLongCommLoss");
}

TEST_CASE("BITS are encoded in the fewest octets that hold every label") {
  CHECK(wire(options, "none") == "00");
  CHECK(wire("BITS { a(0), b(8) }", "a") == "8000");
  CHECK(wire("BITS { a(0), b(8) }", "none") == "0000");
  CHECK(wire(options, "0x50") == "50");
  CHECK(wire(options, "0x5000") == "50");
  CHECK(wire("BITS { a(0), b(8) }", "0x80") == "8000");
}

TEST_CASE("bits without a label are refused and shown in hex") {
  CHECK(refused(options, "0x08"));
  CHECK(refused(options, "0x5001"));
  CHECK(words(options, "58") == "0x58");
  CHECK(wire(options, "unsecurd") ==
        "refused: expected labels out of bypass1609dot2off(0), unsecured(1), stopAfterShortCommLoss(2), "
        "stopAfterLongCommLoss(3), or none, found unsecurd; did you mean unsecured?");
  for (const char* text : {"", ",", " , ", "0x5", "0xzz", "unsecured none"}) {
    INFO(text);
    CHECK(refused(options, text));
  }
}

TEST_CASE("a label none of BITS is a label") {
  const std::string_view odd = "BITS { none(0), all(1) }";
  CHECK(wire(odd, "none") == "80");
  CHECK(words(odd, "80") == "none");
  CHECK(words(odd, "00") == "0x00");
  CHECK(wire(odd, "0x00") == "00");
}

TEST_CASE("octets are written in hex") {
  // published UPER sample messages of a connected-vehicle certification body, 2017: a whole MessageFrame
  CHECK(wire("OCTET STRING (SIZE(0..2302))", "0012020000") == "0012020000");
  CHECK(wire("OCTET STRING (SIZE(0..2302))", "0x0012020000") == "0012020000");
  CHECK(wire("OCTET STRING (SIZE(0..2302))", "00 12 02\n00 00\n") == "0012020000");
  CHECK(words("OCTET STRING (SIZE(0..2302))", "0012020000") == "0012020000");
  CHECK(wire("OCTET STRING (SIZE(0..31))", "none").empty());
  CHECK(words("OCTET STRING (SIZE(0..31))", "") == "none");
  CHECK(wire("OCTET STRING (SIZE(0|6))", "0102") ==
        "refused: expected OCTET STRING (SIZE(0|6)), found 2 octets in 0102");
  CHECK(
      wire("OCTET STRING", "xyz") ==
      "refused: expected octets in hex such as 0a1b or 0x0a1b: expected hex digits, found x at character 1");
}

TEST_CASE("a payload has at most 2302 octets (IEEE 1609.3)") {
  const std::string_view payload = "OCTET STRING (SIZE(0..2302))";
  CHECK_FALSE(refused(payload, std::string(2 * 2302, '0')));
  CHECK(refused(payload, std::string(2 * 2303, '0')));
  CHECK(wire(payload, std::string(2 * 2303, '0')).size() < 200);
}

TEST_CASE("display text is printable ASCII of a size") {
  CHECK(wire("DisplayString (SIZE(0..4))", "pole") == "706f6c65");
  CHECK(wire("DisplayString (SIZE(0..4))", " a ") == "206120");
  CHECK(wire("DisplayString (SIZE(0..4))", "").empty());
  CHECK(wire("DisplayString (SIZE(0..4))", "none") == "6e6f6e65");
  CHECK(wire("DisplayString (SIZE(0..4))", "poles") ==
        "refused: expected DisplayString (SIZE(0..4)), found 5 octets in poles");
  CHECK(wire("DisplayString", "a\tb") ==
        "refused: expected printable ASCII, found 0x09 at octet 2 of \"a\\x09b\"");
  CHECK(refused("DisplayString", "caf\xc3\xa9"));
  CHECK(refused("DisplayString", std::string_view("a\0", 2)));
  CHECK(refused("DisplayString", std::string(256, 'a')));
  CHECK_FALSE(refused("DisplayString", std::string(255, 'a')));
}

TEST_CASE("an object identifier that BER cannot carry is refused") {
  // RSU 4.1 MIB, rsuSysObjectID
  CHECK(wire("OBJECT IDENTIFIER", "1.0.15628.4.1.6.0") == "1.0.15628.4.1.6.0");
  CHECK(wire("OBJECT IDENTIFIER", "2.999") == "2.999");
  for (const char* text : {"1", "3.1", "1.40", "0.40.1", "", "none"}) {
    INFO(text);
    CHECK(refused("OBJECT IDENTIFIER", text));
  }
}
