#pragma once

#include <string>
#include <vector>

#include "change/recover.h"
#include "report/screen.h"

namespace vergeset::report {

/// What is unfinished, for the person who has it recovered: each change with who began it when and why, how
/// many of its units were begun, and since when which of them may be in standby.
std::string unfinished_text(const Screen& screen, const std::vector<records::Unfinished>& changes);

/// The end of a recovery: for each change how it has ended, or what remains and what to do.
std::string recover_end_text(const Screen& screen, const std::vector<change::Recovered>& changes);

}  // namespace vergeset::report
