#pragma once

#include <chrono>
#include <string>

#include "fleet/fleet.h"
#include "smi/secret.h"

namespace vergeset::fleet {

/// Where a secret comes from, for a person: "environment variable LARKMOOR_AUTH". A command line is not
/// shown: people have been known to write `echo` and the secret.
std::string source_text(const SecretSource& source);

/// The secret behind a source: an environment variable; a file that nobody but its owner may read
/// (relative to the fleet's folder, its trailing line end dropped); or the first line that a command
/// prints, run by /bin/sh in the fleet's folder with nothing to read and `wait` to end in.
/// No problem ever tells anything of the secret.
Result<Secret> read_secret(const SecretSource& source, const std::string& fleet_folder,
                           std::chrono::milliseconds wait = std::chrono::seconds(30));

/// The same of a secret of several lines, as a key in PEM is: all that the source holds.
Result<Secret> read_secret_lines(const SecretSource& source, const std::string& fleet_folder,
                                 std::chrono::milliseconds wait = std::chrono::seconds(30));

/// Takes the environment variables that this fleet's credentials name out of the environment and overwrites
/// them there: no child inherits them, and the octets that every process is started with no longer hold them.
/// read_secret() finds them all the same until they are forgotten. Called before any secret is read, by one
/// thread.
void hold_secret_variables(const Fleet& fleet);

/// Overwrites what is held; from then on those variables are not set. Called when all secrets have been read.
void forget_secret_variables();

}  // namespace vergeset::fleet
