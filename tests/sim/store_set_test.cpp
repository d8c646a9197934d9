#include "catch.h"
#include "small_model.h"

using namespace vergeset;
using namespace small;
using sim::Status;
using sim::Verdict;

// The numbers in parentheses are those of the list in RFC 3416 4.2.5.

TEST_CASE("what is not there or cannot be written is notWritable: RFC 3416 4.2.5 (2)") {
  Bench bench;
  CHECK(bench.set({put(scalar(3), "9.9")}) == Verdict{Status::not_writable, 1});
  CHECK(bench.set({put(root.child(7).child(0), 1)}) == Verdict{Status::not_writable, 1});
  CHECK(bench.set({put(message(1, 1), 1)}) == Verdict{Status::not_writable, 1});
}

TEST_CASE("a value of another type is wrongType: RFC 3416 4.2.5 (3)") {
  Bench bench;
  CHECK(bench.set({put(scalar(1), 5)}) == Verdict{Status::wrong_type, 1});
  CHECK(bench.set({put(scalar(2), "5")}) == Verdict{Status::wrong_type, 1});
  CHECK(bench.set({{scalar(2), smi::Value::of_number(smi::Type::gauge32, 5)}}) ==
        Verdict{Status::wrong_type, 1});
}

TEST_CASE("a value of a size that is not allowed is wrongLength: RFC 3416 4.2.5 (4)") {
  Bench bench;
  CHECK(bench.set({put(scalar(1), std::string(33, 'x'))}) == Verdict{Status::wrong_length, 1});
  CHECK(bench.set({put(scalar(1), std::string(32, 'x'))}).ok());
  CHECK(bench.set({put(message(psid, 1), std::string())}) == Verdict{Status::wrong_length, 1});
}

TEST_CASE("text without a SIZE of its own has 255 octets at most: RFC 2579 DisplayString") {
  Bench bench;
  add(*bench.model, "rsuGnssOutputInterface", root.child(1).child(11), "DisplayString", Access::read_write);
  bench.model->index_objects();
  bench.store = sim::Store({bench.model.get(), "LK-101", {}, 0}, nullptr, start);
  CHECK(bench.set({put(scalar(11), std::string(256, 'x'))}) == Verdict{Status::wrong_length, 1});
  CHECK(bench.set({put(scalar(11), std::string(255, 'x'))}).ok());
}

TEST_CASE("a value that could never be is wrongValue: RFC 3416 4.2.5 (6)") {
  Bench bench;
  CHECK(bench.set({put(scalar(2), 20001)}) == Verdict{Status::wrong_value, 1});
  CHECK(bench.set({put(scalar(2), -1)}) == Verdict{Status::wrong_value, 1});
  CHECK(bench.set({put(scalar(2), 20000)}).ok());
  CHECK(bench.set({put(scalar(5), 7)}) == Verdict{Status::wrong_value, 1});
  CHECK(bench.set({put(scalar(5), 1)}) == Verdict{Status::wrong_value, 1});  // NTCIP 1218 rsuMode: other
}

TEST_CASE("an instance that could never be is noCreation: RFC 3416 4.2.5 (7)") {
  Bench bench;
  CHECK(bench.set({put(scalar(1).child(0), "x")}) == Verdict{Status::no_creation, 1});
  CHECK(bench.set({put(root.child(1).child(1).child(1), "x")}) == Verdict{Status::no_creation, 1});
  CHECK(bench.set({put(channel(3), 178)}) == Verdict{Status::no_creation, 1});
  CHECK(bench.set({put(message(status, 256), 4)}) == Verdict{Status::no_creation, 1});
  CHECK(bench.set({put(message(status, 0), 4)}) == Verdict{Status::no_creation, 1});
}

TEST_CASE("a column of a row that is not there is inconsistentName: RFC 3416 4.2.5 (8), RFC 2579 note 4") {
  Bench bench;
  CHECK(bench.set({put(message(interval, 1), 500)}) == Verdict{Status::inconsistent_name, 1});
}

TEST_CASE("a SET is all or nothing, and the index names the first binding at fault: RFC 3416 4.2.5") {
  Bench bench;
  CHECK(bench.set({put(scalar(1), "LK-101"), put(scalar(2), 15), put(scalar(3), "x")}) ==
        Verdict{Status::not_writable, 3});
  CHECK(bench.get(scalar(1)) == smi::Value::of_octets("RSU"));
  CHECK(bench.set({put(scalar(1), "LK-101"), put(scalar(2), 15)}).ok());
  CHECK(bench.get(scalar(1)) == smi::Value::of_octets("LK-101"));
  CHECK(bench.number(scalar(2)) == 15);
}

TEST_CASE("undo puts everything back: values, rows made and removed, the mode") {
  Bench bench;
  REQUIRE(bench.set(bench.whole_row(1)).ok());
  const auto before = bench.store.walk(bench.now);
  std::vector<sim::VarBind> much = bench.whole_row(2);
  much.push_back(put(message(status, 1), 6));
  much.push_back(put(scalar(1), "LK-101"));
  much.push_back(put(scalar(5), 3));
  REQUIRE(bench.set(much).ok());
  CHECK(bench.store.walk(bench.now) != before);
  bench.store.undo();
  CHECK(bench.store.walk(bench.now) == before);
  bench.now += 10000;
  CHECK(bench.number(scalar(6)) == 2);
}

TEST_CASE("snmpSetSerialNo takes its own value only, and counts on: RFC 2579 TestAndIncr") {
  Bench bench;
  REQUIRE(bench.number(scalar(10)) == 0);
  CHECK(bench.set({put(scalar(10), 1)}) == Verdict{Status::inconsistent_value, 1});
  CHECK(bench.set({put(scalar(10), 0), put(scalar(1), "A")}).ok());
  CHECK(bench.number(scalar(10)) == 1);
  CHECK(bench.set({put(scalar(10), 0), put(scalar(1), "B")}) == Verdict{Status::inconsistent_value, 1});
  CHECK(bench.get(scalar(1)) == smi::Value::of_octets("A"));
}

TEST_CASE("an action is done once and reads 0") {
  Bench bench;
  CHECK_FALSE(bench.store.take_reboot_request());
  REQUIRE(bench.set({put(scalar(7), 0)}).ok());
  CHECK_FALSE(bench.store.take_reboot_request());
  REQUIRE(bench.set({put(scalar(7), 1)}).ok());
  CHECK(bench.number(scalar(7)) == 0);
  CHECK(bench.store.take_reboot_request());
  CHECK_FALSE(bench.store.take_reboot_request());
}
