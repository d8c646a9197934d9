#pragma once

#include <map>
#include <string>
#include <vector>

#include "fleet/table_asks.h"

namespace vergeset::fleet {

/// The layers of a fleet that a unit draws on.
struct Layers {
  const Layer* fleet = nullptr;
  const std::map<std::string, Layer>* groups = nullptr;
  const Layer* unit = nullptr;  ///< nothing: those of the fleet and the groups alone
};

/// A layer with its strength: layers of one level are equals.
struct Ranked {
  const Layer* layer = nullptr;
  int level = 0;
  bool lasting = false;  ///< as Source has it
};

/// The layers that apply to a unit, weakest first.
std::vector<Ranked> ranked(const Layers& layers, const Unit& unit);

/// What stands behind {name} on this unit: `values:` of its layers.
Texts settle_values(const Reading& reading, const std::vector<Ranked>& layers);

/// All that the layers of a unit say, by what it comes to on the unit's model. Points into `sources`.
struct Asks {
  std::vector<Source> sources;
  std::map<std::string, std::vector<Ask>> settings;  ///< by object
  std::map<std::string, Missing> missing;            ///< common settings that the model lacks
  std::vector<TableAsks> tables;
  std::vector<LeftOut> tables_left_out;
};

Asks gather(const Reading& reading, const std::vector<Ranked>& layers);

/// The asks for one object come to the desired values of one unit. unit.values must be there already.
Desired settle(const Reading& reading, const Asks& asks);

/// The parts of settle.
void settle_settings(const Reading& reading, const Asks& asks, Desired& desired);
void settle_tables(const Reading& reading, const Asks& asks, Desired& desired);
void settle_traits(const Reading& reading, const Asks& asks, Desired& desired);

}  // namespace vergeset::fleet
