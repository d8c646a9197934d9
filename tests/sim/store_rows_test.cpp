#include "catch.h"
#include "small_model.h"

using namespace vergeset;
using namespace small;
using sim::Status;
using sim::Verdict;

TEST_CASE("createAndGo with every column that has no default makes an active row: RFC 2579 RowStatus") {
  Bench bench;
  REQUIRE(bench.set(bench.whole_row(5)).ok());
  CHECK(bench.number(message(status, 5)) == 1);
  CHECK(bench.get(message(psid, 5)) == smi::Value::of_octets(std::string("\x80\x02", 2)));
  CHECK(bench.number(message(interval, 5)) == 1000);  // the model's default
  CHECK(bench.number(message(enable, 5)) == 0);
}

TEST_CASE("createAndGo of an existing row, or of one that lacks a column, is inconsistentValue: RFC 2579") {
  Bench bench;
  CHECK(bench.set({put(message(status, 5), 4)}) == Verdict{Status::inconsistent_value, 1});
  CHECK(bench.set({put(message(psid, 5), std::string(1, '\x20')), put(message(status, 5), 4)}) ==
        Verdict{Status::inconsistent_value, 2});
  REQUIRE(bench.set(bench.whole_row(5)).ok());
  CHECK(bench.set(bench.whole_row(5)) == Verdict{Status::inconsistent_value, 3});
}

TEST_CASE("createAndWait goes notReady, notInService, active as columns come: RFC 2579 RowStatus") {
  Bench bench;
  REQUIRE(bench.set({put(message(status, 5), 5)}).ok());
  CHECK(bench.number(message(status, 5)) == 3);
  CHECK(bench.get(message(psid, 5)).type == smi::Type::no_such_instance);
  CHECK(bench.set({put(message(status, 5), 1)}) == Verdict{Status::inconsistent_value, 1});
  REQUIRE(bench.set({put(message(psid, 5), std::string(1, '\x20'))}).ok());
  CHECK(bench.number(message(status, 5)) == 3);
  REQUIRE(bench.set({put(message(payload, 5), std::string("\x00\x12", 2))}).ok());
  CHECK(bench.number(message(status, 5)) == 2);
  REQUIRE(bench.set({put(message(status, 5), 1)}).ok());
  CHECK(bench.number(message(status, 5)) == 1);
  REQUIRE(bench.set({put(message(status, 5), 2)}).ok());
  CHECK(bench.number(message(status, 5)) == 2);
}

TEST_CASE("the missing columns may come with the SET to active: RFC 2579 RowStatus, note 2") {
  Bench bench;
  REQUIRE(bench.set({put(message(status, 5), 5)}).ok());
  CHECK(bench.set(bench.whole_row(5, 1)).ok());
  CHECK(bench.number(message(status, 5)) == 1);
}

TEST_CASE("destroy removes every column, and is noError without a row: RFC 2579 RowStatus") {
  Bench bench;
  REQUIRE(bench.set(bench.whole_row(5)).ok());
  CHECK(bench.set({put(message(status, 5), 6)}).ok());
  for (const std::uint32_t column : {psid, interval, payload, enable, status})
    CHECK(bench.get(message(column, 5)).type == smi::Type::no_such_instance);
  CHECK(bench.set({put(message(status, 5), 6)}).ok());
}

TEST_CASE("notReady may not be SET: RFC 2579 RowStatus") {
  Bench bench;
  REQUIRE(bench.set(bench.whole_row(5)).ok());
  CHECK(bench.set({put(message(status, 5), 3)}) == Verdict{Status::wrong_value, 1});
}

TEST_CASE("a row more than the unit takes is resourceUnavailable: RFC 3416 4.2.5 (11)") {
  Bench bench;
  for (const std::uint32_t row : {1U, 2U, 3U}) REQUIRE(bench.set(bench.whole_row(row)).ok());
  CHECK(bench.set(bench.whole_row(4)) == Verdict{Status::resource_unavailable, 3});
  auto instead = bench.whole_row(4);
  instead.push_back(put(message(status, 2), 6));
  CHECK(bench.set(instead).ok());  // as if simultaneous: the destroyed row makes room
  CHECK(bench.get(message(status, 2)).absent());
  CHECK(bench.number(message(status, 4)) == 1);
}

TEST_CASE("two rows made by one SET are counted together") {
  Bench bench;
  for (const std::uint32_t row : {1U, 2U}) REQUIRE(bench.set(bench.whole_row(row)).ok());
  auto both = bench.whole_row(3);
  for (auto& bind : bench.whole_row(4)) both.push_back(bind);
  CHECK(bench.set(both) == Verdict{Status::resource_unavailable, 6});
  CHECK(bench.get(message(status, 3)).absent());
}

TEST_CASE("how a row is changed is the model's say: RFC 2579 RowStatus, note 5") {
  Bench bench;
  schema::Table& table = bench.model->tables["rsuMsgRepeatStatusTable"];
  REQUIRE(bench.set(bench.whole_row(1)).ok());
  CHECK(bench.set({put(message(interval, 1), 500)}).ok());

  table.edit = schema::RowEdit::out_of_service;
  CHECK(bench.set({put(message(interval, 1), 600)}) == Verdict{Status::inconsistent_value, 1});
  REQUIRE(bench.set({put(message(status, 1), 2)}).ok());
  CHECK(bench.set({put(message(interval, 1), 600)}).ok());
  CHECK(bench.set({put(message(interval, 1), 700), put(message(status, 1), 1)}).ok());
  CHECK(bench.number(message(interval, 1)) == 700);

  table.edit = schema::RowEdit::remake;
  CHECK(bench.set({put(message(interval, 1), 800)}) == Verdict{Status::inconsistent_value, 1});
  CHECK(bench.set({put(message(status, 1), 2)}) == Verdict{Status::inconsistent_value, 1});
  REQUIRE(bench.set({put(message(status, 1), 6)}).ok());
  CHECK(bench.set(bench.whole_row(1)).ok());
}

TEST_CASE("a row that is only made anew may still be made in several requests: RFC 2579 RowStatus") {
  Bench bench;
  bench.model->tables["rsuMsgRepeatStatusTable"].edit = schema::RowEdit::remake;
  REQUIRE(bench.set({put(message(status, 5), 5)}).ok());
  CHECK(bench.set({put(message(psid, 5), std::string(1, '\x20'))}).ok());
  CHECK(bench.set({put(message(payload, 5), std::string("\x00\x12", 2))}).ok());
  CHECK(bench.set({put(message(status, 5), 1)}).ok());
  CHECK(bench.set({put(message(interval, 5), 500)}) == Verdict{Status::inconsistent_value, 1});
}

TEST_CASE("deleting all messages destroys every row and reads 0") {
  Bench bench;
  for (const std::uint32_t row : {1U, 9U}) REQUIRE(bench.set(bench.whole_row(row)).ok());
  REQUIRE(bench.set({put(scalar(8), 0)}).ok());
  CHECK(bench.number(message(status, 9)) == 1);
  REQUIRE(bench.set({put(scalar(8), 1)}).ok());
  CHECK(bench.number(scalar(8)) == 0);
  CHECK(bench.get(message(status, 1)).absent());
  CHECK(bench.get(message(psid, 9)).absent());
  bench.store.undo();
  CHECK(bench.number(message(status, 9)) == 1);
}
