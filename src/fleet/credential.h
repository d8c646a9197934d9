#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "schema/yaml.h"

namespace vergeset::fleet {

/// Reads `credentials:`. Its faults never show a text that may be a secret in the wrong place.
std::map<std::string, Credential> read_credentials(const schema::Entry& map);

/// The environment variables that hold secrets of these: not for the programs that we start.
std::vector<std::string> secret_variables(const std::map<std::string, Credential>& credentials);

/// Reads `key-store:`; nothing where it cannot be used.
std::optional<KeyStore> read_key_store(const schema::Entry& map);

/// "sha256:ab:cd..." as it is kept: the digest in lower-case hex without separators. Nothing where it is
/// none.
std::optional<std::string> parse_fingerprint(const std::string& text);

}  // namespace vergeset::fleet
