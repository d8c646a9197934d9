#pragma once

#include <string>

#include "change/audit.h"
#include "fleet/fleet.h"
#include "smi/result.h"

namespace vergeset::cli {

/// A walk can be empty, cut short, or of another subtree than the model's: empty where it holds what tells a
/// model from the others, otherwise what is missing and what to do.
std::string not_identified(const fleet::Fleet& fleet, const fleet::Unit& unit, const change::AsFound& found);

/// The unit as a walk in a file has it, or why that cannot be read or is no walk of the unit's model. A walk
/// of the standard's own subtree holds no engine id: it counts as the right one.
Result<change::AsFound> read_walked(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                    const std::string& path);

/// What is not in a walk may be in the unit: of it the comparison says "not in this walk", and nothing of the
/// unit. Nor are the rows missing of a table that the walk does not reach.
void tell_what_was_walked(change::Audited& unit);

}  // namespace vergeset::cli
