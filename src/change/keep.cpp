#include "change/keep.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "change/mode.h"
#include "smi/row_status.h"

namespace vergeset::change {

namespace {

using namespace smi::row_status;

bool configuration(const fleet::Unit& unit, const schema::Object& column) {
  return column.configuration() && !unit.desired.traits_of(column).running;
}

/// The columns of a row that a snapshot keeps: all configuration, not the RowStatus, which `present`
/// stands for.
std::vector<const schema::Object*> kept_columns(const fleet::Unit& unit, const schema::Table& table) {
  std::vector<const schema::Object*> columns;
  for (const schema::Object* column : table.columns) {
    if (column != table.status && configuration(unit, *column)) columns.push_back(column);
  }
  return columns;
}

records::KeptRow keep_row(const fleet::Unit& unit, const RowPlace& place, const AsFound& found) {
  records::KeptRow row{place.table, place.index, place.status, false, {}};
  const schema::Table* table = unit.model->table(place.table);
  if (table == nullptr) return row;
  for (const schema::Object* column : kept_columns(unit, *table)) {
    const smi::Oid instance = column->oid.child(place.index);
    const smi::Value& value = found.at(instance);
    if (!value.absent())
      row.columns.push_back({fmt::format("{}.{}", column->name, place.index), instance, value});
  }
  row.present = place.status.empty() ? !row.columns.empty() : found.has(place.status);
  if (!row.present) row.columns.clear();
  const std::int64_t status = found.at(place.status).number;
  if (row.present && table->status != nullptr && (status == not_in_service || status == not_ready)) {
    row.columns.push_back({unit.model->name_of(place.status), place.status, found.at(place.status)});
  }
  return row;
}

/// What a kept instance needs to become an item: from the model where it knows the object, from the
/// snapshot otherwise.
Item item_of(const fleet::Unit& unit, const records::Kept& kept, const smi::Value& now,
             const std::string& source) {
  Item item;
  item.name = kept.name;
  item.setting = kept.name;
  item.oid = kept.oid;
  item.as_found = now;
  item.desired = kept.value;
  item.asked = source;
  if (const schema::Object* object = unit.model->object_at(kept.oid); object != nullptr) {
    const schema::Traits traits = unit.desired.traits_of(*object);
    item.setting = object->usual_name();
    item.syntax = object->syntax;
    item.unit = object->unit;
    item.needs_standby = traits.needs_standby;
    item.cuts_off = traits.cuts_off;
  } else {
    item.syntax.form = kept.value.type == smi::Type::octet_string ? smi::Form::octets : smi::Form::integer;
  }
  return item;
}

RowPlace place_of(const fleet::Unit& unit, const records::KeptRow& row) {
  RowPlace place{row.table, row.index, row.status, schema::RowEdit::in_place, true};
  if (const schema::Table* table = unit.model->table(row.table); table != nullptr) {
    place.edit = table->edit;
    place.needs_standby = unit.desired.needs_standby(*table);
  }
  return place;
}

/// The status a kept row had: a row that was not in service, or not ready, keeps its RowStatus as a column.
std::int64_t kept_status(const records::KeptRow& row) {
  const auto out = std::find_if(row.columns.begin(), row.columns.end(),
                                [&](const records::Kept& column) { return column.oid == row.status; });
  return out == row.columns.end() ? active : out->value.number;
}

/// createAndGo counts as active: units are known to show it (common practice, no source).
bool in_kept_service(const records::KeptRow& row, const smi::Value& status) {
  smi::Syntax syntax;
  syntax.form = smi::Form::row_status;
  return smi::agree(syntax, status, smi::Value::integer(kept_status(row)));
}

Item status_item(const fleet::Unit& unit, const records::KeptRow& row, const AsFound& found,
                 const std::string& source) {
  const records::Kept kept{unit.model->name_of(row.status), row.status,
                           smi::Value::integer(kept_status(row))};
  Item item = item_of(unit, kept, found.at(row.status), source);
  item.syntax.form = smi::Form::row_status;
  item.needs_standby = place_of(unit, row).needs_standby;
  return item;
}

Difference row_difference(const fleet::Unit& unit, const records::KeptRow& row, const AsFound& found,
                          const std::string& source) {
  Difference difference;
  const schema::Table* table = unit.model->table(row.table);
  difference.name = table != nullptr ? table->usual_name() : row.table;
  difference.row = place_of(unit, row);
  difference.asked = source;
  const bool there = row.status.empty() ? row.present : found.has(row.status);
  difference.kind = !row.present ? Difference::Kind::remove_row
                    : there      ? Difference::Kind::change_row
                                 : Difference::Kind::make_row;
  if (!row.present) return difference;
  for (const records::Kept& column : row.columns) {
    if (column.oid == row.status) continue;
    Item item = item_of(unit, column, found.at(column.oid), source);
    const bool same = there && smi::agree(item.syntax, item.as_found, item.desired);
    (same ? difference.whole_row : difference.items).push_back(std::move(item));
  }
  difference.row.not_active = !row.status.empty() && kept_status(row) != active;
  // Nothing makes a row that is not ready from another but making it anew.
  if (difference.row.not_active && kept_status(row) == not_ready)
    difference.row.edit = schema::RowEdit::remake;
  if (there && !row.status.empty() && !in_kept_service(row, found.at(row.status))) {
    difference.items.push_back(status_item(unit, row, found, source));
  }
  return difference;
}

}  // namespace

std::vector<smi::Oid> to_keep(const schema::Model& model, const std::vector<Difference>& differences) {
  std::set<smi::Oid> instances;
  if (model.mode) {
    instances.insert(model.mode->asked->oid.child(0));
    instances.insert(model.mode->status->oid.child(0));
  }
  for (const Difference& difference : differences) {
    for (const Item& item : difference.items) instances.insert(item.oid);
    const schema::Table* table = difference.is_row() ? model.table(difference.row.table) : nullptr;
    if (table == nullptr) continue;
    for (const schema::Object* column : table->columns) {
      if (column->access != schema::Access::not_accessible)
        instances.insert(column->oid.child(difference.row.index));
    }
  }
  return {instances.begin(), instances.end()};
}

void fill_whole_rows(const fleet::Unit& unit, const AsFound& found, std::vector<Difference>& differences) {
  for (Difference& difference : differences) {
    const bool goes = difference.kind == Difference::Kind::remove_row;
    const bool anew =
        difference.kind == Difference::Kind::change_row && difference.row.edit == schema::RowEdit::remake;
    if (!anew && !goes) continue;
    difference.whole_row.clear();
    for (const records::Kept& kept : keep_row(unit, difference.row, found).columns) {
      const bool changed = std::any_of(difference.items.begin(), difference.items.end(),
                                       [&](const Item& item) { return item.oid == kept.oid; });
      if (changed) continue;
      Item item = item_of(unit, kept, kept.value, "as found");
      if (goes) item.desired = smi::Value::of_number(smi::Type::no_such_instance, 0);
      difference.whole_row.push_back(std::move(item));
    }
  }
}

records::Snapshot keep(const fleet::Unit& unit, const AsFound& found,
                       const std::vector<Difference>& differences) {
  records::Snapshot snapshot;
  snapshot.unit = unit.name;
  snapshot.model = unit.model->name;
  snapshot.taken = found.taken;
  snapshot.engine_id = smi::to_hex(found.engine_id);
  std::set<smi::Oid> seen;
  const auto keep_value = [&](const smi::Oid& instance) {
    if (!seen.insert(instance).second || !found.has(instance)) return;
    snapshot.values.push_back({unit.model->name_of(instance), instance, found.at(instance)});
  };
  for (const Difference& difference : differences) {
    if (difference.is_row()) {
      // A row that goes and one that takes its index are two differences, and one row.
      const bool kept = std::any_of(snapshot.rows.begin(), snapshot.rows.end(), [&](const auto& row) {
        return row.table == difference.row.table && row.index == difference.row.index;
      });
      if (!kept) snapshot.rows.push_back(keep_row(unit, difference.row, found));
    } else {
      keep_value(difference.items.front().oid);
    }
  }
  if (unit.model->mode) keep_value(unit.model->mode->asked->oid.child(0));
  snapshot.on_air = mode_of(*unit.model, found).operate;
  return snapshot;
}

std::vector<smi::Oid> instances_of(const schema::Model& model, const records::Snapshot& snapshot) {
  std::set<smi::Oid> instances;
  if (model.mode) {
    instances.insert(model.mode->asked->oid.child(0));
    instances.insert(model.mode->status->oid.child(0));
  }
  for (const records::Kept& kept : snapshot.values) instances.insert(kept.oid);
  for (const records::KeptRow& row : snapshot.rows) {
    if (!row.status.empty()) instances.insert(row.status);
    for (const records::Kept& column : row.columns) instances.insert(column.oid);
    const schema::Table* table = model.table(row.table);
    if (table == nullptr) continue;
    for (const schema::Object* column : table->columns) {
      if (column->access != schema::Access::not_accessible) instances.insert(column->oid.child(row.index));
    }
  }
  return {instances.begin(), instances.end()};
}

std::vector<Difference> differences_to(const fleet::Unit& unit, const records::Snapshot& snapshot,
                                       const AsFound& found, const std::string& source) {
  std::vector<Difference> differences;
  for (const records::Kept& kept : snapshot.values) {
    Item item = item_of(unit, kept, found.at(kept.oid), source);
    const bool mode = unit.model->mode && kept.oid == unit.model->mode->asked->oid.child(0);
    if (mode && snapshot.on_air)
      item.found_words = unreached_mode(*unit.model, found, kept.value.number).value_or("");
    if (item.found_words.empty() && smi::agree(item.syntax, item.as_found, item.desired)) continue;
    Difference difference;
    difference.name = item.setting;
    difference.asked = source;
    difference.items.push_back(std::move(item));
    differences.push_back(std::move(difference));
  }
  for (const records::KeptRow& row : snapshot.rows) {
    const bool there = !row.status.empty() && found.has(row.status);
    if (!row.present && !there) continue;
    Difference difference = row_difference(unit, row, found, source);
    if (difference.kind == Difference::Kind::change_row && difference.items.empty()) continue;
    differences.push_back(std::move(difference));
  }
  return differences;
}

records::Snapshot retake(const fleet::Unit& unit, const records::Snapshot& snapshot, const AsFound& found) {
  records::Snapshot now = snapshot;
  now.taken = found.taken;
  now.engine_id = smi::to_hex(found.engine_id);
  now.on_air = mode_of(*unit.model, found).operate;
  for (records::Kept& kept : now.values) kept.value = found.at(kept.oid);
  for (records::KeptRow& row : now.rows) row = keep_row(unit, place_of(unit, row), found);
  return now;
}

}  // namespace vergeset::change
