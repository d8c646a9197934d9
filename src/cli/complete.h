#pragma once

#include <string>
#include <vector>

#include "cli/command.h"

namespace vergeset::cli {

/// What may stand next on a command line, for the completion of shells: `words` are what stands behind the
/// program's name, the last one as far as it is typed. Prints a candidate a line, with what it is about
/// behind a blank; or ":files" or ":folders" where the shell is to name these. No help shows it.
///
/// Units, groups, models, credentials, changes and names of settings are those of the fleet that --fleet
/// names on that line. Whatever is wrong there, nothing is said and the status is 0: a person is typing. A
/// name that would mean something to a shell is no candidate. Nothing is sent, and no secret is read.
int complete(const std::vector<Command>& commands, std::vector<std::string> words);

}  // namespace vergeset::cli
