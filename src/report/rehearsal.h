#pragma once

#include <string>
#include <vector>

#include "change/rehearse.h"
#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// How the rehearsals went, unit by unit, and what no twin could know: of single units first, each once with
/// the units that it holds for, then of twins as such.
std::string rehearsal_text(const Screen& screen, const std::vector<change::Rehearsal>& rehearsals);

/// The same as a member of a command's document.
Json rehearsal_json(const std::vector<change::Rehearsal>& rehearsals);

/// What is not known, in words that the names stand behind.
std::string kind_text(change::Unknown::Kind kind);

}  // namespace vergeset::report
