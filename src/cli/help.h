#pragma once

#include <string>
#include <vector>

#include "cli/command.h"

namespace vergeset::cli {

/// Help that fits a screen of 24 lines and 80 columns.
std::string help_of(const Command& command);
std::string help_of(const std::vector<Command>& commands);

}  // namespace vergeset::cli
