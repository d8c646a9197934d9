#pragma once

#include <string>
#include <vector>

#include "change/apply.h"
#include "change/rehearse.h"
#include "cli/live.h"

namespace vergeset::cli {

struct RehearseOptions {
  std::string simulator;  ///< the program that serves the twins
  bool allow_cut_off = false;
  Pace pace;
};

/// Rehearses on twins what `previews` would change: each such unit is read whole, and what is to be done to
/// it is done to its twins. A unit whose rehearsal failed is refused in `previews`; the goal of one that
/// passed holds for it as it was rehearsed. Sends no SET to any unit. One rehearsal for each unit that would
/// have been changed.
std::vector<change::Rehearsal> rehearse(Live& live, std::vector<change::UnitGoal>& goals,
                                        std::vector<change::Preview>& previews,
                                        const RehearseOptions& options);

}  // namespace vergeset::cli
