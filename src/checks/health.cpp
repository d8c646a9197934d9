#include "checks/health.h"

#include <fmt/format.h>

#include "checks/firmware.h"

namespace vergeset::checks {

namespace {

/// The names that the two standards give to one thing.
const schema::Object* either(const schema::Model& model, const char* one, const char* other) {
  const schema::Object* object = model.object(one);
  return object != nullptr ? object : model.object(other);
}

const schema::Object* satellites(const schema::Model& model) {
  return either(model, "rsuGnssStatus", "rsuGpsStatus");
}

}  // namespace

std::vector<const schema::Object*> health_objects(const schema::Model& model) {
  std::vector<const schema::Object*> objects;
  const auto add = [&](const schema::Object* object) {
    if (object != nullptr) objects.push_back(object);
  };
  if (model.mode) {
    add(model.mode->asked);
    add(model.mode->status);
  }
  add(model.object("rsuStatus"));
  add(satellites(model));
  add(firmware_object(model));
  return objects;
}

std::vector<Finding> health(const fleet::Fleet& fleet, const schema::Model& model,
                            const std::function<const smi::Value&(const smi::Oid&)>& value_at) {
  Findings findings(fleet.severities);
  const auto value_of = [&](const schema::Object* object) -> const smi::Value* {
    if (object == nullptr) return nullptr;
    const smi::Value& value = value_at(object->oid.child(0));
    return value.absent() ? nullptr : &value;
  };
  if (model.mode) {
    const smi::Value* asked = value_of(model.mode->asked);
    const smi::Value* status = value_of(model.mode->status);
    const bool operate = asked != nullptr && asked->number == model.mode->operate;
    if (operate && status != nullptr && status->number != model.mode->status_operate) {
      findings.add("off-air",
                   fmt::format("asked to operate, is in {}: not on air",
                               smi::to_text(model.mode->status->syntax, *status)),
                   {}, model.title + " " + model.mode->status->name);
    }
  }
  constexpr std::int64_t okay = 2;
  const schema::Object* unit_status = model.object("rsuStatus");
  if (const smi::Value* status = value_of(unit_status); status != nullptr && status->number != okay) {
    findings.add("unit-status",
                 fmt::format("the unit calls its status {}", smi::to_text(unit_status->syntax, *status)), {},
                 model.title + " rsuStatus");
  }
  const double enough = fleet.limits.satellites;
  const schema::Object* seen = satellites(model);
  if (const smi::Value* count = value_of(seen);
      count != nullptr && static_cast<double>(count->number) < enough) {
    findings.add("satellites", fmt::format("{} satellites; at least {} are wanted before a position counts",
                                           count->number, enough));
  }
  if (const schema::Object* firmware = firmware_object(model)) {
    const smi::Value* version = value_of(firmware);
    judge_firmware(fleet, model, version == nullptr ? "" : smi::to_text(firmware->syntax, *version), findings);
  }
  return findings.take();
}

}  // namespace vergeset::checks
