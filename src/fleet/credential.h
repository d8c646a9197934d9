#pragma once

#include <map>
#include <string>

#include "fleet/fleet.h"
#include "schema/yaml.h"

namespace vergeset::fleet {

/// Reads `credentials:`. Its faults never show a text that may be a secret in the wrong place.
std::map<std::string, Credential> read_credentials(const schema::Entry& map);

}  // namespace vergeset::fleet
