#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "change/apply.h"
#include "fleet/fleet.h"
#include "sim/store.h"

namespace vergeset::faults {

inline constexpr std::int64_t start_ms = 1795000000000;  ///< a day in November 2026

/// A small fleet that runs are drawn over, loaded once a process, and what its units are like.
struct SmallFleet {
  std::string about;
  fleet::Fleet fleet;
  std::vector<change::UnitGoal> goals;
  bool allow_cut_off = true;

  /// A unit of it as it left its factory, in standby, or as its files ask; a transition takes so long. Made
  /// once and then copied.
  const sim::Store& prototype(std::size_t unit, bool desired, int transition_ms) const;

 private:
  struct Key {
    std::size_t unit;
    bool desired;
    int transition_ms;
    auto operator<=>(const Key&) const = default;
  };
  mutable std::map<Key, std::unique_ptr<sim::Store>> prototypes_;
};

/// All of them, between them with every kind of row editing, standby traits on scalars and tables, objects
/// that cut off, rows that nobody asked for removed and kept, rows too large for one request, waves.
const std::vector<std::unique_ptr<SmallFleet>>& small_fleets();

}  // namespace vergeset::faults
