#pragma once

#include <cstdint>

#include "sim/status.h"

namespace vergeset::sim {

/// The states A to D of a conceptual row (RFC 2579, RowStatus).
enum class RowState { missing, not_ready, not_in_service, active };

/// What a manager may SET a status column to, and notReady, which it may not (RFC 2579).
namespace row_action {
inline constexpr std::int64_t active = 1;
inline constexpr std::int64_t not_in_service = 2;
inline constexpr std::int64_t not_ready = 3;
inline constexpr std::int64_t create_and_go = 4;
inline constexpr std::int64_t create_and_wait = 5;
inline constexpr std::int64_t destroy = 6;
}  // namespace row_action

struct RowStep {
  Status status = Status::no_error;
  RowState next = RowState::missing;
  bool operator==(const RowStep&) const = default;
};

/// One cell of the state table of RFC 2579: a SET of the status column of a row in `state`.
/// `complete`: every column that the row cannot be without has a value, or gets one in this SET.
RowStep row_step(RowState state, std::int64_t action, bool complete);

/// What a status column reads in `state`; a missing row has none.
std::int64_t row_status_value(RowState state);

}  // namespace vergeset::sim
