#pragma once

#include <string>
#include <utility>
#include <vector>

#include "change/sequence.h"
#include "records/snapshot.h"
#include "schema/model.h"
#include "smi/result.h"

namespace vergeset::change {

/// One unit of a work order: how it was found when the order was written, the steps, and how it is to
/// be left.
struct OrderedUnit {
  std::string unit;
  records::Snapshot as_found;
  records::Snapshot desired;
  Sequence sequence;
};

/// A dry run written to a file, to be read, approved and carried out exactly.
struct WorkOrder {
  std::string fleet;
  std::string written;  ///< RFC 3339
  std::string who;
  std::string why;
  std::vector<std::pair<std::string, std::string>> files;  ///< path and SHA-256
  std::vector<OrderedUnit> units;
  std::string digest = {};  ///< of one that was read: what stands in its last line
};

/// What the unit is to be once the differences are removed, in the shape of its snapshot.
records::Snapshot desired_snapshot(const records::Snapshot& as_found,
                                   const std::vector<Difference>& differences, const schema::Model& model);

std::string to_yaml(const WorkOrder& order);
/// The digest over the whole text stands in its last line: an order that was edited after it was
/// written is a problem, since it is no longer what was reviewed.
Result<WorkOrder> order_from_yaml(const std::string& text);

}  // namespace vergeset::change
