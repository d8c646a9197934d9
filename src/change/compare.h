#pragma once

#include "change/as_found.h"
#include "change/difference.h"
#include "fleet/fleet.h"

namespace vergeset::change {

/// What of a unit is not as its files ask. Pure. The mode is compared too where the files ask for
/// one. A desired row that is matched by its columns is the row found with them, under whatever
/// index; where there is none it takes the first free index.
Comparison compare(const fleet::Unit& unit, const AsFound& found);

}  // namespace vergeset::change
