#pragma once

#include <string>
#include <vector>

#include "change/as_found.h"
#include "change/difference.h"
#include "fleet/fleet.h"
#include "records/snapshot.h"

namespace vergeset::change {

/// The instances that have to be read before these differences may be removed: every column of the
/// rows that they change or remove, so that a snapshot can make such a row anew, and the mode.
std::vector<smi::Oid> to_keep(const schema::Model& model, const std::vector<Difference>& differences);

/// Fills `whole_row` of rows that have to be made anew, from what was read.
void fill_whole_rows(const fleet::Unit& unit, const AsFound& found, std::vector<Difference>& differences);

/// What the differences touch, as found: values, rows with all their columns, rows that are not there,
/// and the mode.
records::Snapshot keep(const fleet::Unit& unit, const AsFound& found,
                       const std::vector<Difference>& differences);

/// The instances to read to see whether a unit is as a snapshot says.
std::vector<smi::Oid> instances_of(const schema::Model& model, const records::Snapshot& snapshot);

/// What of a unit is not as the snapshot says; removing these differences restores it. Pure. `source`
/// says where the desired values come from ("change 0042, as found").
std::vector<Difference> differences_to(const fleet::Unit& unit, const records::Snapshot& snapshot,
                                       const AsFound& found, const std::string& source);

/// The same snapshot with the values that a unit has now, for "as left".
records::Snapshot retake(const fleet::Unit& unit, const records::Snapshot& snapshot, const AsFound& found);

}  // namespace vergeset::change
