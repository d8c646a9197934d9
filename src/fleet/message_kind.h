#pragma once

#include "fleet/table_asks.h"

namespace vergeset::fleet {

/// The kind of message that a row says and the one that its payload begins with must be the same: a
/// TIM that is sent as a MAP misleads vehicles.
void check_message_kind(const Reading& reading, const TableAsks& table, const RowAsks& asks,
                        const DesiredRow& row);

}  // namespace vergeset::fleet
