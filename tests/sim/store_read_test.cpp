#include "catch.h"
#include "small_model.h"

using namespace vergeset;
using namespace small;
using smi::Type;

TEST_CASE("GET tells a missing object from a missing instance: RFC 3416 4.2.1") {
  const Bench bench;
  CHECK(bench.get(scalar(1)) == smi::Value::of_octets("RSU"));
  CHECK(bench.get(root.child(1).child(1)).type == Type::no_such_instance);
  CHECK(bench.get(root.child(1).child(1).child(1)).type == Type::no_such_instance);
  CHECK(bench.get(message(psid, 1)).type == Type::no_such_instance);
  CHECK(bench.get(root.child(7)).type == Type::no_such_object);
  CHECK(bench.get(message(1, 1)).type == Type::no_such_object);  // the index is not accessible
}

TEST_CASE("GETNEXT walks every variable once, in lexicographic order: RFC 3416 4.2.2") {
  Bench bench;
  REQUIRE(bench.set(bench.whole_row(7)).ok());
  REQUIRE(bench.set(bench.whole_row(2)).ok());
  std::vector<sim::VarBind> walked;
  smi::Oid at{1};
  while (const auto next = bench.store.get_next(at, bench.now)) {
    CHECK(next->oid > at);
    CHECK(bench.get(next->oid) == next->value);
    at = next->oid;
    walked.push_back(*next);
  }
  CHECK(walked == bench.store.walk(bench.now));
  CHECK(walked.size() == 10 + 2 * 5 + 2);
  CHECK(bench.store.get_next(message(psid, 2), bench.now)->oid == message(psid, 7));
  CHECK(bench.store.get_next(message(psid, 7), bench.now)->oid == message(interval, 2));
}

TEST_CASE("GETNEXT takes names that are no variables: within an object, before all, behind all") {
  const Bench bench;
  CHECK(bench.store.get_next({}, bench.now)->oid == scalar(1));
  CHECK(bench.store.get_next(root.child(1).child(1), bench.now)->oid == scalar(1));
  CHECK(bench.store.get_next(scalar(1).child(5), bench.now)->oid == scalar(2));
  CHECK(bench.store.get_next(root.child(1).child(11), bench.now)->oid == channel(1));
  CHECK(bench.store.get_next(root.child(2), bench.now)->oid == channel(1));
  CHECK(bench.store.get_next(channel(1).child(9), bench.now)->oid == channel(2));
  CHECK_FALSE(bench.store.get_next(channel(2), bench.now));
}

TEST_CASE("a unit leaves the factory in standby, with radios and without rows") {
  const Bench bench;
  CHECK(bench.number(scalar(5)) == 2);
  CHECK(bench.number(scalar(6)) == 2);
  CHECK(bench.number(channel(1)) == 183);
  CHECK(bench.number(channel(2)) == 183);
  CHECK(bench.get(channel(3)).absent());
  CHECK(bench.number(scalar(9)) == 3);  // the model's default
}

TEST_CASE("a copy of a store is another unit") {
  Bench bench;
  const sim::Store before = bench.store;
  REQUIRE(bench.set({put(scalar(1), "LK-101")}).ok());
  CHECK(before.get(scalar(1), bench.now) == smi::Value::of_octets("RSU"));
  CHECK(bench.get(scalar(1)) == smi::Value::of_octets("LK-101"));
}
