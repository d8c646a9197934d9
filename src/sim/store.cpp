#include "sim/store.h"

#include <algorithm>

#include "sim/factory.h"
#include "sim/set_plan.h"

namespace vergeset::sim {

using smi::Type;
using smi::Value;

Store::Store(Nature nature, const fleet::Desired* quirks, std::int64_t now)
    : nature_(std::move(nature)), seed_(seed_of(nature_.name)), started_(now) {
  const schema::Model& kind = model();
  const auto absent = [&](const schema::Object* object) {
    return object != nullptr && nature_.absent.contains(object->name);
  };
  for (const auto& [name, object] : kind.objects) {
    if (object.access == schema::Access::not_accessible || absent(&object)) continue;
    if (object.table != nullptr && absent(object.table->status)) continue;
    const schema::Traits traits = quirks != nullptr ? quirks->traits_of(object) : object.traits;
    slots_.push_back({&object, moving_of(object), traits.needs_standby, required(object), {}});
  }
  std::sort(slots_.begin(), slots_.end(),
            [](const Slot& a, const Slot& b) { return a.object->oid < b.object->oid; });
  for (const auto& [name, table] : kind.tables)
    if (table.rows_are_made() && !absent(table.status))
      tables_[&table].needs_standby = quirks != nullptr ? quirks->needs_standby(table) : table.needs_standby;
  for (std::size_t i = 0; i < slots_.size(); ++i) {
    Slot& slot = slots_[i];
    if (kind.mode && kind.mode->status == slot.object) slot.moving = Moving::mode;
    const schema::Table* table = slot.object->table;
    if (table == nullptr) {
      slot.cells[0] = factory_value(*slot.object, kind, seed_, 0);
    } else if (table->rows_are_made()) {
      TableRule& rule = tables_[table];
      if (table->status == slot.object) rule.status = i;
      rule.columns.push_back(i);
    } else {
      for (std::uint32_t row = 1; row <= own_rows(*table); ++row)
        slot.cells[row] = factory_value(*slot.object, kind, seed_, row);
    }
  }
  if (kind.mode) {
    if (const auto asked = slot_of(kind.mode->asked))
      slots_[*asked].cells[0] = Value::of_number(kind.mode->asked->syntax.wire(), kind.mode->standby);
    running_.transition = {kind.mode->status_standby, kind.mode->status_standby, now};
  }
  running_.air.until = now;
}

std::size_t Store::slot_before(const smi::Oid& oid) const {
  const auto after = std::upper_bound(slots_.begin(), slots_.end(), oid,
                                      [](const smi::Oid& a, const Slot& b) { return a < b.object->oid; });
  return after == slots_.begin() ? slots_.size() : static_cast<std::size_t>(after - slots_.begin()) - 1;
}

std::optional<std::size_t> Store::slot_of(const schema::Object* object) const {
  if (object == nullptr) return std::nullopt;
  const std::size_t slot = slot_before(object->oid);
  if (slot == slots_.size() || slots_[slot].object != object) return std::nullopt;
  return slot;
}

const Value* Store::cell(std::size_t slot, std::uint32_t index) const {
  const auto found = slots_[slot].cells.find(index);
  return found == slots_[slot].cells.end() ? nullptr : &found->second;
}

std::int64_t Store::number(const schema::Object* object, std::uint32_t index, std::int64_t otherwise) const {
  const auto slot = slot_of(object);
  const Value* held = slot ? cell(*slot, index) : nullptr;
  return held != nullptr ? held->number : otherwise;
}

Value Store::read(const Slot& slot, std::uint32_t index, const Value& stored, std::int64_t now) const {
  if (slot.moving == Moving::still) return stored;
  auto value = moved(slot, index, now);
  if (!value) return stored;
  return *std::move(value);
}

Value Store::get(const smi::Oid& instance, std::int64_t now) const {
  const std::size_t at = slot_before(instance);
  if (at == slots_.size() || !instance.within(slots_[at].object->oid))
    return Value::of_number(Type::no_such_object, 0);
  const Slot& slot = slots_[at];
  const smi::Oid tail = instance.tail(slot.object->oid);
  const Value* held = tail.size() == 1 ? cell(at, tail.back()) : nullptr;
  return held != nullptr ? read(slot, tail.back(), *held, now) : Value::of_number(Type::no_such_instance, 0);
}

std::optional<VarBind> Store::get_next(const smi::Oid& after, std::int64_t now) const {
  std::size_t at = slot_before(after);
  if (at == slots_.size()) at = 0;
  for (; at < slots_.size(); ++at) {
    const Slot& slot = slots_[at];
    auto cell_at = slot.cells.begin();
    if (after.within(slot.object->oid)) {
      const smi::Oid tail = after.tail(slot.object->oid);
      if (!tail.empty()) cell_at = slot.cells.upper_bound(tail.arcs().front());
    } else if (after > slot.object->oid) {
      continue;
    }
    if (cell_at != slot.cells.end())
      return VarBind{slot.object->oid.child(cell_at->first),
                     read(slot, cell_at->first, cell_at->second, now)};
  }
  return std::nullopt;
}

std::vector<VarBind> Store::walk(std::int64_t now) const {
  std::vector<VarBind> all;
  for (const Slot& slot : slots_)
    for (const auto& [index, value] : slot.cells)
      all.push_back({slot.object->oid.child(index), read(slot, index, value, now)});
  return all;
}

std::vector<Store::Cell> Store::settable_cells() const {
  std::vector<Cell> all;
  for (const Slot& slot : slots_) {
    if (!slot.object->settable()) continue;
    for (const auto& [index, value] : slot.cells) all.push_back({slot.object, index, value});
  }
  return all;
}

Verdict Store::check(const std::vector<VarBind>& set, std::int64_t now) const {
  return SetPlan(*this, set, now).verdict();
}

void Store::commit(const std::vector<VarBind>& set, std::int64_t now) {
  undo_ = {{}, running_};
  count_air(now);
  SetPlan(*this, set, now).carry_out(*this);
}

void Store::undo() {
  for (auto was = undo_.cells.rbegin(); was != undo_.cells.rend(); ++was) {
    auto& cells = slots_[was->slot].cells;
    if (was->value)
      cells[was->index] = std::move(*was->value);
    else
      cells.erase(was->index);
  }
  running_ = undo_.running;
  undo_.cells.clear();
}

const Store::TableRule* Store::rule_of(const schema::Table* table) const {
  const auto found = tables_.find(table);
  return found == tables_.end() ? nullptr : &found->second;
}

const schema::Table* Store::emptied_by(const schema::Object& object) const {
  if (!object.traits.action || object.name != "rsuMsgRepeatDeleteAll") return nullptr;
  const schema::Table* table = model().table("rsuMsgRepeatStatusTable");
  return rule_of(table) != nullptr ? table : nullptr;
}

bool Store::possible_row(const schema::Table& table, std::uint32_t index) {
  return index >= table.index_range.low && index <= table.index_range.high;
}

RowState Store::row_state(const schema::Table& table, std::uint32_t index) const {
  const Value* status = cell(rule_of(&table)->status, index);
  if (status == nullptr) return RowState::missing;
  switch (status->number) {
    case row_action::active:
      return RowState::active;
    case row_action::not_in_service:
      return RowState::not_in_service;
    default:
      return RowState::not_ready;
  }
}

std::vector<std::uint32_t> Store::rows(const schema::Table& table) const {
  std::vector<std::uint32_t> indexes;
  for (const auto& [index, value] : slots_[rule_of(&table)->status].cells) indexes.push_back(index);
  return indexes;
}

std::int64_t Store::most_rows_of(const schema::Table& table) const {
  return number(table.most, 0, most_rows);
}

}  // namespace vergeset::sim
