#include "smi/wire.h"

using namespace vergeset::smi;

namespace {

constexpr std::string_view text_form = "AddressText (SIZE(0..64))";

std::string spelled(std::string_view address) {
  const auto value = encode(syntax_of(text_form), address);
  return value ? value->octets : value.problem();
}

}  // namespace

TEST_CASE("an IPv6 address has the 16 octets that RSU 4.1 publishes") {
  // RSU 4.1 MIB, rsuDsrcFwdDestIpAddr
  CHECK(wire("AddressOctets", "2001:333:22:ef::1") == "20010333002200ef0000000000000001");
  CHECK(words("AddressOctets", "20010333002200ef0000000000000001") == "2001:333:22:ef::1");
}

TEST_CASE("an IPv4 address in 16 octets is mapped (RFC 4291 2.5.5.2)") {
  CHECK(wire("AddressOctets", "127.0.0.7") == "00000000000000000000ffff7f000007");
  CHECK(wire("AddressOctets", "::ffff:127.0.0.7") == "00000000000000000000ffff7f000007");
  CHECK(words("AddressOctets", "00000000000000000000ffff7f000007") == "127.0.0.7");
}

TEST_CASE("an address text is written as RFC 5952 wants it") {
  // RFC 5952 4.1, 4.2.1, 4.2.2, 4.2.3, 4.3, 5
  CHECK(spelled("2001:0db8::0001") == "2001:db8::1");
  CHECK(spelled("2001:db8:0:0:0:0:2:1") == "2001:db8::2:1");
  CHECK(spelled("2001:db8:0:1:1:1:1:1") == "2001:db8:0:1:1:1:1:1");
  CHECK(spelled("2001:0:0:1:0:0:0:1") == "2001:0:0:1::1");
  CHECK(spelled("2001:db8:0:0:1:0:0:1") == "2001:db8::1:0:0:1");
  CHECK(spelled("2001:DB8::ABCD") == "2001:db8::abcd");
  CHECK(spelled("::ffff:7f00:1") == "::ffff:127.0.0.1");
  CHECK(spelled("0:0:0:0:0:0:0:0") == "::");
  CHECK(spelled("::1") == "::1");
  CHECK(spelled("1::") == "1::");
  CHECK(spelled("::1:2") == "::1:2");
  CHECK(spelled("1:0:0:2:0:0:0:0") == "1:0:0:2::");
  CHECK(spelled("127.0.0.1") == "127.0.0.1");
}

TEST_CASE("what is no address is refused, a host name as well") {
  using namespace std::string_literals;
  for (const std::string& text : {"lk-101.larkmoor.example"s, "127.0.0"s, "127.0.0.256"s, "127.0.0.1/8"s,
                                  "127.0.0.1:162"s, "1:2:3"s, ":::"s, "1::2::3"s, "fe80::1%eth0"s, "[::1]"s,
                                  "12345::"s, "127.0.0.1\0x"s, std::string(100000, ':'), "\xff\xfe"s}) {
    INFO(text.substr(0, 40));
    CHECK(refused(text_form, text));
    CHECK(refused("AddressOctets", text));
    CHECK(refused("IpAddress", text));
  }
  CHECK(spelled("lk-101") == "expected an IPv4 or IPv6 address (no host name, no zone), found lk-101");
}

TEST_CASE("no address is written as none where the size allows it") {
  CHECK(wire(text_form, "none").empty());
  CHECK(wire(text_form, "").empty());
  CHECK(words(text_form, "") == "none");
  CHECK(refused("AddressText (SIZE(1..64))", "none"));
  CHECK(refused("AddressText (SIZE(1..64))", ""));
  CHECK(refused("AddressOctets", "none"));
}

TEST_CASE("an address that is too long for its object is refused") {
  CHECK(wire("AddressText (SIZE(0..8))", "127.0.0.1") ==
        "refused: expected AddressText (SIZE(0..8)), found 9 octets in 127.0.0.1");
}

TEST_CASE("an IpAddress is four octets") {
  CHECK(wire("IpAddress", "127.0.0.1") == "7f000001");
  const Syntax syntax = syntax_of("IpAddress");
  CHECK(to_text(syntax, *encode(syntax, "127.0.0.1")) == "127.0.0.1");
  CHECK(refused("IpAddress", "::1"));
}

TEST_CASE("a MAC address may be written with colons, dashes or bare, in either case") {
  for (const char* text : {"02:00:5e:10:00:0a", "02-00-5E-10-00-0A", "02005e10000a", " 02:00:5E:10:00:0a "})
    CHECK(wire("MacAddress", text) == "02005e10000a");
  CHECK(words("MacAddress", "02005e10000a") == "02:00:5e:10:00:0a");
  CHECK(words("MacAddress", "02005e") == "0x02005e");
  for (const char* text :
       {"", "none", "02:00:5e:10:00", "02:00:5e:10:00:0a:0b", "2:0:5e:10:0:a", "0200.5e10.000a"}) {
    INFO(text);
    CHECK(refused("MacAddress", text));
  }
}

TEST_CASE("octets that are no address are shown without harm") {
  CHECK(words("AddressOctets", "7f000001") == "0x7f000001");
  CHECK(words(text_form, "1b5b324a") == "\\x1b[2J");
  CHECK(words(text_form, "31323700") == "127");
  CHECK(words(text_form, "3132372e302e302e3100") == "127.0.0.1");
}
