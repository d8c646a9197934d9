#pragma once

#include <optional>
#include <vector>

#include "cli/command.h"

namespace vergeset::cli {

/// Reads a command line into the options of the command that it names. The command to run; or, where
/// the command line was answered here (help, version) or is wrong, nothing and the exit status.
struct Parsed {
  const Command* command = nullptr;
  int status = 0;
};
Parsed parse(const std::vector<Command>& commands, int count, const char* const* words);

}  // namespace vergeset::cli
