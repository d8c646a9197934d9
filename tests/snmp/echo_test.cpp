#include "snmp/echo.h"

#include "catch.h"

using namespace vergeset::snmp;

namespace {

std::string octets(std::initializer_list<int> numbers) {
  std::string text;
  for (const int number : numbers) text += static_cast<char>(number);
  return text;
}

}  // namespace

TEST_CASE("the Internet checksum is that of the example of RFC 1071") {
  // RFC 1071 section 3: 00 01 f2 03 f4 f5 f6 f7 sum up to ddf2; the checksum is its complement.
  CHECK(internet_checksum(octets({0x00, 0x01, 0xf2, 0x03, 0xf4, 0xf5, 0xf6, 0xf7})) == 0x220d);
  // An odd octet is padded with a zero one (RFC 1071 section 1 (1); RFC 792, Echo, Checksum).
  CHECK(internet_checksum(octets({0x01})) == 0xfeff);
}

TEST_CASE(
    "an echo request of ICMP has type 8, code 0, checksum, identifier, sequence, and the payload behind") {
  // RFC 792, Echo or Echo Reply Message.
  const std::string request = echo_request(Icmp::v4, 0x1234, 0x0002, "ab");
  CHECK(request.size() == 10);
  CHECK(request.substr(0, 2) == octets({8, 0}));
  CHECK(request.substr(4) == octets({0x12, 0x34, 0x00, 0x02, 'a', 'b'}));
  // RFC 1071 section 1 (3): with its checksum in place the whole sums up to all ones.
  CHECK(internet_checksum(request) == 0);
  // By hand: 0800 + 1234 + 0002 + 6162 = 7b98, of which the complement is 8467.
  CHECK(request.substr(2, 2) == octets({0x84, 0x67}));
}

TEST_CASE("an echo request of ICMPv6 has type 128 and code 0") {
  // RFC 4443 4.1.
  CHECK(echo_request(Icmp::v6, 7, 9, "x") == octets({128, 0, 0, 0, 0, 7, 0, 9, 'x'}));
}

TEST_CASE("a reply is the one of type 0, or 129 of ICMPv6, with the request's sequence and payload") {
  // RFC 792: "The data received in the echo message must be returned in the echo reply message."
  const std::string v4 = octets({0, 0, 0, 0, 0, 7, 0, 3, 'x'});
  CHECK(is_reply(Icmp::v4, v4, 3, "x"));
  CHECK_FALSE(is_reply(Icmp::v4, v4, 4, "x"));
  CHECK_FALSE(is_reply(Icmp::v4, v4, 3, "y"));
  CHECK_FALSE(is_reply(Icmp::v6, v4, 3, "x"));
  CHECK_FALSE(is_reply(Icmp::v4, octets({8, 0, 0, 0, 0, 7, 0, 3, 'x'}), 3, "x"));
  CHECK_FALSE(is_reply(Icmp::v4, octets({0, 0, 0}), 3, "x"));
  // RFC 4443 4.2.
  CHECK(is_reply(Icmp::v6, octets({129, 0, 0, 0, 0, 7, 0, 3, 'x'}), 3, "x"));
  // RFC 792, destination unreachable: type 3.
  CHECK_FALSE(is_reply(Icmp::v4, octets({3, 1, 0, 0, 0, 7, 0, 3, 'x'}), 3, "x"));
}
