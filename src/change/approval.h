#pragma once

#include <string>

#include "change/work_order.h"
#include "smi/result.h"

namespace vergeset::change {

/// A second person's word on a work order: of exactly what it holds. It stands in a file of its own beside
/// the order, so that the order stays as it was written.
///
/// It keeps people from slips and from changing an order that was approved. It is no signature: who can write
/// both files can also make them say another name.
struct Approval {
  std::string order;     ///< the digest in the last line of the order
  std::string who;       ///< user@host
  std::string approved;  ///< RFC 3339
  bool operator==(const Approval&) const = default;
};

std::string to_yaml(const Approval& approval);
/// An approval that was edited is a problem.
Result<Approval> approval_from_yaml(const std::string& text);

/// Where the approval of an order stands: "order.approval.yaml" of "order.yaml".
std::string approval_path(const std::string& order_path);

/// "ops" of "ops@desk": one person on two machines is one person.
std::string person_of(const std::string& who);

/// Empty, or why this approval does not let this order be carried out: of another order, or by who wrote it.
std::string why_void(const Approval& approval, const WorkOrder& order);

}  // namespace vergeset::change
