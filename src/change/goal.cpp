#include "change/goal.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/compare.h"
#include "change/keep.h"
#include "change/survey.h"

namespace vergeset::change {

namespace {

/// To read a snapshot's instances, and what says which unit it is.
Wanted wanted_of_snapshot(const fleet::Fleet& fleet, const fleet::Unit& unit,
                          const records::Snapshot& snapshot) {
  Wanted wanted = wanted_of(fleet, unit);
  wanted.tables.clear();
  std::vector<smi::Oid> instances = instances_of(*unit.model, snapshot);
  instances.insert(instances.end(), wanted.instances.begin(), wanted.instances.end());
  std::sort(instances.begin(), instances.end());
  instances.erase(std::unique(instances.begin(), instances.end()), instances.end());
  wanted.instances = std::move(instances);
  return wanted;
}

/// Where someone else has been: not as the change left it, and not as it is to become either.
std::optional<std::string> meddled(const fleet::Unit& unit, const records::Snapshot& snapshot,
                                   const records::Snapshot& left, const AsFound& found) {
  std::string names;
  const std::vector<Difference> from_left = differences_to(unit, left, found, "as left");
  const std::vector<Difference> from_snapshot = differences_to(unit, snapshot, found, "as found");
  for (const Difference& difference : from_left) {
    const bool also = std::any_of(from_snapshot.begin(), from_snapshot.end(), [&](const Difference& other) {
      return other.name == difference.name && other.row == difference.row;
    });
    if (also) names += (names.empty() ? "" : ", ") + difference.title();
  }
  if (names.empty()) return std::nullopt;
  return fmt::format("changed by someone else since: {}. Look at it; --force overwrites it", names);
}

}  // namespace

Goal goal_of_files(const fleet::Fleet& fleet, const fleet::Unit& unit) {
  Goal goal;
  goal.wanted = wanted_of(fleet, unit);
  goal.compare = [&unit](const AsFound& found) { return compare(unit, found); };
  return goal;
}

Goal goal_of_snapshot(const fleet::Fleet& fleet, const fleet::Unit& unit, const records::Snapshot& snapshot,
                      const std::optional<records::Snapshot>& left, const std::string& source, bool force) {
  Goal goal;
  goal.wanted = wanted_of_snapshot(fleet, unit, snapshot);
  goal.compare = [&unit, snapshot, source](const AsFound& found) {
    return Comparison{differences_to(unit, snapshot, found, source), {}, {}};
  };
  if (left && !force) {
    goal.objection = [&unit, snapshot, left](const AsFound& found) {
      return meddled(unit, snapshot, *left, found);
    };
  }
  return goal;
}

Goal goal_of_order(const fleet::Fleet& fleet, const fleet::Unit& unit, const OrderedUnit& ordered) {
  Goal goal = goal_of_snapshot(fleet, unit, ordered.desired, std::nullopt, "the work order", true);
  goal.reviewed = ordered.sequence;
  goal.objection = [&unit, ordered](const AsFound& found) -> std::optional<std::string> {
    if (!ordered.as_found.engine_id.empty() && smi::to_hex(found.engine_id) != ordered.as_found.engine_id) {
      return "another engine id than when the order was written";
    }
    const auto differences = differences_to(unit, ordered.as_found, found, "the work order");
    if (differences.empty()) return std::nullopt;
    return fmt::format(
        "no longer as it was reviewed: {} is {} now{}. Write a new order", differences.front().title(),
        differences.front().items.empty() ? "there" : differences.front().items.front().as_found_text(),
        differences.size() > 1 ? fmt::format(", and {} more", differences.size() - 1) : "");
  };
  return goal;
}

}  // namespace vergeset::change
