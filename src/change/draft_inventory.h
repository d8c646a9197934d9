#pragma once

#include <map>
#include <string>
#include <vector>

#include "change/draft_layer.h"
#include "fleet/unit_entry.h"

namespace vergeset::change {

/// The inventory of a fleet as its files have it.
struct Inventory {
  std::string yaml;                       ///< units.yaml; empty where there is none
  std::string csv;                        ///< units.csv
  std::vector<fleet::UnitEntry> in_yaml;  ///< in the order of the file
  std::vector<fleet::UnitEntry> in_csv;
};

/// Reads units.yaml and units.csv of a fleet's folder, which loaded without a fault.
Inventory read_inventory(const std::string& folder);

/// What becomes of a unit's entry.
struct NewEntry {
  DraftedLayer layer;
  std::vector<std::string> more_groups;  ///< stronger than those that it has
};

/// The inventory with other entries for some units, by name. Entries that stay keep their lines, with what is
/// written between them; an entry that changes is written anew in units.yaml, its settings and rows replaced
/// and all else as it was. A problem where the entries of units.yaml do not stand on lines of their own.
struct NewInventory {
  std::string yaml;
  std::string csv;  ///< empty: no unit stands in it any more
};
Result<NewInventory> with_entries(const Inventory& inventory, const std::map<std::string, NewEntry>& entries);

}  // namespace vergeset::change
