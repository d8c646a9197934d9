#include "cells.h"

#include <algorithm>

namespace vergeset::faults {

namespace {

bool is_mode(const fleet::Unit& unit, const schema::Object* object) {
  return unit.model->mode && unit.model->mode->asked == object;
}

std::vector<std::uint32_t> rows_of(const schema::Table& table, const Cells& cells) {
  std::vector<std::uint32_t> rows;
  for (const Cells::Cell& cell : cells.all) {
    const bool marks = table.status != nullptr ? cell.object == table.status : cell.object->table == &table;
    if (marks && std::find(rows.begin(), rows.end(), cell.index) == rows.end()) rows.push_back(cell.index);
  }
  return rows;
}

/// The row at this index is there, in service, with all that the files ask of it.
bool is_row(const fleet::DesiredTable& table, const fleet::DesiredRow& row, std::uint32_t index,
            const Cells& cells) {
  if (row.index && *row.index != index) return false;
  const schema::Object* status = table.table->status;
  if (status != nullptr) {
    const smi::Value* const service = cells.find(status, index);
    if (service == nullptr || service->number != 1) return false;  // active (RFC 2579)
  }
  return std::all_of(row.columns.begin(), row.columns.end(), [&](const fleet::DesiredValue& column) {
    return same(*column.object, cells.find(column.object, index), &column.value);
  });
}

}  // namespace

const smi::Value* Cells::find(const schema::Object* object, std::uint32_t index) const {
  for (const Cell& cell : all) {
    if (cell.object == object && cell.index == index) return &cell.value;
  }
  return nullptr;
}

std::vector<const schema::Object*> spoken_of(const fleet::Unit& unit) {
  std::vector<const schema::Object*> objects;
  const auto add = [&](const schema::Object* object) {
    if (!object->configuration() || unit.desired.traits_of(*object).running) return;
    objects.push_back(object);
  };
  for (const fleet::DesiredValue& value : unit.desired.values) add(value.object);
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    for (const schema::Object* column : table.table->columns) add(column);
  }
  if (unit.model->mode) add(unit.model->mode->asked);
  // By identifier and not by address: what is drawn from them is to be the same in every process.
  std::sort(objects.begin(), objects.end(),
            [](const schema::Object* a, const schema::Object* b) { return a->oid < b->oid; });
  objects.erase(std::unique(objects.begin(), objects.end()), objects.end());
  return objects;
}

Cells look(const sim::Store& store, const std::vector<const schema::Object*>& objects, std::int64_t now) {
  Cells cells;
  auto next = objects.begin();  // both stand in the order of their identifiers
  for (sim::Store::Cell& cell : store.settable_cells()) {
    while (next != objects.end() && *next != cell.object && (*next)->oid < cell.object->oid) ++next;
    if (next != objects.end() && *next == cell.object)
      cells.all.push_back({cell.object, cell.index, std::move(cell.value)});
  }
  cells.mode = store.mode(now);
  // Where one object is both the mode asked for and the mode reached, only the latter shows.
  const auto& mode = store.model().mode;
  for (Cells::Cell& cell : cells.all) {
    if (mode && mode->asked == mode->status && cell.object == mode->asked) cell.value.number = cells.mode;
  }
  cells.operating = store.operating(now);
  return cells;
}

bool same(const schema::Object& object, const smi::Value* a, const smi::Value* b) {
  if (a == nullptr || b == nullptr) return a == b;
  return *a == *b || smi::agree(object.syntax, *a, *b);
}

std::vector<Ask> asks_of(const fleet::Unit& unit) {
  std::vector<Ask> asks;
  for (const fleet::DesiredValue& value : unit.desired.values) asks.push_back({value.object->name, &value});
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    for (const fleet::DesiredRow& row : table.rows)
      asks.push_back({table.name + " " + row.label, nullptr, &table, &row});
    if (table.others == fleet::Others::remove)
      asks.push_back({table.name + ", rows that nobody asked for", nullptr, &table, nullptr});
  }
  return asks;
}

bool Ask::holds(const fleet::Unit& unit, const Cells& cells) const {
  if (value != nullptr) {
    if (!same(*value->object, cells.find(value->object, 0), &value->value)) return false;
    if (!is_mode(unit, value->object)) return true;
    const schema::ModeRule& rule = *unit.model->mode;
    return cells.mode == (value->value.number == rule.operate ? rule.status_operate : rule.status_standby);
  }
  const std::vector<std::uint32_t> rows = rows_of(*table->table, cells);
  if (row == nullptr) {
    return std::all_of(rows.begin(), rows.end(), [&](std::uint32_t index) {
      return std::any_of(table->rows.begin(), table->rows.end(), [&](const fleet::DesiredRow& wanted) {
        return wanted.present && is_row(*table, wanted, index, cells);
      });
    });
  }
  if (!row->present) return row->index && std::find(rows.begin(), rows.end(), *row->index) == rows.end();
  return std::any_of(rows.begin(), rows.end(),
                     [&](std::uint32_t index) { return is_row(*table, *row, index, cells); });
}

}  // namespace vergeset::faults
