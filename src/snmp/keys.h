#pragma once

#include <string_view>

#include "smi/result.h"
#include "smi/secret.h"

namespace vergeset::snmp {

/// The key Ku of a password (RFC 3414 A.2; RFC 7860 for SHA-2). Protocols by the names of fleet.yaml.
Result<Secret> password_to_key(std::string_view auth, std::string_view password);

/// The key Kul of one engine (RFC 3414 2.6), as long as the hash.
Result<Secret> localize_key(std::string_view auth, std::string_view key, std::string_view engine_id);

}  // namespace vergeset::snmp
