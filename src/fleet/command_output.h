#pragma once

#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "smi/result.h"
#include "smi/secret.h"

namespace vergeset::fleet {

/// What `command` prints when /bin/sh runs it in `folder`, without its error output and with `input` to read,
/// which may be a secret. A command that outlives `wait`, or prints more than `most_output` octets, is ended,
/// with all that it started. The problems tell nothing of what it printed, which may be a secret. It gets our
/// environment without the variables that are `withheld`.
Result<Secret> command_output(const std::string& command, const std::string& folder,
                              std::chrono::milliseconds wait, const std::vector<std::string>& withheld = {},
                              std::string_view input = {}, std::size_t most_output = 64UL * 1024);

}  // namespace vergeset::fleet
