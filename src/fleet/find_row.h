#pragma once

#include "fleet/table_asks.h"

namespace vergeset::fleet {

/// Settles how a row is found: its index, or the columns that pick it out.
void find_row(const Reading& reading, const TableAsks& table, const RowAsks& asks, DesiredRow& row);

/// Two rows that are found at one place are one row with two minds: a fault.
void check_rows_differ(const Reading& reading, const DesiredTable& table);

}  // namespace vergeset::fleet
