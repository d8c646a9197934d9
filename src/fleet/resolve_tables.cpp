#include "fleet/find_row.h"
#include "fleet/message_kind.h"
#include "fleet/resolve.h"
#include "fleet/table_asks.h"

namespace vergeset::fleet {

namespace {

SharedList<DesiredValue> settle_columns(const Reading& reading, const RowAsks& asks) {
  SharedList<DesiredValue> columns;
  for (const auto& [name, column] : asks.columns) {
    if (column.empty()) continue;
    if (auto value = settle(reading, column)) columns.push_back(std::move(value));
  }
  columns.sort([](const DesiredValue& a, const DesiredValue& b) { return a.object->oid < b.object->oid; });
  return columns;
}

void settle_present(const Reading& reading, const TableAsks& table, const RowAsks& asks, DesiredRow& row) {
  if (asks.present.empty()) return;
  const Say& present = settle(reading, "present of row " + asks.label, asks.present);
  row.present = present.text == "yes";
  if (!row.present && !table.table->rows_are_made()) {
    reading.fault(present.place, "the rows of " + table.name + " are the unit's own: row " + asks.label +
                                     " cannot be removed");
  }
}

DesiredRow settle_row(const Reading& reading, const TableAsks& table, const RowAsks& asks, Desired& desired) {
  DesiredRow row;
  row.label = asks.label;
  row.asked = {asks.block->place, *asks.source->layer, asks.label};
  row.columns = settle_columns(reading, asks);
  settle_present(reading, table, asks, row);
  find_row(reading, table, asks, row);
  check_message_kind(reading, table, asks, row);
  tell_missing(reading, asks.missing, table.name + "/" + asks.label + "/", desired);
  return row;
}

void settle_others(const Reading& reading, const TableAsks& asks, DesiredTable& table) {
  if (asks.others.empty()) return;
  const Say& others = settle(reading, "others of " + asks.name, asks.others);
  if (others.text == "remove") table.others = Others::remove;
  if (others.text == "ignore") table.others = Others::ignore;
  if (table.others == Others::remove && !asks.table->rows_are_made()) {
    reading.fault(others.place, "the rows of " + asks.name +
                                    " are the unit's own and cannot be removed; write keep or ignore");
  }
}

}  // namespace

void settle_tables(const Reading& reading, const Asks& asks, Desired& desired) {
  for (const TableAsks& said : asks.tables) {
    DesiredTable table;
    table.name = said.name;
    table.table = said.table;
    settle_others(reading, said, table);
    for (const RowAsks& row : said.rows) table.rows.push_back(settle_row(reading, said, row, desired));
    check_rows_differ(reading, table);
    desired.tables.push_back(std::move(table));
  }
  desired.tables.sort([](const DesiredTable& a, const DesiredTable& b) { return a.name < b.name; });
}

}  // namespace vergeset::fleet
