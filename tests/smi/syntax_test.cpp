#include "smi/syntax.h"

#include "smi/wire.h"

using namespace vergeset::smi;

namespace {

std::string refusal(std::string_view notation) {
  const auto syntax = Syntax::parse(notation);
  return syntax ? "accepted as " + syntax->str() : syntax.problem();
}

}  // namespace

TEST_CASE("the notation of a syntax is read and written alike") {
  for (const char* notation : {"Integer32",
                               "Integer32 (0..15)",
                               "Integer32 (-128..127)",
                               "Integer32 (1|3|5..9)",
                               "INTEGER { off(0), on(1) }",
                               "INTEGER { below(-1), zero(0) }",
                               "BITS { a(0), b(1), c(9) }",
                               "Counter32",
                               "Counter64",
                               "Gauge32",
                               "Gauge32 (0..100)",
                               "TimeTicks",
                               "OBJECT IDENTIFIER",
                               "IpAddress",
                               "RowStatus",
                               "DisplayString",
                               "DisplayString (SIZE(0..32))",
                               "OCTET STRING",
                               "OCTET STRING (SIZE(0|6))",
                               "MacAddress",
                               "Psid (SIZE(1..4))",
                               "DateAndTime",
                               "DateAndTime (SIZE(0|8|11))",
                               "MinuteStamp",
                               "TimeOfDay",
                               "AddressText (SIZE(0..64))",
                               "AddressOctets",
                               "OctetNumber (0..128)"}) {
    INFO(notation);
    const Syntax syntax = syntax_of(notation);
    CHECK(syntax.str() == notation);
    CHECK(syntax_of(syntax.str()) == syntax);
  }
}

TEST_CASE("white space in the notation counts for nothing") {
  CHECK(syntax_of("INTEGER{standby (2),operate( 4 ),\n  off (16)}").str() ==
        "INTEGER { standby(2), operate(4), off(16) }");
  CHECK(syntax_of(" OCTET   STRING( SIZE ( 0 | 6 ) ) ").str() == "OCTET STRING (SIZE(0|6))");
  CHECK(syntax_of("Integer32(-5 .. 5)").str() == "Integer32 (-5..5)");
}

TEST_CASE("a syntax knows the type that travels") {
  CHECK(syntax_of("INTEGER { off(0) }").wire() == Type::integer);
  CHECK(syntax_of("RowStatus").wire() == Type::integer);
  CHECK(syntax_of("OctetNumber").wire() == Type::octet_string);
  CHECK(syntax_of("BITS { a(0) }").wire() == Type::octet_string);
  CHECK(syntax_of("Counter64").wire() == Type::counter64);
  CHECK(syntax_of("IpAddress").wire() == Type::ip_address);
  CHECK(syntax_of("OBJECT IDENTIFIER").wire() == Type::object_id);
}

TEST_CASE("RowStatus brings the labels of RFC 2579") {
  const Syntax status = syntax_of("RowStatus");
  const std::vector<Label> labels{{"active", 1},      {"notInService", 2},  {"notReady", 3},
                                  {"createAndGo", 4}, {"createAndWait", 5}, {"destroy", 6}};
  CHECK(status.labels == labels);
}

TEST_CASE("what is wrong in a notation is told") {
  CHECK(refusal("Integer33") ==
        "expected a syntax such as Integer32 (0..15), found Integer33; did you mean Integer32?");
  CHECK(refusal("") == "expected a syntax such as Integer32 (0..15), found nothing");
  CHECK(refusal("Integer32 (5..1)") == "the range 5..1 runs backwards");
  CHECK(refusal("Integer32 (0..5|3..9)") == "the ranges 0..5|3..9 overlap or are out of order");
  CHECK(refusal("Integer32 (0..4294967295)") ==
        "Integer32 cannot hold 0..4294967295: it allows -2147483648..2147483647 at most");
  CHECK(refusal("OctetNumber (0..256)") == "OctetNumber cannot hold 0..256: it allows 0..255 at most");
  CHECK(refusal("Integer32 (0..15) or so") ==
        "expected nothing more behind Integer32 (0..15), found \"or so\"");
  CHECK(refusal("INTEGER { off(0), on(0) }") == "the labels off and on have one number, 0");
  CHECK(refusal("INTEGER { off(0), off(1) }") == "the label off stands twice");
  CHECK(refusal("DisplayString (0..32)") ==
        "expected SIZE(...), which is what bounds DisplayString, found 0..32)");
  CHECK(refusal("BITS { a(-1) }") == "the number of the label a is -1, expected 0..2047");
}

TEST_CASE("single numbers of an Integer32 may have words, which are shown and taken in their place") {
  Syntax syntax = *Syntax::parse("Integer32 (-900000000..900000001)");
  syntax.words = {{"unknown", 900000001}};
  CHECK(to_text(syntax, Value::integer(900000001)) == "unknown");
  CHECK(to_text(syntax, Value::integer(900000000)) == "900000000");
  CHECK(encode(syntax, "unknown")->number == 900000001);
  CHECK(encode(syntax, "Unknown")->number == 900000001);
  CHECK(encode(syntax, "900000001")->number == 900000001);
  CHECK_FALSE(encode(syntax, "none"));
  CHECK(syntax.str() == "Integer32 (-900000000..900000001)");
}

TEST_CASE("no broken notation is accepted") {
  for (const char* notation : {"Integer32 (",
                               "Integer32 ()",
                               "Integer32 (0..)",
                               "Integer32 (..5)",
                               "Integer32 (0..99999999999999999999)",
                               "Integer32 (0..15",
                               "Integer32 (0..5|5..9)",
                               "Integer32 (SIZE(0..15))",
                               "INTEGER",
                               "INTEGER (0..15)",
                               "INTEGER {",
                               "INTEGER { }",
                               "INTEGER { off }",
                               "INTEGER { off(0), }",
                               "INTEGER { off(x) }",
                               "INTEGER { off(0) on(1) }",
                               "BITS",
                               "BITS { a(99999) }",
                               "Psid (SIZE(1..5))",
                               "MacAddress (SIZE(0..7))",
                               "IpAddress (SIZE(4))",
                               "OCTET",
                               "OCTET STRING (SIZE(0..65536))",
                               "OCTET STRING (SIZE(-1..4))",
                               "OBJECT",
                               "RowStatus (1..6)",
                               "integer32",
                               "Integer32Integer32",
                               "INTEGER { off(99999999999) }",
                               "\x01",
                               "Integer32 (0x0..0xf)"}) {
    INFO(notation);
    CHECK_FALSE(Syntax::parse(notation));
  }
  CHECK_FALSE(Syntax::parse(std::string_view("Integer32\0", 10)));
  CHECK_FALSE(Syntax::parse("Integer32 " + std::string(100000, '(')));
}
