#pragma once

#include <chrono>
#include <string>

#include "smi/result.h"
#include "smi/secret.h"

namespace vergeset::fleet {

/// What `command` prints when /bin/sh runs it in `folder`, without its error output and with nothing
/// to read. A command that outlives `wait` is ended, with all that it started. The problems tell
/// nothing of what it printed, which may be a secret.
Result<Secret> command_output(const std::string& command, const std::string& folder,
                              std::chrono::milliseconds wait);

}  // namespace vergeset::fleet
