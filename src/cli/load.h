#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/common.h"
#include "fleet/fleet.h"
#include "smi/result.h"

namespace vergeset::cli {

/// Where the models are: the folder that VERGESET_SCHEMAS_DIR names, else the installed one (seen from where
/// the program is), else the one of the source tree that it was built from.
std::string schemas_folder();

/// The fleet; where anything in its files is wrong, all faults go to standard error and there is none.
std::optional<fleet::Fleet> load(const Common& common);

/// Complains where --fleet does not lead to the folder of a fleet.
bool is_fleet(const Common& common);

/// The units that were chosen, as fleet::choose has them, with what to do where there are none.
Result<std::vector<const fleet::Unit*>> chosen(const fleet::Fleet& fleet, const fleet::Choice& choice);

/// A file as it is.
Result<std::string> read_file(const std::string& path);

}  // namespace vergeset::cli
