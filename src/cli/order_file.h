#pragma once

#include <optional>
#include <string>
#include <vector>

#include "change/apply.h"
#include "change/approval.h"
#include "change/work_order.h"

namespace vergeset::cli {

/// Why no work order can be written there; empty where it can. A file that is there is never replaced:
/// someone may have approved it. No folder is made: it would be a slip's.
std::string cannot_write_order(const std::string& path);

/// Writes a dry run as a work order. The problem, or nothing.
std::optional<std::string> write_order(const std::string& path, const change::World& world,
                                       const std::vector<change::Preview>& previews, const std::string& who,
                                       const std::string& why);

/// A work order of this fleet.
Result<change::WorkOrder> read_order(const std::string& path, const fleet::Fleet& fleet);

/// The approval that stands beside a work order and fits it; nothing where none does, a problem where one
/// does not fit.
Result<std::optional<change::Approval>> approval_of(const std::string& path, const change::WorkOrder& order);

/// Writes it beside the order, for other users to read too: it is made to be handed on, and holds no more
/// than a name. The problem, or nothing.
std::optional<std::string> write_approval(const std::string& path, const change::Approval& approval);

/// Files of the fleet that are not as they were when the order was written: "groups/signals.yaml".
std::vector<std::string> changed_since(const change::WorkOrder& order, const fleet::Fleet& fleet);

}  // namespace vergeset::cli
