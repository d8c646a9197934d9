#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "checks/geodesic.h"

namespace vergeset::checks {

/// A unit by its place in the list: where it should stand and where it finds itself, as far as is known.
struct Stands {
  std::optional<Point> site;
  std::optional<Point> found;
};

/// What makes a unit one that stands on another's site.
struct SwapRule {
  double within_m = 15;  ///< so near that other site it is
  double clear_m = 10;   ///< so much nearer than to its own, and at most half as far
};

struct Swaps {
  /// Units that stand on each other's sites: the first on that of the second and so on, the last on that of
  /// the first. Each unit is in one of them at most; the first is the lowest, and so are the cycles sorted.
  std::vector<std::vector<std::size_t>> cycles;
  /// For each unit whose site it stands on, where that is another's; of a cycle the next in it.
  std::vector<std::optional<std::size_t>> on_site_of;
};

/// Finds them, in time that grows with the number of units as long as few sites are closer together than
/// `within_m`. Where sites are so close that the position cannot tell which it is, nothing is said: GNSS is
/// off by some metres. Of several units with one site, those that are not at home are taken first.
Swaps swapped(const std::vector<Stands>& units, const SwapRule& rule = {});

}  // namespace vergeset::checks
