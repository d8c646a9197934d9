#pragma once

#include <chrono>
#include <string>
#include <vector>

#include "change/apply.h"
#include "change/twin.h"

namespace vergeset::change {

/// How the rehearsal of one unit's change went.
struct Rehearsal {
  std::string unit;
  std::string what;  ///< why it failed; empty where all of it passed
  std::size_t steps = 0;
  bool verified = false;     ///< all steps carried out on a twin, and read back as desired
  bool rolled_back = false;  ///< then rolled back, with every setting exactly as found again
  bool restored = false;     ///< another twin refused the last step, and ended exactly as found as well
  std::chrono::milliseconds took{0};
  std::vector<Unknown> unknown;

  bool passed() const { return what.empty(); }
};

/// The two twins of a unit, each as an inventory would have it: the unit itself but for its address.
struct TwinPair {
  fleet::Unit willing;
  fleet::Unit refusing;  ///< refuses the SET of the change's last step, once
};

/// Carries the unit's change out on its twins, as it would be on the unit: snapshot, steps, verification; a
/// rollback; and a restore after a step that was refused. `world` is that of the twins: its network and
/// keys; its disk is not written to. `planned` are the steps that reading the unit gave: where the twin's
/// are others, the rehearsal fails.
snmp::Task<Rehearsal> rehearse(const World& world, const UnitGoal& goal, const Sequence& planned,
                               const TwinPair& twins, bool allow_cut_off);

/// The same goal, with an objection where the unit no longer differs as it did when it was rehearsed: what
/// is carried out is then what was rehearsed, or nothing.
Goal as_rehearsed(const Goal& goal, const std::vector<Difference>& differences);

}  // namespace vergeset::change
