#include "sim/row_status.h"
#include "catch.h"

using namespace vergeset::sim;
using State = RowState;

namespace {

constexpr State states[] = {State::missing, State::not_ready, State::not_in_service, State::active};

}  // namespace

TEST_CASE("createAndGo makes a row active, and only where there is none: RFC 2579 RowStatus") {
  CHECK(row_step(State::missing, row_action::create_and_go, true) ==
        RowStep{Status::no_error, State::active});
  CHECK(row_step(State::missing, row_action::create_and_go, false).status == Status::inconsistent_value);
  for (const State state : {State::not_ready, State::not_in_service, State::active})
    CHECK(row_step(state, row_action::create_and_go, true) == RowStep{Status::inconsistent_value, state});
}

TEST_CASE("createAndWait makes a row notReady or notInService: RFC 2579 RowStatus, note 1") {
  CHECK(row_step(State::missing, row_action::create_and_wait, false) ==
        RowStep{Status::no_error, State::not_ready});
  CHECK(row_step(State::missing, row_action::create_and_wait, true) ==
        RowStep{Status::no_error, State::not_in_service});
  for (const State state : {State::not_ready, State::not_in_service, State::active})
    CHECK(row_step(state, row_action::create_and_wait, true).status == Status::inconsistent_value);
}

TEST_CASE("active and notInService want a row, and a whole one: RFC 2579 RowStatus, notes 2, 3 and 8") {
  for (const auto& [action, next] : {std::pair{row_action::active, State::active},
                                     std::pair{row_action::not_in_service, State::not_in_service}}) {
    CHECK(row_step(State::missing, action, true).status == Status::inconsistent_value);
    CHECK(row_step(State::not_ready, action, false).status == Status::inconsistent_value);
    for (const State state : {State::not_ready, State::not_in_service, State::active})
      CHECK(row_step(state, action, true) == RowStep{Status::no_error, next});
  }
}

TEST_CASE("destroy is noError in every state, that of no row too: RFC 2579 RowStatus") {
  for (const State state : states)
    CHECK(row_step(state, row_action::destroy, false) == RowStep{Status::no_error, State::missing});
}

TEST_CASE("notReady is shown and never SET, and 7 is no RowStatus: RFC 2579") {
  for (const State state : states) {
    CHECK(row_step(state, row_action::not_ready, true).status == Status::wrong_value);
    CHECK(row_step(state, 7, true).status == Status::wrong_value);
    CHECK(row_step(state, 0, true).status == Status::wrong_value);
  }
}

TEST_CASE("status columns read as RFC 2579 numbers them") {
  CHECK(row_status_value(State::active) == 1);
  CHECK(row_status_value(State::not_in_service) == 2);
  CHECK(row_status_value(State::not_ready) == 3);
}
