#include "sim/set_plan.h"

#include <algorithm>

#include "smi/form.h"

namespace vergeset::sim {

SetPlan::SetPlan(const Store& store, const std::vector<VarBind>& set, std::int64_t now)
    : store_(store), set_(set), now_(now), standby_(store.in_standby(now)) {
  targets_.reserve(set.size());
  for (const VarBind& bind : set) targets_.push_back(target_of(bind));
  gather_rows();
}

SetPlan::Target SetPlan::target_of(const VarBind& bind) const {
  Target target;
  target.slot = store_.slot_before(bind.oid);
  const bool known =
      target.slot < store_.slots_.size() && bind.oid.within(store_.slots_[target.slot].object->oid);
  if (!known || !store_.slots_[target.slot].object->settable()) {
    target.status = Status::not_writable;  // (2)
    return target;
  }
  const schema::Object& object = *store_.slots_[target.slot].object;
  target.object = &object;
  target.status = value_status(object, bind.value);  // (3) to (6)
  if (target.status != Status::no_error) return target;

  const smi::Oid instance = bind.oid.tail(object.oid);
  if (instance.size() == 1) target.index = instance.back();
  if (object.table == nullptr) {
    if (instance != smi::Oid{0}) target.status = Status::no_creation;  // (7)
    return target;
  }
  const bool possible = instance.size() == 1 && Store::possible_row(*object.table, target.index);
  const bool made = object.table->rows_are_made();
  if (!possible || (!made && store_.cell(target.slot, target.index) == nullptr))
    target.status = Status::no_creation;  // (7)
  return target;
}

void SetPlan::gather_rows() {
  for (std::size_t i = 0; i < targets_.size(); ++i) {
    const Target& target = targets_[i];
    if (target.object == nullptr || target.status != Status::no_error) continue;
    const schema::Table* table = target.object->table;
    if (table == nullptr || !table->rows_are_made()) continue;
    const auto [at, fresh] = row_at_.try_emplace({table, target.index}, rows_.size());
    if (fresh) {
      rows_.push_back({table, target.index, {}, {}, store_.row_state(*table, target.index), {}});
    }
    RowAsk& row = rows_[at->second];
    if (target.object == table->status)
      row.status = i;
    else
      row.columns.push_back(i);
  }
  for (RowAsk& row : rows_) {
    row.step = row.status ? row_step(row.before, set_[*row.status].value.number, complete(row))
                          : RowStep{Status::no_error, row.before};
    if (!row.status && row.before == RowState::not_ready && complete(row))
      row.step.next = RowState::not_in_service;  // RFC 2579 RowStatus, note 1
  }
}

bool SetPlan::complete(const RowAsk& row) const {
  const auto given = [&](std::size_t slot) {
    return std::any_of(row.columns.begin(), row.columns.end(),
                       [&](std::size_t binding) { return targets_[binding].slot == slot; });
  };
  const auto& columns = store_.rule_of(row.table)->columns;
  return std::all_of(columns.begin(), columns.end(), [&](std::size_t slot) {
    const Store::Slot& column = store_.slots_[slot];
    return !column.required || store_.cell(slot, row.index) != nullptr || given(slot);
  });
}

Verdict SetPlan::verdict() const {
  for (std::size_t i = 0; i < targets_.size(); ++i)
    if (targets_[i].status != Status::no_error) return {targets_[i].status, i + 1};
  for (std::size_t i = 0; i < targets_.size(); ++i)
    if (const Status status = together(i); status != Status::no_error) return {status, i + 1};
  return {};
}

Status SetPlan::together(std::size_t binding) const {
  const Target& target = targets_[binding];
  const auto at = row_at_.find({target.object->table, target.index});
  if (at == row_at_.end()) return scalar_together(binding);
  const RowAsk& row = rows_[at->second];
  return target.object == row.table->status ? status_together(row) : column_together(row, target);
}

/// A scalar, or a column of a table whose rows are the unit's own.
Status SetPlan::scalar_together(std::size_t binding) const {
  const Target& target = targets_[binding];
  const schema::Object& object = *target.object;
  const std::int64_t number = set_[binding].value.number;
  if (store_.slots_[target.slot].needs_standby && !standby_) return Status::inconsistent_value;
  if (object.name == "snmpSetSerialNo") {  // RFC 2579 TestAndIncr
    const smi::Value* held = store_.cell(target.slot, target.index);
    if (held != nullptr && held->number != number) return Status::inconsistent_value;
  }
  if (const schema::Table* emptied = store_.emptied_by(object); emptied != nullptr && number != 0)
    if (store_.rule_of(emptied)->needs_standby && !standby_) return Status::inconsistent_value;
  return Status::no_error;
}

Status SetPlan::status_together(const RowAsk& row) const {
  if (row.step.status != Status::no_error) return row.step.status;
  if (row.before == RowState::missing && row.step.next == RowState::missing) return Status::no_error;
  if (store_.rule_of(row.table)->needs_standby && !standby_) return Status::inconsistent_value;
  // Note 6: a row that is only made anew is not taken out of service either.
  if (row.table->edit == schema::RowEdit::remake && row.before == RowState::active &&
      row.step.next == RowState::not_in_service)
    return Status::inconsistent_value;
  // (11) of RFC 3416 4.2.5: a row is a resource that has run out.
  if (row.creates() && !has_room(row)) return Status::resource_unavailable;
  return Status::no_error;
}

Status SetPlan::column_together(const RowAsk& row, const Target& target) const {
  // RFC 2579 RowStatus, note 4: a column of a row that is not there, and not made by this request.
  if (row.before == RowState::missing && !row.creates()) {
    const bool asked_for = row.status && row.step.status != Status::no_error;
    return asked_for ? Status::no_error : Status::inconsistent_name;
  }
  if (row.destroys()) return Status::no_error;
  if (store_.slots_[target.slot].needs_standby && !standby_) return Status::inconsistent_value;
  // Note 5: whether an active row changes in place is the model's say.
  if (row.before != RowState::active || target.object->traits.running) return Status::no_error;
  const schema::RowEdit edit = row.table->edit;
  const bool stays = row.step.next == RowState::active;
  if (edit == schema::RowEdit::remake || (edit == schema::RowEdit::out_of_service && stays))
    return Status::inconsistent_value;
  return Status::no_error;
}

/// As if simultaneous: rows that the same request destroys make room.
bool SetPlan::has_room(const RowAsk& row) const {
  auto count = static_cast<std::int64_t>(store_.rows(*row.table).size());
  for (const RowAsk& other : rows_)
    if (other.table == row.table && other.destroys()) --count;
  for (const RowAsk& other : rows_) {
    if (other.table == row.table && other.creates()) ++count;
    if (&other == &row) break;
  }
  return count <= store_.most_rows_of(*row.table);
}

void SetPlan::carry_out(Store& store) const {
  for (const RowAsk& row : rows_)
    if (row.destroys() && row.step.status == Status::no_error) store.erase_row(*row.table, row.index);
  for (const RowAsk& row : rows_)
    if (!row.destroys() && row.step.status == Status::no_error) carry_out_row(store, row);
  for (std::size_t i = 0; i < targets_.size(); ++i) {
    const Target& target = targets_[i];
    if (target.status != Status::no_error) continue;
    if (!row_at_.contains({target.object->table, target.index})) carry_out_scalar(store, i);
  }
}

void SetPlan::carry_out_row(Store& store, const RowAsk& row) const {
  if (row.creates()) store.make_row(*row.table, row.index);
  if (row.step.next == RowState::missing) return;
  for (const std::size_t binding : row.columns)
    store.put(targets_[binding].slot, row.index, set_[binding].value);
  store.set_row_state(*row.table, row.index, row.step.next);
}

void SetPlan::carry_out_scalar(Store& store, std::size_t binding) const {
  const Target& target = targets_[binding];
  const schema::Object& object = *target.object;
  const smi::Value& value = set_[binding].value;
  const auto& mode = store.model().mode;
  if (object.name == "snmpSetSerialNo") {  // RFC 2579 TestAndIncr
    const std::int64_t next = value.number == 2147483647 ? 0 : value.number + 1;
    store.put(target.slot, target.index, smi::Value::integer(next));
  } else if (object.traits.action) {
    store.act(object, target.index, value.number);
  } else {
    store.put(target.slot, target.index, value);
  }
  if (mode && mode->asked == &object) store.ask_mode(value.number, now_);
}

namespace {

bool size_fits(const smi::Syntax& syntax, std::size_t size) {
  if (syntax.form == smi::Form::bits) return true;
  return syntax.form == smi::Form::octet_number ? size == 1 : smi::size_allowed(syntax, size);
}

}  // namespace

Status value_status(const schema::Object& object, const smi::Value& value) {
  const smi::Syntax& syntax = object.syntax;
  if (value.type != syntax.wire()) return Status::wrong_type;
  const bool text = value.type == smi::Type::octet_string || value.type == smi::Type::ip_address;
  if (text && !size_fits(syntax, value.octets.size())) return Status::wrong_length;
  if (smi::violation(syntax, value)) return Status::wrong_value;
  // `other` says that a value is none that the standard lists (NTCIP 1218 rsuMode): shown, never set.
  for (const smi::Label& label : syntax.labels)
    if (label.number == value.number && label.name == "other" && syntax.form == smi::Form::enumeration)
      return Status::wrong_value;
  return Status::no_error;
}

}  // namespace vergeset::sim
