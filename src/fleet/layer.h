#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fleet/written.h"

namespace vergeset::fleet {

/// One layer's say on a row: columns, and how the row is found.
struct RowBlock {
  std::string label;
  Place place;
  std::vector<Written> columns;
  std::optional<Written> index;
  std::vector<Written> match;  ///< the text of each is a column's name
  std::optional<Written> present;
  bool wanted = true;  ///< what `present` says
};

struct TableBlock {
  std::string name;
  Place place;
  std::optional<Written> others;
  std::vector<RowBlock> rows;
};

/// A vendor's quirk: needs-standby, cuts-off or ignored, yes or no.
struct TraitAsk {
  std::string target;  ///< object or table
  Place target_place;
  std::string trait;
  Place place;
  bool on = false;
};

struct Block {
  std::vector<Written> settings;
  std::vector<TableBlock> tables;
  std::vector<TraitAsk> traits;
};

/// What fleet.yaml, a group's file or a unit's entry asks for.
struct Layer {
  struct Only {
    std::string model;
    Place place;
    Block block;
  };

  SharedText name;  ///< "fleet", "group signals", "unit LK-104"
  Block plain;
  std::vector<Only> only;       ///< for one model alone, stronger than `plain`
  std::vector<Written> values;  ///< for {name} in desired values

  const Block* only_for(const std::string& model) const;
};

/// The keys that read_layer understands, for Entry::only.
std::vector<std::string> layer_keys(std::vector<std::string> more = {});

/// Reads settings, tables, traits, only and values of a map; its other keys are the caller's.
Layer read_layer(const schema::Entry& map, std::string name);

/// Checks and keeps one name under `values:`; CSV has them as columns `values.NAME`.
bool value_name_fits(const Written& value, Faults& faults);

}  // namespace vergeset::fleet
