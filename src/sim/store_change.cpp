#include <algorithm>

#include "sim/factory.h"
#include "sim/set_plan.h"
#include "sim/store.h"

namespace vergeset::sim {

using smi::Value;

void Store::put(std::size_t slot, std::uint32_t index, Value value) {
  auto& cells = slots_[slot].cells;
  const auto held = cells.find(index);
  undo_.cells.push_back({slot, index, held == cells.end() ? std::nullopt : std::optional(held->second)});
  cells[index] = std::move(value);
}

void Store::erase(std::size_t slot, std::uint32_t index) {
  auto& cells = slots_[slot].cells;
  const auto held = cells.find(index);
  if (held == cells.end()) return;
  undo_.cells.push_back({slot, index, std::move(held->second)});
  cells.erase(held);
}

void Store::make_row(const schema::Table& table, std::uint32_t index) {
  for (const std::size_t slot : rule_of(&table)->columns)
    if (!slots_[slot].required && slots_[slot].object != table.status)
      put(slot, index, factory_value(*slots_[slot].object, model(), seed_, index));
}

void Store::erase_row(const schema::Table& table, std::uint32_t index) {
  for (const std::size_t slot : rule_of(&table)->columns) erase(slot, index);
}

void Store::set_row_state(const schema::Table& table, std::uint32_t index, RowState state) {
  put(rule_of(&table)->status, index, Value::integer(row_status_value(state)));
}

bool Store::row_complete(const schema::Table& table, std::uint32_t index) const {
  const auto& columns = rule_of(&table)->columns;
  return std::all_of(columns.begin(), columns.end(), [&](std::size_t slot) {
    return !slots_[slot].required || cell(slot, index) != nullptr;
  });
}

void Store::clear_rows() {
  for (const auto& [table, rule] : tables_)
    for (const std::size_t slot : rule.columns) slots_[slot].cells.clear();
}

std::int64_t Store::mode(std::int64_t now) const {
  const Transition& transition = running_.transition;
  return now >= transition.due ? transition.to : transition.from;
}

bool Store::operating(std::int64_t now) const {
  return model().mode && mode(now) == model().mode->status_operate;
}

bool Store::in_standby(std::int64_t now) const {
  return !model().mode || mode(now) == model().mode->status_standby;
}

void Store::stick(Stuck where, int times) {
  running_.stuck = where;
  running_.stuck_times = times;
}

/// A SET of the mode starts a transition; a mode that the unit is in already starts none.
void Store::ask_mode(std::int64_t asked, std::int64_t now) {
  const schema::ModeRule& rule = *model().mode;
  std::int64_t to = asked;
  if (asked == rule.standby) to = rule.status_standby;
  if (asked == rule.operate) {
    to = rule.status_operate;
    if (running_.stuck_times > 0) {
      --running_.stuck_times;
      to = running_.stuck == Stuck::fault && rule.status_fault ? *rule.status_fault : rule.status_standby;
    }
  }
  const std::int64_t from = mode(now);
  running_.transition = {from, to, from == to ? now : now + nature_.transition_ms};
}

void Store::settle_mode(std::int64_t now) {
  if (!model().mode) return;
  const schema::ModeRule& rule = *model().mode;
  const std::int64_t asked = number(rule.asked, 0, rule.standby);
  std::int64_t to = asked;
  if (asked == rule.standby) to = rule.status_standby;
  if (asked == rule.operate) to = rule.status_operate;
  running_.transition = {to, to, now};
}

/// An action is done at once and reads 0 again.
void Store::act(const schema::Object& object, std::uint32_t index, std::int64_t value) {
  const auto store_number = [&](std::string_view name, std::int64_t result) {
    const schema::Object* shown = model().object(name);
    if (const auto slot = slot_of(shown)) put(*slot, index, Value::of_number(shown->syntax.wire(), result));
  };
  if (const auto slot = slot_of(&object)) put(*slot, index, Value::of_number(object.syntax.wire(), 0));
  if (value == 0) return;
  if (object.name == "rsuReboot") running_.reboot_asked = true;
  if (const schema::Table* table = emptied_by(object); table != nullptr)
    for (const std::uint32_t row : rows(*table)) erase_row(*table, row);
  if (object.name == "rsuAppConfigStart") store_number("rsuAppConfigState", 0);          // started
  if (object.name == "rsuAppConfigStop") store_number("rsuAppConfigState", 1);           // stopped
  if (object.name == "rsuSysLogQueryGenerate") store_number("rsuSysLogQueryStatus", 4);  // successful
  if (object.name == "rsuInstallUpdate") store_number("rsuInstallStatus", 3);  // rejected: no such file
}

bool Store::take_reboot_request() {
  return std::exchange(running_.reboot_asked, false);
}

void Store::reboot(std::int64_t now) {
  started_ = now;
  running_.air = {now, {}};
  running_.reboot_asked = false;
  settle_mode(now);
}

Result<bool> Store::put_by_hand(const schema::Object& object, std::uint32_t index, const Value& value,
                                std::int64_t now) {
  const auto slot = slot_of(&object);
  if (!slot) return Problem{object.name + " is not accessible"};
  const Moving moving = slots_[*slot].moving;
  if (value.type != object.syntax.wire())
    return Problem{object.name + " is " + std::string(smi::type_name(object.syntax.wire())) + ", not " +
                   std::string(smi::type_name(value.type))};
  const schema::Table* table = object.table;
  const bool made = rule_of(table) != nullptr;
  const bool of_row = made && table->status == &object;
  const bool there = of_row ? possible_row(*table, index)
                     : made ? row_state(*table, index) != RowState::missing
                            : cell(*slot, index) != nullptr;
  if (!there) return Problem{object.name + " has no instance " + std::to_string(index)};
  undo_ = {{}, running_};
  count_air(now);
  if (of_row) return row_by_hand(*table, index, value.number);
  put(*slot, index, value);
  if (moving != Moving::mode) slots_[*slot].moving = Moving::still;
  if (made && row_state(*table, index) == RowState::not_ready && row_complete(*table, index))
    set_row_state(*table, index, RowState::not_in_service);  // RFC 2579 RowStatus, note 1
  if (model().mode && model().mode->asked == &object)
    ask_mode(value.number, now);
  else if (moving == Moving::mode)
    running_.transition = {value.number, value.number, now};
  return true;
}

Result<bool> Store::row_by_hand(const schema::Table& table, std::uint32_t index, std::int64_t action) {
  const RowState before = row_state(table, index);
  const RowStep step = row_step(before, action, row_complete(table, index));
  if (step.status != Status::no_error)
    return Problem{table.status->name + "." + std::to_string(index) + ": " +
                   std::string(status_name(step.status))};
  if (step.next == RowState::missing) {
    erase_row(table, index);
    return true;
  }
  if (before == RowState::missing) make_row(table, index);
  set_row_state(table, index, step.next);
  return true;
}

Result<bool> Store::restore(const schema::Object& object, std::uint32_t index, const Value& value) {
  const auto slot = slot_of(&object);
  if (!slot || !object.settable()) return Problem{object.name + " cannot be SET and is no part of a state"};
  if (const auto broken = smi::violation(object.syntax, value)) return Problem{object.name + ": " + *broken};
  const TableRule* rule = rule_of(object.table);
  if (rule != nullptr ? !possible_row(*object.table, index) : cell(*slot, index) == nullptr)
    return Problem{object.name + " has no instance " + std::to_string(index)};
  if (rule != nullptr && rule->status == *slot && value.number > row_action::not_ready)
    return Problem{object.name + " is never " + std::to_string(value.number)};
  slots_[*slot].cells[index] = value;
  if (rule == nullptr) return true;
  slots_[rule->status].cells.try_emplace(index, Value::integer(row_action::not_ready));
  for (const std::size_t column : rule->columns)
    if (!slots_[column].object->settable() && cell(column, index) == nullptr)
      slots_[column].cells[index] = factory_value(*slots_[column].object, model(), seed_, index);
  return true;
}

Result<bool> Store::become(const std::vector<Cell>& found, std::optional<std::int64_t> mode_found,
                           std::int64_t now) {
  for (Slot& slot : slots_) {
    slot.cells.clear();
    if (slot.moving != Moving::mode) slot.moving = Moving::still;
  }
  for (const Cell& cell : found) {
    const auto slot = slot_of(cell.object);
    if (!slot) return Problem{cell.object->name + " is not offered"};
    slots_[*slot].cells[cell.index] = cell.value;
  }
  settle_mode(now);
  if (mode_found) running_.transition = {*mode_found, *mode_found, now};
  return true;
}

namespace {

std::uint32_t first_free(const std::vector<std::uint32_t>& taken, std::int64_t low) {
  auto index = static_cast<std::uint32_t>(low);
  while (std::find(taken.begin(), taken.end(), index) != taken.end()) ++index;
  return index;
}

}  // namespace

void Store::apply(const fleet::Desired& desired, std::int64_t now) {
  for (const auto& asked : desired.values)
    if (const auto slot = slot_of(asked.object)) put(*slot, 0, asked.value);
  for (const auto& wanted : desired.tables) {
    const schema::Table& table = *wanted.table;
    const bool made = table.rows_are_made();
    for (const auto& row : wanted.rows) {
      if (!row.present || (!made && !row.index)) continue;
      const std::uint32_t index = row.index ? *row.index : first_free(rows(table), table.index_range.low);
      if (made) make_row(table, index);
      for (const auto& column : row.columns)
        if (const auto slot = slot_of(column.object); slot && (made || cell(*slot, index) != nullptr))
          put(*slot, index, column.value);
      if (made)
        set_row_state(table, index, row_complete(table, index) ? RowState::active : RowState::not_ready);
    }
  }
  settle_mode(now);
  undo_ = {{}, running_};
}

}  // namespace vergeset::sim
