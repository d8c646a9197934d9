#include "sim/row_status.h"

namespace vergeset::sim {

namespace {

RowStep refuse(Status status, RowState state) {
  return {status, state};
}

RowStep create(RowState state, bool go, bool complete) {
  if (state != RowState::missing) return refuse(Status::inconsistent_value, state);
  if (go) {
    return complete ? RowStep{Status::no_error, RowState::active} : refuse(Status::inconsistent_value, state);
  }
  return {Status::no_error, complete ? RowState::not_in_service : RowState::not_ready};
}

/// To active or notInService: notes 2, 3 and 8 of the table.
RowStep move(RowState state, RowState next, bool complete) {
  if (state == RowState::missing || !complete) return refuse(Status::inconsistent_value, state);
  return {Status::no_error, next};
}

}  // namespace

RowStep row_step(RowState state, std::int64_t action, bool complete) {
  switch (action) {
    case row_action::create_and_go:
      return create(state, true, complete);
    case row_action::create_and_wait:
      return create(state, false, complete);
    case row_action::active:
      return move(state, RowState::active, complete);
    case row_action::not_in_service:
      return move(state, RowState::not_in_service, complete);
    case row_action::destroy:
      return {Status::no_error, RowState::missing};
    default:
      return refuse(Status::wrong_value, state);
  }
}

std::int64_t row_status_value(RowState state) {
  switch (state) {
    case RowState::active:
      return row_action::active;
    case RowState::not_in_service:
      return row_action::not_in_service;
    default:
      return row_action::not_ready;
  }
}

}  // namespace vergeset::sim
