#pragma once

#include <functional>
#include <optional>
#include <string>

#include "change/as_found.h"
#include "change/difference.h"
#include "change/sequence.h"
#include "change/work_order.h"
#include "fleet/fleet.h"
#include "records/snapshot.h"

namespace vergeset::change {

/// What one unit is to become, and what has to be read to see how far it is from there. The same
/// change carries out files, a work order, a rollback and a restore: they differ in their goal alone.
struct Goal {
  Wanted wanted;
  std::function<Comparison(const AsFound&)> compare;
  /// Why the unit may not be touched as it was found: it is no longer as it was reviewed, or someone
  /// else has changed what is to be rolled back. Empty function: no objection.
  std::function<std::optional<std::string>(const AsFound&)> objection;
  /// Steps that were reviewed and are carried out as they stand; otherwise they are worked out.
  std::optional<Sequence> reviewed;
};

/// To read a snapshot's instances, and what says which unit it is.
Wanted wanted_of_snapshot(const fleet::Fleet& fleet, const fleet::Unit& unit,
                          const records::Snapshot& snapshot);

/// As the files ask.
Goal goal_of_files(const fleet::Fleet& fleet, const fleet::Unit& unit);

/// As a snapshot holds. `left` is what the change being rolled back left behind: an instance that is
/// neither as left nor as the snapshot was changed by someone else, and is an objection unless `force`. Of a
/// row that the change has changed, the columns that it left as they were are not touched.
Goal goal_of_snapshot(const fleet::Fleet& fleet, const fleet::Unit& unit, const records::Snapshot& snapshot,
                      const std::optional<records::Snapshot>& left, const std::string& source, bool force);

/// As a work order was reviewed: an objection where the unit is no longer as found then.
Goal goal_of_order(const fleet::Fleet& fleet, const fleet::Unit& unit, const OrderedUnit& ordered);

}  // namespace vergeset::change
