#include "change/identify.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "checks/position.h"

namespace vergeset::change {

namespace {

/// What the unit with this rsuID is called in the fleet's files.
std::optional<std::string> desired_id(const fleet::Unit& unit) {
  const schema::Object* object = unit.model->identity.unit_id;
  for (const fleet::DesiredValue& value : unit.desired.values) {
    if (value.object == object) return value.value.octets;
  }
  return std::nullopt;
}

std::optional<std::string> wrong_id(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                    const AsFound& found) {
  const schema::Object* object = unit.model->identity.unit_id;
  if (object == nullptr) return std::nullopt;
  const smi::Value& id = found.at(object->oid.child(0));
  if (id.absent() || id.octets.empty()) return std::nullopt;
  if (const auto own = desired_id(unit); own && smi::agree(object->syntax, id, smi::Value::of_octets(*own))) {
    return std::nullopt;
  }
  const std::string text = smi::to_text(object->syntax, id);
  for (const fleet::Unit& other : fleet.units) {
    if (&other == &unit) continue;
    const auto theirs = desired_id(other);
    if (theirs && smi::agree(object->syntax, id, smi::Value::of_octets(*theirs))) {
      return fmt::format("its {} is {}, which is unit {}", object->name, text, other.name);
    }
  }
  return std::nullopt;
}

std::optional<std::string> wrong_place(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                       const AsFound& found) {
  if (!fleet.position_within_m || !unit.site.latitude || !unit.site.longitude) return std::nullopt;
  const auto at = checks::found_position(as_read(*unit.model, found), fleet.limits.satellites).at;
  if (!at) return std::nullopt;
  const checks::Way away = checks::way_between({*unit.site.latitude, *unit.site.longitude}, *at);
  if (away.metres <= *fleet.position_within_m) return std::nullopt;
  return fmt::format("it is at {:.7f}, {:.7f}, {} of its surveyed position (at most {:.0f} m allowed)",
                     at->latitude, at->longitude, checks::way_text(away), *fleet.position_within_m);
}

}  // namespace

std::optional<std::string> wrong_model(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                       const AsFound& found) {
  const schema::IdentityRule& rule = unit.model->identity;
  if (rule.present == nullptr) return std::nullopt;
  const smi::Value& value = found.at(rule.present->oid.child(0));
  if (!value.absent() && (!rule.equals || smi::agree(rule.present->syntax, value, *rule.equals)))
    return std::nullopt;
  for (const auto& [name, model] : fleet.schema->models) {
    const schema::IdentityRule& other = model->identity;
    if (model.get() == unit.model || other.present == nullptr) continue;
    const smi::Value& there = found.at(other.present->oid.child(0));
    if (!there.absent() && (!other.equals || smi::agree(other.present->syntax, there, *other.equals))) {
      return fmt::format("it is a {} unit; the inventory says {}", model->title, unit.model->title);
    }
  }
  return fmt::format("it does not answer as {}: no {}", unit.model->title, rule.present->name);
}

std::vector<smi::Oid> identity_instances(const fleet::Fleet& fleet, const fleet::Unit& unit) {
  std::vector<smi::Oid> instances;
  const auto add = [&](const schema::Object* object) {
    if (object == nullptr) return;
    const smi::Oid instance = object->oid.child(0);
    if (std::find(instances.begin(), instances.end(), instance) == instances.end()) {
      instances.push_back(instance);
    }
  };
  const schema::IdentityRule& rule = unit.model->identity;
  for (const schema::Object* object :
       {rule.present, rule.unit_id, rule.latitude, rule.longitude, rule.sentence}) {
    add(object);
  }
  for (const auto& [name, other] : fleet.schema->models) add(other->identity.present);
  return instances;
}

std::optional<std::string> wrong_unit(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                      const AsFound& found) {
  if (auto wrong = wrong_model(fleet, unit, found)) return wrong;
  if (!unit.engine_id.empty() && smi::to_hex(found.engine_id) != unit.engine_id) {
    return fmt::format("its engine id is {}, the inventory says {}", smi::to_hex(found.engine_id),
                       unit.engine_id);
  }
  if (auto wrong = wrong_id(fleet, unit, found)) return wrong;
  return wrong_place(fleet, unit, found);
}

}  // namespace vergeset::change
