#include "snmp/engine_id.h"

#include "catch.h"

using namespace vergeset::snmp;

namespace {

std::string octets(std::initializer_list<int> numbers) {
  std::string text;
  for (const int number : numbers) text += static_cast<char>(number);
  return text;
}

}  // namespace

/// RFC 3411 section 5, SnmpEngineID.
TEST_CASE(
    "an engine id begins with its vendor's enterprise number, whose first bit says how the rest is made") {
  // "if 'acme Networks' has been assigned { enterprises 696 }, the first four octets would be '000002b8'H"
  const auto old = read_engine_id(octets({0x00, 0x00, 0x02, 0xb8, 1, 2, 3, 4, 5, 6, 7, 8}));
  REQUIRE(old);
  CHECK(old->enterprise == 696);
  CHECK(old->kind == "RFC 1910");
  CHECK(old->content == "0102030405060708");
  // "... the first bit [is set to 1]: '800002b8'H. The fifth octet: 1 IPv4 address".
  const auto v4 = read_engine_id(octets({0x80, 0x00, 0x02, 0xb8, 1, 10, 77, 1, 4}));
  REQUIRE(v4);
  CHECK(v4->enterprise == 696);
  CHECK(v4->kind == "IPv4 address");
  CHECK(v4->content == "10.77.1.4");
}

TEST_CASE("the fifth octet says what an engine id was made of") {
  const std::string acme = octets({0x80, 0x00, 0x02, 0xb8});
  const auto v6 = read_engine_id(acme + octets({2, 0xfd, 0x77, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 4}));
  CHECK(v6->kind == "IPv6 address");
  CHECK(v6->content == "fd77::4");
  const auto mac = read_engine_id(acme + octets({3, 0, 0x1b, 0x44, 0x11, 0x3a, 0xb7}));
  CHECK(mac->kind == "MAC address");
  CHECK(mac->content == "00:1b:44:11:3a:b7");
  const auto text = read_engine_id(acme + "\x04LK-104");
  CHECK(text->kind == "text");
  CHECK(text->content == "LK-104");
  const auto plain = read_engine_id(acme + octets({5, 0xab, 0xcd}));
  CHECK(plain->kind == "octets");
  CHECK(plain->content == "abcd");
  const auto own = read_engine_id(acme + octets({128, 1}));
  CHECK(own->kind == "vendor's own");
  // An address of another length than its kind's is shown as the octets that it is.
  CHECK(read_engine_id(acme + octets({1, 10, 77}))->kind == "octets");
}

TEST_CASE("what is no engine id is not read as one") {
  // "SIZE(5..32)"; "The value of this object is ... never all zeros or all 'ff'H".
  CHECK_FALSE(read_engine_id(""));
  CHECK_FALSE(read_engine_id(octets({0x80, 0, 2, 0xb8})));
  CHECK_FALSE(read_engine_id(std::string(33, '\x01')));
  CHECK_FALSE(read_engine_id(std::string(12, '\0')));
  CHECK_FALSE(read_engine_id(std::string(12, '\xff')));
}
