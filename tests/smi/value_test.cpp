#include "smi/value.h"

#include <limits>

#include "catch.h"

using namespace vergeset::smi;

TEST_CASE("every type is found again by its name") {
  for (const Type type : {Type::integer, Type::octet_string, Type::null, Type::object_id, Type::ip_address,
                          Type::counter32, Type::gauge32, Type::time_ticks, Type::opaque, Type::counter64,
                          Type::no_such_object, Type::no_such_instance, Type::end_of_mib_view}) {
    INFO(type_name(type));
    REQUIRE(type_named(type_name(type)));
    CHECK(*type_named(type_name(type)) == type);
  }
  CHECK(type_name(Type::octet_string) == "OCTET STRING");
  CHECK(type_named("octet string").problem() ==
        "expected an SNMP type, found \"octet string\"; did you mean OCTET STRING?");
}

TEST_CASE("the exact text of a value gives the same value back") {
  const std::vector<Value> values{Value::integer(0),
                                  Value::integer(-2147483648),
                                  Value::integer(2147483647),
                                  Value::of_number(Type::counter32, 4294967295),
                                  Value::of_number(Type::gauge32, 1),
                                  Value::of_number(Type::time_ticks, 12345),
                                  Value::of_number(Type::counter64, -1),
                                  Value::of_number(Type::counter64, std::numeric_limits<std::int64_t>::min()),
                                  Value::of_octets(""),
                                  Value::of_octets(std::string("a\0\n\xff", 4)),
                                  {Type::ip_address, 0, std::string("\x7f\0\0\1", 4), {}},
                                  {Type::opaque, 0, "\x9f\x78", {}},
                                  Value::of_oid({1, 0, 15628, 4, 1, 6, 0}),
                                  Value::of_oid({}),
                                  Value{},
                                  Value::of_number(Type::no_such_instance, 0)};
  for (const Value& value : values) {
    const std::string text = exact_text(value);
    INFO(type_name(value.type) << " " << text);
    const auto again = from_exact_text(value.type, text);
    REQUIRE(again);
    CHECK(*again == value);
  }
}

TEST_CASE("a Counter64 is written without a sign") {
  CHECK(exact_text(Value::of_number(Type::counter64, -1)) == "18446744073709551615");
}

TEST_CASE("a record of a number that its type cannot carry is refused") {
  CHECK_FALSE(from_exact_text(Type::integer, "2147483648"));
  CHECK_FALSE(from_exact_text(Type::gauge32, "-1"));
  CHECK_FALSE(from_exact_text(Type::counter32, "4294967296"));
  CHECK_FALSE(from_exact_text(Type::counter64, "18446744073709551616"));
  CHECK_FALSE(from_exact_text(Type::counter64, "-1"));
  CHECK_FALSE(from_exact_text(Type::integer, ""));
  CHECK_FALSE(from_exact_text(Type::octet_string, "0x00"));
  CHECK_FALSE(from_exact_text(Type::octet_string, "abc"));
  CHECK_FALSE(from_exact_text(Type::object_id, "1.x"));
  CHECK_FALSE(from_exact_text(Type::null, "5"));
}

TEST_CASE("hex is read in either case and with blanks, colons and dashes between octets") {
  const std::string octets("\x00\x12\xab", 3);
  CHECK(to_hex(octets) == "0012ab");
  for (const char* text :
       {"0012ab", "0012AB", "00 12 ab", "00:12:AB", "00-12-ab", " 00\n12\tab\n", "0012 : ab"}) {
    INFO(text);
    REQUIRE(from_hex(text));
    CHECK(*from_hex(text) == octets);
  }
  CHECK(from_hex("")->empty());
}

TEST_CASE("hex with half an octet, a stray joint or another letter is refused") {
  for (const char* text :
       {"0", "001", "0 0", "0:12", ":00", "00:", "00::12", "00-:12", "0g", "zz", "0x00", "-"}) {
    INFO(text);
    CHECK_FALSE(from_hex(text));
  }
  CHECK(from_hex("00zz").problem() == "expected hex digits, found z at character 3");
}

TEST_CASE("a value with an object identifier is copied with it, and one without has an empty one") {
  const Value zero_dot_zero = Value::of_oid(Oid{0, 0});
  Value copy = Value::integer(3);
  CHECK(copy.oid->empty());
  copy = zero_dot_zero;
  CHECK(copy == zero_dot_zero);
  CHECK(*copy.oid == Oid{0, 0});
  copy = Value::of_oid(Oid{1, 3});
  CHECK(*zero_dot_zero.oid == Oid{0, 0});
  CHECK_FALSE(copy == zero_dot_zero);
}

TEST_CASE("only the three exceptions count as absent") {
  CHECK(Value::of_number(Type::no_such_object, 0).absent());
  CHECK(Value::of_number(Type::no_such_instance, 0).absent());
  CHECK(Value::of_number(Type::end_of_mib_view, 0).absent());
  CHECK_FALSE(Value{}.absent());
  CHECK_FALSE(Value::of_number(Type::counter64, 0).absent());
}
