#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "fleet/fleet.h"
#include "fleet/fleet_file.h"
#include "fleet/layer.h"

namespace vergeset::fleet {

/// A unit as an inventory writes it, in YAML or in a line of CSV, before anything is looked up.
struct UnitEntry {
  std::string name;
  Place place;
  std::optional<Written> address;
  std::optional<Written> port;
  std::optional<Written> model;
  std::optional<Written> credential;
  std::optional<Written> engine_id;
  std::optional<Written> fingerprint;
  std::vector<std::vector<Written>> groups;
  std::vector<Written> site;
  Layer layer;
};

/// Takes the units of an inventory one by one, in the order of the file.
using TakeUnit = std::function<void(const UnitEntry&)>;

/// units.yaml.
void read_units_yaml(const schema::Entry& root, const TakeUnit& take);

/// units.csv.
void read_units_csv(std::string_view text, const std::string& file, Faults& faults, const TakeUnit& take);

/// "all; signals + corridor-7; schools": levels, weakest first, and equals within a level.
std::vector<std::vector<Written>> split_groups(const Written& cell, Faults& faults);

/// The unit behind an entry: name, address, port, model, credential, groups and site record checked
/// against the fleet. Nothing where it has no model, for then nothing can be said about it.
std::optional<Unit> make_unit(const UnitEntry& entry, const Fleet& fleet, const FleetFile& file,
                              Faults& faults);

}  // namespace vergeset::fleet
