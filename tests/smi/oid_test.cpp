#include "smi/oid.h"

#include "catch.h"

using vergeset::smi::Oid;

TEST_CASE("an object identifier is read with or without a leading dot") {
  // snmpSetSerialNo, RFC 3418
  const Oid lock{1, 3, 6, 1, 6, 3, 1, 1, 6, 1, 0};
  CHECK(*Oid::parse("1.3.6.1.6.3.1.1.6.1.0") == lock);
  CHECK(*Oid::parse(".1.3.6.1.6.3.1.1.6.1.0") == lock);
  CHECK(lock.str() == "1.3.6.1.6.3.1.1.6.1.0");
}

TEST_CASE("an object identifier has at most 128 arcs of 32 bits (RFC 2578 3.5)") {
  std::string text = "1.3";
  for (int arc = 2; arc < 128; ++arc) text += ".4294967295";
  REQUIRE(Oid::parse(text));
  CHECK(Oid::parse(text)->size() == 128);
  CHECK(Oid::parse(text)->back() == 4294967295U);
  CHECK_FALSE(Oid::parse(text + ".1"));
  CHECK_FALSE(Oid::parse("1.3.4294967296"));
  CHECK_FALSE(Oid::parse("1.3.99999999999999999999999"));
}

TEST_CASE("text that is no object identifier is refused with what stood there") {
  using namespace std::string_literals;
  for (const std::string& text : {""s, "."s, ".."s, "1."s, "1..3"s, "1.3.x"s, "rsuMode"s, "-1.3"s, "1.3 .6"s,
                                  "+1.3"s, "1.3\0.6"s, std::string(100000, '1'), std::string(100000, '.')}) {
    INFO(text.substr(0, 40));
    CHECK_FALSE(Oid::parse(text));
  }
  CHECK(Oid::parse("rsuMode").problem() == "expected an object identifier such as 1.3.6.1, found rsuMode");
}

TEST_CASE("an object identifier of any length is copied, moved and compared as a value") {
  for (std::uint32_t size = 0; size <= 40; ++size) {
    INFO(size << " arcs");
    Oid grown;
    for (std::uint32_t arc = 0; arc < size; ++arc) grown = grown.child(arc + 7);
    REQUIRE(grown.size() == size);
    if (size > 0) CHECK(grown.parent().child(grown.back()) == grown);
    for (const Oid& before : {Oid{}, Oid{1, 3}, Oid(std::vector<std::uint32_t>(30, 5))}) {
      Oid assigned = before;
      assigned = grown;
      CHECK(assigned == grown);
      Oid taken = before;
      taken = std::move(assigned);
      CHECK(taken == grown);
      CHECK(before.join(grown).tail(before) == grown);
    }
    const Oid copy = grown;
    CHECK(copy.child(1) > grown);
    CHECK(copy == grown);
  }
}

TEST_CASE("object identifiers are ordered as SNMP walks") {
  CHECK(Oid{1, 3} < Oid{1, 3, 0});
  CHECK(Oid{1, 3, 9} < Oid{1, 3, 10});
  CHECK(Oid{1, 3, 9, 7} < Oid{1, 3, 10});
}

TEST_CASE("an object identifier stands within itself and what is above it") {
  const Oid column{1, 0, 15628, 4, 1, 4, 1, 2};
  const Oid instance = column.child(7);
  CHECK(instance.within(column));
  CHECK(column.within(column));
  CHECK_FALSE(column.within(instance));
  CHECK_FALSE(Oid{1, 0, 15628, 4, 1, 5}.within(Oid{1, 0, 15628, 4, 1, 4}));
  CHECK(instance.tail(column) == Oid{7});
  CHECK(column.tail(column).empty());
  CHECK(column.join(Oid{7}) == instance);
  CHECK_THROWS_AS(column.tail(instance), std::logic_error);
}
