#include "change/identify.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <sstream>
#include <vector>

#include "smi/numbers.h"

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

/// Whether a unit answered a number, and one no further from 0.
bool is_within(const smi::Value& value, std::int64_t limit) {
  return smi::integer_kind(value.type) && value.number >= -limit && value.number <= limit;
}

std::optional<std::pair<double, double>> position(const schema::IdentityRule& rule, const AsFound& found) {
  if (rule.latitude != nullptr && rule.longitude != nullptr) {
    const smi::Value& latitude = found.at(rule.latitude->oid.child(0));
    const smi::Value& longitude = found.at(rule.longitude->oid.child(0));
    const bool known = is_within(latitude, 900000000) && is_within(longitude, 1800000000);
    if (known)
      return std::pair(static_cast<double>(latitude.number) / 1e7,
                       static_cast<double>(longitude.number) / 1e7);
  }
  if (rule.sentence != nullptr) return gga_position(found.at(rule.sentence->oid.child(0)).octets);
  return std::nullopt;
}

std::optional<std::string> wrong_place(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                       const AsFound& found) {
  if (!fleet.position_within_m || !unit.site.latitude || !unit.site.longitude) return std::nullopt;
  const auto at = position(unit.model->identity, found);
  if (!at) return std::nullopt;
  const double away = distance_m(at->first, at->second, *unit.site.latitude, *unit.site.longitude);
  if (away <= *fleet.position_within_m) return std::nullopt;
  return fmt::format(
      "it is at {:.7f}, {:.7f}, {:.0f} m from its surveyed position (at most {:.0f} m allowed)", at->first,
      at->second, away, *fleet.position_within_m);
}

/// "ddmm.mmmm" and a hemisphere to degrees.
std::optional<double> nmea_degrees(const std::string& text, const std::string& hemisphere) {
  char* end = nullptr;
  const double number = std::strtod(text.c_str(), &end);
  if (text.empty() || *end != '\0' || !std::isfinite(number)) return std::nullopt;
  const double degrees = std::floor(number / 100);
  const double sign = hemisphere == "S" || hemisphere == "W" ? -1 : 1;
  return sign * (degrees + (number - degrees * 100) / 60);
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

double distance_m(double latitude_a, double longitude_a, double latitude_b, double longitude_b) {
  constexpr double radius = 6371008.8;
  constexpr double degree = std::numbers::pi / 180;
  const double north = std::sin((latitude_b - latitude_a) * degree / 2);
  const double east = std::sin((longitude_b - longitude_a) * degree / 2);
  const double chord =
      north * north + std::cos(latitude_a * degree) * std::cos(latitude_b * degree) * east * east;
  return 2 * radius * std::asin(std::sqrt(std::min(1.0, chord)));
}

std::optional<std::pair<double, double>> gga_position(const std::string& sentence) {
  const auto start = sentence.find('$');
  const auto star = sentence.find('*');
  if (start == std::string::npos || star == std::string::npos || star < start) return std::nullopt;
  const std::string body = sentence.substr(start + 1, star - start - 1);
  unsigned sum = 0;
  for (const unsigned char c : body) sum ^= c;
  if (std::strtoul(sentence.substr(star + 1, 2).c_str(), nullptr, 16) != sum) return std::nullopt;
  std::vector<std::string> fields;
  std::istringstream parts(body);
  for (std::string field; std::getline(parts, field, ',');) fields.push_back(field);
  const bool gga = fields.size() > 6 && fields[0].size() == 5 && fields[0].substr(2) == "GGA";
  if (!gga || fields[6] == "0" || fields[6].empty()) return std::nullopt;
  const auto latitude = nmea_degrees(fields[2], fields[3]);
  const auto longitude = nmea_degrees(fields[4], fields[5]);
  if (!latitude || !longitude) return std::nullopt;
  return std::pair(*latitude, *longitude);
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
