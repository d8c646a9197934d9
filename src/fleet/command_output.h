#pragma once

#include <chrono>
#include <string>
#include <vector>

#include "smi/result.h"
#include "smi/secret.h"

namespace vergeset::fleet {

/// What `command` prints when /bin/sh runs it in `folder`, without its error output and with nothing
/// to read. A command that outlives `wait` is ended, with all that it started. The problems tell
/// nothing of what it printed, which may be a secret. It gets our environment without the variables that
/// are `withheld`.
Result<Secret> command_output(const std::string& command, const std::string& folder,
                              std::chrono::milliseconds wait, const std::vector<std::string>& withheld = {});

}  // namespace vergeset::fleet
