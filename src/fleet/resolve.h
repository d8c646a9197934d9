#pragma once

#include <map>
#include <string>
#include <vector>

#include "fleet/ask.h"

namespace vergeset::fleet {

/// The layers of a fleet that a unit draws on.
struct Layers {
  const Layer* fleet = nullptr;
  const std::map<std::string, Layer>* groups = nullptr;
  const Layer* unit = nullptr;
};

/// A layer with its strength: layers of one level are equals.
struct Ranked {
  const Layer* layer = nullptr;
  int level = 0;
};

/// The layers that apply to a unit, weakest first.
std::vector<Ranked> ranked(const Layers& layers, const Unit& unit);

/// What stands behind {name} on this unit: `values:` of its layers.
std::map<std::string, std::string> settle_values(const Reading& reading, const std::vector<Ranked>& layers);

/// For one unit: layers to desired values on its model. unit.values must be there already.
Desired resolve(const Reading& reading, const std::vector<Ranked>& layers);

/// The parts of resolve, each over the same sources.
void resolve_settings(const Reading& reading, const std::vector<Source>& sources, Desired& desired);
void resolve_tables(const Reading& reading, const std::vector<Source>& sources, Desired& desired);
void resolve_traits(const Reading& reading, const std::vector<Source>& sources, Desired& desired);

}  // namespace vergeset::fleet
