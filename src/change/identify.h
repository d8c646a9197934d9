#pragma once

#include <optional>
#include <string>
#include <vector>

#include "change/as_found.h"
#include "fleet/fleet.h"

namespace vergeset::change {

/// Whether the unit that answered is the one of the inventory: its model, its engine id where the
/// inventory states one, its rsuID (which must not be another unit's of this fleet; a factory unit has
/// one that is nobody's), its position where the fleet says how far it may be. Nothing where it is;
/// otherwise what speaks against it. Pure.
std::optional<std::string> wrong_unit(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                      const AsFound& found);

/// The first of these questions alone: whether it is of the inventory's model.
std::optional<std::string> wrong_model(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                       const AsFound& found);

/// The instances that both ask about.
std::vector<smi::Oid> identity_instances(const fleet::Fleet& fleet, const fleet::Unit& unit);

}  // namespace vergeset::change
