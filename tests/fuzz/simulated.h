#pragma once

#include "fuzz/larkmoor.h"
#include "sim/sim_unit.h"

namespace vergeset::fuzz {

constexpr std::int64_t moment = 1764054000000;  ///< 2025-11-25T07:00Z

/// A unit as it left its factory.
inline sim::SimUnit factory_unit(const std::string& model) {
  return sim::SimUnit(
      sim::Store({standards()->model(model), "LK-101", sim::Spot{54.9, -20, 12}, 1500}, nullptr, moment));
}

}  // namespace vergeset::fuzz
