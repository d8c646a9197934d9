#include "schema/meaning.h"

#include <fmt/format.h>

#include <limits>

#include "schema/draft.h"
#include "smi/quantity.h"
#include "smi/suggest.h"
#include "smi/units.h"

namespace vergeset::schema {

namespace {

bool counts(const smi::Syntax& syntax) {
  return syntax.form == smi::Form::integer || syntax.form == smi::Form::octet_number;
}

void read_elsewhere(const Entry& entry, CommonSetting& setting) {
  setting.refusal = "this model has no object for " + setting.name;
  if (!entry) return;
  if (entry.is_map()) {
    entry.only({"refuse"});
    setting.refusal = entry.need("refuse").text("the reason why it is refused");
    return;
  }
  const std::string word = entry.text("`leave out`, or {refuse: REASON},");
  if (word == "leave out") {
    setting.left_out = true;
    setting.refusal.clear();
  } else if (entry.is_text()) {
    entry.fault(fmt::format("`leave out`, or {{refuse: REASON}}, is expected; found \"{}\"", word));
  }
}

void read_unit(const Entry& entry, CommonSetting& setting) {
  if (!entry) return;
  setting.unit = entry.text("a unit of measure");
  if (!setting.unit.empty() && !smi::measure_of(setting.unit)) {
    entry.fault(fmt::format("\"{}\" is no unit of measure that vergeset knows, such as m, ms, s or dBm",
                            setting.unit));
    setting.unit.clear();
  }
}

/// The labels of a mapping must be labels of its object.
void read_labels(const Entry& labels, Mapping& mapping) {
  for (const auto& [key, own] : labels.pairs("a map of labels to the object's own")) {
    const std::string name = own.text("a label of the object");
    if (!own.is_text()) continue;
    mapping.labels[key.text("a label")] = name;
    const auto value = smi::encode(mapping.object->syntax, name);
    if (value) continue;
    std::vector<std::string> known;
    for (const smi::Label& label : mapping.object->syntax.labels) known.push_back(label.name);
    own.fault(fmt::format("{} cannot be \"{}\": {}{}", mapping.object->name, name, value.problem(),
                          smi::suggestion(name, known)));
  }
}

/// The label whose number the object does not take, or nothing. Objects with labels of their own
/// have no use for the common ones.
const smi::Label* unfit_label(const CommonSetting& setting, const Object& object) {
  if (!object.syntax.labels.empty()) return nullptr;
  for (const smi::Label& label : setting.labels) {
    if (!smi::encode(object.syntax, std::to_string(label.number))) return &label;
  }
  return nullptr;
}

}  // namespace

void read_meaning(const Entry& body, CommonSetting& setting) {
  setting.about = body.need("about").text("what it means");
  read_unit(body.at("unit"), setting);
  for (const auto& [key, number] : body.at("labels").pairs("a map of labels to numbers")) {
    const auto value = number.number("the number of a label", 0, std::numeric_limits<std::int32_t>::max());
    if (value) setting.labels.push_back({key.text("a label"), *value});
  }
  read_elsewhere(body.at("elsewhere"), setting);
}

Mapping read_mapping(const Entry& entry, const Model& model) {
  Mapping mapping;
  if (!entry.is_map()) {
    mapping.object = named_object(entry, model, "an object");
    return mapping;
  }
  if (const Entry payload = entry.at("from-payload")) {
    entry.only({"from-payload"});
    mapping.from_payload = true;
    mapping.object = named_object(payload, model, "the object that holds the payload");
    return mapping;
  }
  entry.only({"object", "labels", "from-payload"});
  mapping.object = named_object(entry.need("object"), model, "an object");
  if (mapping.object != nullptr) read_labels(entry.at("labels"), mapping);
  return mapping;
}

std::string misfit(const CommonSetting& setting, const Object& object) {
  if (const smi::Label* label = unfit_label(setting, object)) {
    return fmt::format("{} is {}; it does not take {} {}", object.name, object.syntax.str(), label->name,
                       label->number);
  }
  if (!counts(object.syntax)) {
    return setting.unit.empty() ? ""
                                : fmt::format("{} is no number; it has no {}", object.name, setting.unit);
  }
  if (setting.unit.empty() && !object.unit.empty()) {
    return fmt::format("{} counts in {}; {} needs a `unit:`", object.name, object.unit, setting.name);
  }
  if (!setting.unit.empty() && object.unit.empty()) {
    return fmt::format("{} has no unit of measure; {} does not convert into it", object.name, setting.unit);
  }
  if (!setting.unit.empty() && !smi::same_dimension(setting.unit, object.unit)) {
    return fmt::format("{} counts in {}; {} does not convert into it", object.name, object.unit,
                       setting.unit);
  }
  return "";
}

}  // namespace vergeset::schema
