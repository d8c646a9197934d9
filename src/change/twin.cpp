#include "change/twin.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <nlohmann/json.hpp>
#include <set>

#include "fleet/standby_quirks.h"
#include "records/json_line.h"
#include "smi/inert.h"

namespace vergeset::change {

namespace {

using Json = nlohmann::ordered_json;
using Kind = Unknown::Kind;

bool readable(const schema::Object& object) {
  return object.access != schema::Access::not_accessible;
}

/// Objects that were asked for and are not there. Of a table without a row nothing can be said.
std::vector<std::string> absent_of(const fleet::Unit& unit, const AsFound& whole) {
  std::vector<std::string> names;
  for (const auto& [name, object] : unit.model->objects) {
    if (!readable(object) || whole.offers(object)) continue;
    if (object.table != nullptr && whole.rows_of(*object.table).empty()) continue;
    names.push_back(name);
  }
  return names;
}

/// Units are known to show createAndGo for a row that is in service (common practice, no source).
smi::Value as_held(const schema::Object& object, const smi::Value& value) {
  constexpr std::int64_t active = 1;
  constexpr std::int64_t create_and_go = 4;
  const bool shows_action =
      object.table != nullptr && object.table->status == &object && value.number == create_and_go;
  return shows_action ? smi::Value::integer(active) : value;
}

std::string cell_line(const schema::Object& object, const smi::Oid& instance, const smi::Value& found) {
  const smi::Value value = as_held(object, found);
  return records::JsonLine()
             .text("object", object.name)
             .number("index", object.table != nullptr ? instance.back() : 0)
             .text("type", smi::type_name(value.type))
             .text("value", smi::exact_text(value))
             .str() +
         "\n";
}

/// A setting: what a change may touch, and what a rollback answers for.
bool setting(const fleet::Unit& unit, const schema::Object& object) {
  return object.configuration() && !unit.desired.traits_of(object).running;
}

void add(std::vector<Unknown>& unknown, Kind kind, const std::set<std::string>& names) {
  if (!names.empty()) unknown.push_back({kind, {names.begin(), names.end()}});
}

}  // namespace

std::string twin_text(const fleet::Unit& unit, const AsFound& whole,
                      std::optional<std::size_t> refuse_after) {
  const std::vector<std::string> absent = absent_of(unit, whole);
  std::string lines;
  std::size_t cells = 0;
  for (const auto& [instance, value] : whole.instances) {
    const schema::Object* object = value.absent() ? nullptr : unit.model->object_at(instance);
    if (object == nullptr || !readable(*object)) continue;
    const bool no_rows = object->table != nullptr && object->table->status != nullptr &&
                         std::binary_search(absent.begin(), absent.end(), object->table->status->name);
    if (no_rows) continue;
    lines += cell_line(*object, instance, value);
    ++cells;
  }
  Json head{{"unit", unit.name},
            {"model", unit.model->name},
            {"engine-id", smi::to_hex(whole.engine_id)},
            {"needs-standby", Json::object()},
            {"absent", absent},
            {"cells", cells}};
  for (const auto& [name, needs] : fleet::standby_quirks_of(unit)) head["needs-standby"][name] = needs;
  if (unit.model->mode) {
    const smi::Value& mode = whole.at(unit.model->mode->status->oid.child(0));
    if (!mode.absent()) head["mode"] = mode.number;
  }
  if (refuse_after) head["refuse-after"] = *refuse_after;
  return smi::inert_json(head.dump(-1, ' ', false, Json::error_handler_t::replace)) + "\n" + lines;
}

std::vector<Unknown> unknown_of(const fleet::Unit& unit, const AsFound& whole,
                                const std::vector<Difference>& differences, const Sequence& sequence) {
  std::vector<Unknown> unknown;
  const std::vector<std::string> absent = absent_of(unit, whole);
  add(unknown, Kind::not_answered, {absent.begin(), absent.end()});
  std::set<std::string> untried;
  std::set<std::string> unlimited;
  for (const Difference& difference : differences) {
    if (difference.kind != Difference::Kind::make_row) continue;
    const schema::Table* table = unit.model->table(difference.row.table);
    if (table == nullptr) continue;
    if (whole.rows_of(*table).empty()) untried.insert(table->usual_name());
    if (table->most == nullptr || !whole.offers(*table->most)) unlimited.insert(table->usual_name());
  }
  add(unknown, Kind::rows_untried, untried);
  add(unknown, Kind::rows_limit, unlimited);
  std::set<std::string> not_allowed;
  for (const auto& [instance, value] : whole.instances) {
    const schema::Object* object = value.absent() ? nullptr : unit.model->object_at(instance);
    if (object != nullptr && setting(unit, *object) &&
        smi::violation(object->syntax, as_held(*object, value)))
      not_allowed.insert(unit.model->name_of(instance));
  }
  add(unknown, Kind::not_allowed, not_allowed);
  std::set<std::string> cuts_off;
  for (const Step& step : sequence.steps) {
    for (const Assignment& one : step.assignments) {
      const schema::Object* object = unit.model->object_at(one.oid);
      if (step.cuts_off && object != nullptr) cuts_off.insert(object->name);
    }
  }
  add(unknown, Kind::cuts_off, cuts_off);
  if (unit.model->mode && !whole.offers(*unit.model->mode->status))
    add(unknown, Kind::mode, {unit.model->mode->status->name});
  return unknown;
}

std::string first_unlike(const fleet::Unit& unit, const AsFound& before, const AsFound& now) {
  std::set<smi::Oid> all;
  for (const AsFound* found : {&before, &now}) {
    for (const auto& [instance, value] : found->instances) all.insert(instance);
  }
  for (const smi::Oid& instance : all) {
    const schema::Object* object = unit.model->object_at(instance);
    if (object == nullptr || !setting(unit, *object)) continue;
    const smi::Value& was = before.at(instance);
    const smi::Value& is = now.at(instance);
    if (was.absent() ? is.absent() : was == is) continue;
    return fmt::format("{} is {}, and was {}", unit.model->name_of(instance),
                       in_words(object->syntax, object->unit, is),
                       in_words(object->syntax, object->unit, was));
  }
  return {};
}

}  // namespace vergeset::change
