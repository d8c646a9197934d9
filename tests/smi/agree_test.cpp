#include "smi/wire.h"

using namespace vergeset::smi;

namespace {

bool agree_text(std::string_view notation, std::string a, std::string b) {
  return agree(syntax_of(notation), Value::of_octets(std::move(a)), Value::of_octets(std::move(b)));
}

}  // namespace

TEST_CASE("addresses in text agree by address") {
  const std::string_view form = "AddressText (SIZE(0..64))";
  CHECK(agree_text(form, "2001:DB8::1", "2001:db8:0:0:0:0:0:1"));
  CHECK(agree_text(form, "127.0.0.1", "::ffff:127.0.0.1"));
  CHECK(agree_text(form, "127.0.0.1", "::FFFF:7F00:1"));
  CHECK(agree_text(form, "127.0.0.1", std::string("127.0.0.1\0", 10)));
  CHECK(agree_text(form, "", std::string("\0\0", 2)));
  CHECK(agree_text(form, "unset", std::string("unset\0", 6)));
}

TEST_CASE("addresses that differ do not agree") {
  const std::string_view form = "AddressText (SIZE(0..64))";
  CHECK_FALSE(agree_text(form, "2001:db8::1", "2001:db8::2"));
  CHECK_FALSE(agree_text(form, "127.0.0.1", "::127.0.0.1"));
  CHECK_FALSE(agree_text(form, "::", ""));
  CHECK_FALSE(agree_text(form, "0.0.0.0", ""));
  CHECK_FALSE(agree_text(form, "::", "0.0.0.0"));
  CHECK_FALSE(agree_text(form, "host", "HOST"));
  CHECK_FALSE(agree_text(form, "127.0.0.1", "127.0.0.1 "));
  CHECK_FALSE(
      agree_octets("AddressOctets", "20010333002200ef0000000000000001", "20010333002200ef0000000000000002"));
  CHECK_FALSE(agree_octets("AddressOctets", "00000000000000000000ffff7f000001", "7f000001"));
}

TEST_CASE("times agree by instant") {
  CHECK(agree_octets("DateAndTime", "07ea0b0106000000", "07ea0b01070000002b0100"));
  CHECK(agree_octets("DateAndTime", "07ea0b0106000000", "07ea0b01060000002d0000"));
  CHECK(agree_octets("DateAndTime", "07eb010100000000", "07ea0c1f140000002d0400"));
  CHECK(agree_octets("MinuteStamp", "07e10a071722", "07e10a0717220000"));
}

TEST_CASE("times a tenth of a second apart do not agree") {
  CHECK_FALSE(agree_octets("DateAndTime", "07ea0b0106000000", "07ea0b0106000001"));
  CHECK_FALSE(agree_octets("DateAndTime", "07ea0b0106000000", "07ea0b01060000002b0100"));
  CHECK_FALSE(agree_octets("MinuteStamp", "07e10a071722", "07e10a071723"));
}

TEST_CASE("no time agrees with no time and nothing else") {
  for (const char* a : {"", "000000000000", "0000000000000000", "0000000000000000000000"}) {
    for (const char* b : {"", "000000000000", "0000000000000000"}) CHECK(agree_octets("DateAndTime", a, b));
    CHECK_FALSE(agree_octets("DateAndTime", a, "07b2010100000000"));
    CHECK_FALSE(agree_octets("DateAndTime", a, "00000000000000ff"));
    CHECK_FALSE(agree_octets("DateAndTime", a, "0000"));
  }
}

TEST_CASE("octets that are no time agree only when they are the same") {
  CHECK(agree_octets("DateAndTime", "ffff", "ffff"));
  CHECK_FALSE(agree_octets("DateAndTime", "ffff", "fffe"));
  CHECK_FALSE(agree_octets("DateAndTime", "07e10d0717220000", "07e10e0717220000"));
}

TEST_CASE("a MAC address agrees with itself in either case") {
  const Syntax mac = syntax_of("MacAddress");
  CHECK(agree(mac, *encode(mac, "02:00:5E:10:00:0A"), *encode(mac, "02-00-5e-10-00-0a")));
  CHECK_FALSE(agree(mac, *encode(mac, "02:00:5e:10:00:0a"), *encode(mac, "02:00:5e:10:00:0b")));
}

