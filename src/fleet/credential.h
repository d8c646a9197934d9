#pragma once

#include <map>
#include <optional>
#include <string>

#include "fleet/fleet.h"
#include "schema/yaml.h"

namespace vergeset::fleet {

/// Reads `credentials:`. Its faults never show a text that may be a secret in the wrong place.
std::map<std::string, Credential> read_credentials(const schema::Entry& map);

/// Reads `key-store:`; nothing where it cannot be used.
std::optional<KeyStore> read_key_store(const schema::Entry& map);

/// "sha256:ab:cd..." as it is kept: the digest in lower-case hex without separators. Nothing where it is
/// none.
std::optional<std::string> parse_fingerprint(const std::string& text);

}  // namespace vergeset::fleet
