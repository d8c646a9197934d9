#include <fmt/format.h>

#include "schema/draft.h"

namespace vergeset::schema {

namespace {

const Object* named_scalar(const Entry& entry, const Model& model, std::string_view expected) {
  const Object* object = named_object(entry, model, expected);
  if (object == nullptr || object->table == nullptr) return object;
  entry.fault(
      fmt::format("{} is a column of {}; {} is a scalar", object->name, object->table->name, expected));
  return nullptr;
}

bool is_mode(const Entry& entry, const Object* object) {
  if (object == nullptr) return false;
  if (object->syntax.form == smi::Form::enumeration) return true;
  entry.fault(fmt::format("{} is {}; a mode is an INTEGER with labels", object->name, object->syntax.str()));
  return false;
}

/// The number that an object has for a mode, or nothing and a fault.
std::optional<std::int64_t> mode_number(const Entry& entry, const Object& object) {
  const std::string text = entry.text("a mode");
  if (!entry.is_text()) return std::nullopt;
  const auto value = smi::encode(object.syntax, text);
  if (value) return value->number;
  entry.fault(fmt::format("{} has no mode \"{}\": {}", object.name, text, value.problem()));
  return std::nullopt;
}

void resolve_mode(const Entry& entry, Model& model) {
  entry.only({"asked", "status", "standby", "operate", "fault"});
  ModeRule rule;
  rule.asked = named_scalar(entry.need("asked"), model, "the mode asked for");
  rule.status = named_scalar(entry.need("status"), model, "the mode the unit is in");
  const Entry standby = entry.need("standby");
  const Entry operate = entry.need("operate");
  if (!is_mode(entry.at("asked"), rule.asked) || !is_mode(entry.at("status"), rule.status)) return;
  if (!rule.asked->settable()) {
    entry.at("asked").fault(rule.asked->name + " cannot be set; the mode asked for is read-write");
  }
  if (rule.asked->traits.needs_standby) {
    entry.at("asked").fault(rule.asked->name +
                            " is how a unit leaves standby; it cannot need standby itself");
  }
  const auto asked_standby = mode_number(standby, *rule.asked);
  const auto asked_operate = mode_number(operate, *rule.asked);
  const auto status_standby = mode_number(standby, *rule.status);
  const auto status_operate = mode_number(operate, *rule.status);
  if (const Entry fault = entry.at("fault")) rule.status_fault = mode_number(fault, *rule.status);
  if (!asked_standby || !asked_operate || !status_standby || !status_operate) return;
  rule.standby = *asked_standby;
  rule.operate = *asked_operate;
  rule.status_standby = *status_standby;
  rule.status_operate = *status_operate;
  model.mode = rule;
}

void resolve_recognition(const Entry& entry, Model& model) {
  entry.only({"object", "equals"});
  model.identity.present = named_scalar(entry.need("object"), model, "the object that tells the model");
  const Entry equals = entry.at("equals");
  if (model.identity.present == nullptr || !equals) return;
  const std::string text = equals.text("the value that tells the model");
  if (!equals.is_text()) return;
  const auto value = smi::encode(model.identity.present->syntax, text);
  if (value) {
    model.identity.equals = *value;
  } else {
    equals.fault(fmt::format("{} cannot be \"{}\": {}", model.identity.present->name, text, value.problem()));
  }
}

void resolve_identity(const Draft& draft, IdentityRule& rule) {
  const auto resolve = [&](const char* key, const Object*& object, std::string_view expected) {
    const auto at = draft.identity.find(key);
    if (at != draft.identity.end()) object = named_scalar(at->second, *draft.model, expected);
  };
  resolve("unit-id", rule.unit_id, "the object that names the unit");
  resolve("latitude", rule.latitude, "the latitude where the unit finds itself");
  resolve("longitude", rule.longitude, "the longitude where the unit finds itself");
  resolve("sentence", rule.sentence, "the NMEA 0183 sentence of the position");
  const bool latitude = draft.identity.count("latitude") != 0;
  const bool longitude = draft.identity.count("longitude") != 0;
  if (latitude == longitude) return;
  const Entry& lone = draft.identity.at(latitude ? "latitude" : "longitude");
  lone.fault(latitude ? "a latitude needs a `longitude:` beside it"
                      : "a longitude needs a `latitude:` beside it");
}

}  // namespace

void finish_rules(Draft& draft, const Entry& file) {
  Model& model = *draft.model;
  if (draft.recognise) {
    resolve_recognition(draft.recognise, model);
  } else {
    file.need("recognise");
  }
  if (draft.mode) resolve_mode(draft.mode, model);
  resolve_identity(draft, model.identity);
}

}  // namespace vergeset::schema