TEST_CASE("text agrees without its trailing NULs") {
  CHECK(agree_text("DisplayString", "pole 7", std::string("pole 7\0\0", 8)));
  CHECK(agree_text("DisplayString", "", std::string("\0", 1)));
  CHECK_FALSE(agree_text("DisplayString", "pole 7", "pole 7 "));
  CHECK_FALSE(agree_text("DisplayString", "pole 7", "Pole 7"));
  CHECK_FALSE(agree_text("DisplayString", "ab", std::string("a\0b", 3)));
}

TEST_CASE("octets agree only when they are the same") {
  const Syntax octets = syntax_of("OCTET STRING");
  CHECK(agree(octets, *encode(octets, "0x0A1B"), *encode(octets, "0a 1b")));
  CHECK_FALSE(agree_octets("OCTET STRING", "0a1b", "0a1b00"));
  CHECK_FALSE(agree_octets("OCTET STRING", "", "00"));
  CHECK_FALSE(agree_octets("Psid", "8002", "8003"));
  CHECK_FALSE(agree_octets("TimeOfDay", "173b00", "173b01"));
}

TEST_CASE("BITS agree without trailing zero octets") {
  const std::string_view bits = "BITS { a(0), b(1), c(9) }";
  CHECK(agree_octets(bits, "80", "8000"));
  CHECK(agree_octets(bits, "", "0000"));
  CHECK_FALSE(agree_octets(bits, "80", "8040"));
  CHECK_FALSE(agree_octets(bits, "80", "0080"));
}

TEST_CASE("a row that shows createAndGo agrees with an active one") {
  // common practice, no source
  const Syntax status = syntax_of("RowStatus");
  CHECK(agree(status, Value::integer(4), Value::integer(1)));
  CHECK(agree(status, Value::integer(1), Value::integer(4)));
  CHECK_FALSE(agree(status, Value::integer(5), Value::integer(1)));
  CHECK_FALSE(agree(status, Value::integer(2), Value::integer(1)));
  CHECK_FALSE(agree(syntax_of("INTEGER { a(1), b(4) }"), Value::integer(4), Value::integer(1)));
}

TEST_CASE("numbers agree over any integer type") {
  const Syntax number = syntax_of("Integer32");
  CHECK(agree(number, Value::integer(7), Value::of_number(Type::gauge32, 7)));
  CHECK(agree(number, Value::of_number(Type::counter64, 7), Value::integer(7)));
  CHECK_FALSE(agree(number, Value::integer(7), Value::of_number(Type::gauge32, 8)));
  CHECK_FALSE(agree(number, Value::integer(-1), Value::of_number(Type::counter64, -1)));
  CHECK(agree(syntax_of("Counter64"), Value::of_number(Type::counter64, -1),
              Value::of_number(Type::counter64, -1)));
}

TEST_CASE("values of the wrong type do not agree") {
  CHECK_FALSE(agree(syntax_of("OctetNumber"), Value::integer(64), octets_value("40")));
  CHECK_FALSE(agree(syntax_of("Integer32"), Value::integer(55), Value::of_octets("7")));
  CHECK_FALSE(agree(syntax_of("IpAddress"), octets_value("7f000001"),
                    {Type::ip_address, 0, octets_of("7f000001"), {}}));
  CHECK_FALSE(agree(syntax_of("DisplayString"), Value{}, Value::of_octets("")));
  CHECK(agree(syntax_of("DisplayString"), Value{}, Value{}));
}

TEST_CASE("a value that is not there agrees only with another that is not there") {
  const Value no_object = Value::of_number(Type::no_such_object, 0);
  const Value no_instance = Value::of_number(Type::no_such_instance, 0);
  CHECK(agree(syntax_of("DateAndTime"), no_object, no_instance));
  CHECK_FALSE(agree(syntax_of("DateAndTime"), no_object, Value::of_octets("")));
  CHECK_FALSE(agree(syntax_of("Integer32"), Value::integer(0), no_instance));
}

TEST_CASE("object identifiers agree arc by arc") {
  const Syntax oid = syntax_of("OBJECT IDENTIFIER");
  CHECK(agree(oid, Value::of_oid({1, 3, 6}), Value::of_oid({1, 3, 6})));
  CHECK_FALSE(agree(oid, Value::of_oid({1, 3, 6}), Value::of_oid({1, 3, 6, 1})));
}
