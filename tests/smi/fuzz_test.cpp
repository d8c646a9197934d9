#include <algorithm>
#include <array>
#include <random>

#include "smi/octet.h"
#include "smi/quantity.h"
#include "smi/wire.h"

using namespace vergeset::smi;

namespace {

const std::vector<const char*> notations{
    "Integer32",
    "Integer32 (0..15)",
    "INTEGER { off(0), on(1) }",
    "BITS { a(0), b(1), c(9) }",
    "Counter32",
    "Counter64",
    "Gauge32",
    "TimeTicks",
    "OBJECT IDENTIFIER",
    "IpAddress",
    "RowStatus",
    "DisplayString (SIZE(0..32))",
    "OCTET STRING (SIZE(0..12))",
    "MacAddress",
    "Psid (SIZE(0..4))",
    "DateAndTime",
    "DateAndTime (SIZE(0|8|11))",
    "MinuteStamp",
    "TimeOfDay",
    "AddressText (SIZE(0..64))",
    "AddressOctets",
    "OctetNumber (0..128)",
};

/// Same seed, same run: std::mt19937 is fixed by the standard, the distributions are not.
class Dice {
 public:
  explicit Dice(std::uint32_t seed) : engine_(seed) {}
  std::size_t below(std::size_t bound) { return engine_() % bound; }
  std::uint32_t arc() { return static_cast<std::uint32_t>(engine_()); }
  std::string octets(std::size_t most) {
    std::string some(below(most + 1), '\0');
    for (char& each : some) each = octet(engine_());
    return some;
  }
  /// Text out of the letters that the syntaxes know, now and then with any octet between.
  std::string text(std::size_t most) {
    constexpr std::string_view letters = "0123456789abcdefxXpPTZ:.-+ ,nomrsy%/(){}|\n";
    std::string some(below(most + 1), ' ');
    for (char& each : some) each = below(40) == 0 ? octet(engine_()) : letters[below(letters.size())];
    return some;
  }
  Value value() {
    constexpr std::array types{Type::integer,    Type::octet_string, Type::null,          Type::object_id,
                               Type::ip_address, Type::counter32,    Type::gauge32,       Type::time_ticks,
                               Type::opaque,     Type::counter64,    Type::no_such_object};
    Value some{types[below(types.size())], 0, octets(18), Oid{1, 3, arc(), arc()}};
    some.number = static_cast<std::int64_t>(engine_()) - (below(2) == 0 ? 0 : 2147483648);
    return some;
  }

 private:
  std::mt19937 engine_;
};

bool one_safe_line(const std::string& text) {
  return std::ranges::all_of(text, [](char letter) { return letter >= 0x20 && letter < 0x7f; });
}

/// What must hold of any value under any syntax.
void check_value(const Syntax& syntax, const Value& value) {
  const std::string text = to_text(syntax, value);
  CHECK(one_safe_line(text));
  CHECK(agree(syntax, value, value));
  const auto fault = violation(syntax, value);
  if (fault) {
    CHECK(one_safe_line(*fault));
    return;
  }
  // Control characters are allowed over the wire, but not in what people write.
  if (syntax.form == Form::display_string) return;
  const auto again = encode(syntax, text);
  if (!again) FAIL(text << ": " << again.problem());
  CHECK(agree(syntax, value, *again));
  CHECK(agree(syntax, *again, value));
}

/// What must hold of any text under any syntax.
bool check_text(const Syntax& syntax, const std::string& text) {
  const auto value = encode(syntax, text);
  if (!value) {
    CHECK(one_safe_line(value.problem()));
    CHECK(value.problem().size() < 2000);
    return false;
  }
  CHECK(value->type == syntax.wire());
  CHECK(violation(syntax, *value).value_or("") == "");
  const auto again = encode(syntax, to_text(syntax, *value));
  if (!again) FAIL(again.problem());
  CHECK(*again == *value);
  CHECK(*from_exact_text(value->type, exact_text(*value)) == *value);
  return true;
}

}  // namespace

TEST_CASE("random values are explained safely and come back from their text") {
  Dice dice(20261101);
  for (int round = 0; round < 400; ++round) {
    for (const char* notation : notations) {
      const Syntax syntax = syntax_of(notation);
      INFO(notation);
      check_value(syntax, dice.value());
      check_value(syntax,
                  {syntax.wire(), static_cast<std::int64_t>(dice.below(20)), dice.octets(18), Oid{1, 3}});
    }
  }
}

TEST_CASE("random octets of a time come back from their text") {
  Dice dice(7);
  const Syntax syntax = syntax_of("DateAndTime");
  int times = 0;
  for (int round = 0; round < 3000; ++round) {
    std::string octets = dice.octets(2) + "\x07\xea";
    octets.resize(2);
    octets += {octet(dice.below(14)), octet(dice.below(33)), octet(dice.below(25)),
               octet(dice.below(62)), octet(dice.below(63)), octet(dice.below(11))};
    if (dice.below(2) == 0) octets += {"+-*"[dice.below(3)], octet(dice.below(15)), octet(dice.below(61))};
    times += instant_of(octets) ? 1 : 0;
    check_value(syntax, Value::of_octets(octets));
  }
  CHECK(times > 500);
}

TEST_CASE("random text is refused in words or travels there and back") {
  Dice dice(1218);
  int travelled = 0;
  for (int round = 0; round < 400; ++round) {
    const std::string text = dice.text(round % 4 == 0 ? 40 : 6);
    for (const char* notation : notations) {
      INFO(notation << " " << to_hex(text));
      travelled += check_text(syntax_of(notation), text) ? 1 : 0;
    }
  }
  CHECK(travelled > 200);
}

TEST_CASE("random notations and quantities are refused in words or read alike twice") {
  Dice dice(41);
  for (int round = 0; round < 3000; ++round) {
    std::string notation = notations[dice.below(notations.size())];
    notation[dice.below(notation.size())] = dice.text(1)[0];
    INFO(to_hex(notation));
    if (const auto syntax = Syntax::parse(notation))
      CHECK(syntax_of(syntax->str()) == *syntax);
    else
      CHECK(one_safe_line(syntax.problem()));

    const auto quantity = Quantity::parse(dice.text(12));
    if (!quantity) {
      CHECK(one_safe_line(quantity.problem()));
      continue;
    }
    const auto number = in_unit(*quantity, "cm");
    if (number)
      CHECK(*in_unit(*Quantity::parse(with_unit(*number, "cm")), "cm") == *number);
    else
      CHECK(one_safe_line(number.problem()));
  }
}

TEST_CASE("huge and binary input is refused without harm") {
  const std::string zeros(1000000, '\0');
  const std::string nines(1000000, '9');
  const std::string blanks(1000000, ' ');
  for (const char* notation : notations) {
    INFO(notation);
    for (const std::string* text : {&zeros, &nines}) {
      const auto value = encode(syntax_of(notation), *text);
      REQUIRE_FALSE(value);
      CHECK(one_safe_line(value.problem()));
      CHECK(value.problem().size() < 2000);
    }
    const std::string shown = to_text(syntax_of(notation), {syntax_of(notation).wire(), 0, zeros, Oid{1, 3}});
    CHECK(one_safe_line(shown));
    check_text(syntax_of(notation), blanks);
  }
}
