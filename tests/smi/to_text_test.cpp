#include "smi/wire.h"

using namespace vergeset::smi;

TEST_CASE("an absent value is none") {
  for (const Type type : {Type::no_such_object, Type::no_such_instance, Type::end_of_mib_view})
    CHECK(to_text(syntax_of("Integer32"), Value::of_number(type, 0)) == "none");
}

TEST_CASE("labels stand for numbers, and a number without a label for itself") {
  const Syntax mode = syntax_of("INTEGER { standby(2), operate(4), off(16) }");
  CHECK(to_text(mode, Value::integer(4)) == "operate");
  CHECK(to_text(mode, Value::integer(3)) == "3");
  CHECK(to_text(mode, Value::of_number(Type::gauge32, 16)) == "off");
  CHECK(to_text(syntax_of("RowStatus"), Value::integer(1)) == "active");
  CHECK(to_text(syntax_of("Counter64"), Value::of_number(Type::counter64, -1)) == "18446744073709551615");
}

TEST_CASE("a value of another type than its object's is shown with its type") {
  const Syntax number = syntax_of("Integer32");
  CHECK(to_text(number, octets_value("0a1b")) == "0x0a1b (OCTET STRING)");
  CHECK(to_text(number, octets_value("")) == "empty (OCTET STRING)");
  CHECK(to_text(number, Value::of_oid({1, 3})) == "1.3 (OBJECT IDENTIFIER)");
  CHECK(to_text(number, Value{}) == "NULL");
  CHECK(to_text(syntax_of("OctetNumber"), Value::integer(64)) == "64 (Integer32)");
  CHECK(to_text(syntax_of("DisplayString"), {Type::opaque, 0, "\x9f", {}}) == "0x9f (Opaque)");
}

TEST_CASE("control characters of a unit never reach the terminal") {
  CHECK(words("DisplayString", "1b5b324a0a07") == "\\x1b[2J\\x0a\\x07");
  CHECK(words("DisplayString", "c29b") == "\\xc2\\x9b");
  CHECK(words("DisplayString", "706f6c650000") == "pole");
  CHECK(words("DisplayString", "613a5c62") == "a:\\b");
}

TEST_CASE("a payload is shown whole") {
  const std::string hex(2 * 2302, 'a');
  CHECK(words("OCTET STRING (SIZE(0..2302))", hex) == hex);
}
