#include "fleet/import_known.h"

#include "fleet/site.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

/// "all; signals + corridor-7", as units.csv has groups.
std::string groups_as_written(const Unit& unit) {
  std::string text;
  for (const std::vector<std::string>& level : unit.groups) {
    std::string equals;
    for (const std::string& group : level) equals += (equals.empty() ? "" : " + ") + group;
    text += (text.empty() ? "" : "; ") + equals;
  }
  return text;
}

std::string in_fleet(const Unit& unit, const std::string& field) {
  if (field == "unit") return unit.name;
  if (field == "address") return unit.host;
  if (field == "port") return std::to_string(unit.port);
  if (field == "model") return unit.model->name;
  if (field == "groups") return groups_as_written(unit);
  if (field == "credential") return unit.credential;
  if (field == "engine-id") return unit.engine_id;
  if (field == "fingerprint") return unit.fingerprint;
  const bool of_site = field.rfind("site.", 0) == 0;
  const Texts& texts = of_site ? unit.site.fields : unit.values;
  const auto found = texts.find(field.substr(field.find('.') + 1));
  return found == texts.end() ? "" : std::string(found->second);
}

/// One spelling of what can be written in several: without blanks, a number in the field's own unit.
std::string one_spelling(const std::string& field, const std::string& text) {
  const auto known = import_field(field);
  if (known && known->takes == ImportField::Takes::measure) {
    const auto number = measure_of_cell(text, known->unit, known->unit);
    if (number) return *number;
  }
  if (known &&
      (known->takes == ImportField::Takes::latitude || known->takes == ImportField::Takes::longitude)) {
    const auto degrees = degrees_of(text, known->takes == ImportField::Takes::latitude, 0);
    if (degrees) return *degrees;
  }
  if (known && known->takes == ImportField::Takes::hardware) {
    const auto address = hardware_address_of(text);
    if (address) return *address;
  }
  std::string plain;
  for (const char c : text) {
    if (c != ' ') plain += c;
  }
  return plain;
}

}  // namespace

KnownUnit compared(const ImportedUnit& row, const Unit& unit) {
  KnownUnit known{row.line, unit.name, {}};
  for (const auto& [field, text] : row.fields) {
    const std::string there = in_fleet(unit, field);
    if (there == text || one_spelling(field, there) == one_spelling(field, text)) continue;
    known.differing.push_back({field, there, text});
  }
  return known;
}

}  // namespace vergeset::fleet
