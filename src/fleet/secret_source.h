#pragma once

#include <chrono>
#include <string>

#include "fleet/fleet.h"
#include "smi/secret.h"

namespace vergeset::fleet {

/// The secret behind a source: an environment variable; a file that nobody but its owner may read
/// (relative to the fleet's folder, its trailing line end dropped); or the first line that a command
/// prints, run by /bin/sh in the fleet's folder with nothing to read and `wait` to end in.
/// No problem ever tells anything of the secret.
Result<Secret> read_secret(const SecretSource& source, const std::string& fleet_folder,
                           std::chrono::milliseconds wait = std::chrono::seconds(30));

}  // namespace vergeset::fleet
