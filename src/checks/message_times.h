#pragma once

#include <chrono>

#include "checks/finding.h"
#include "checks/message.h"
#include "checks/message_rows.h"

namespace vergeset::checks {

/// When a row's message is to be sent, held against the clock and against when it says that it holds.
/// `message`: nothing where the row has no payload.
void judge_times(const MessageRow& row, const j2735::Message* message, const fleet::Limits& limits,
                 std::chrono::sys_seconds now, Findings& findings);

}  // namespace vergeset::checks
