#pragma once

#include <string>

#include "schema/model.h"
#include "schema/yaml.h"

namespace vergeset::schema {

/// What a common name says of itself, apart from the objects it is mapped to.
void read_meaning(const Entry& body, CommonSetting& setting);

/// The object that one entry under `on:` names: NAME, {object: NAME, labels: ...} or {from-payload:
/// NAME}. Without an object after a fault.
Mapping read_mapping(const Entry& entry, const Model& model);

/// Why values of a common name cannot be converted for an object, or nothing.
std::string misfit(const CommonSetting& setting, const Object& object);

}  // namespace vergeset::schema
