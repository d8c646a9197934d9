#pragma once

#include "fleet/import_units.h"

namespace vergeset::fleet {

/// What a row says otherwise than the fleet does of a unit of this name.
KnownUnit compared(const ImportedUnit& row, const Unit& unit);

}  // namespace vergeset::fleet
