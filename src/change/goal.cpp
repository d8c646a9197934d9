#include "change/goal.h"

#include <fmt/format.h>

#include <algorithm>

#include "change/compare.h"
#include "change/keep.h"
#include "change/survey.h"

namespace vergeset::change {

namespace {

/// What of a snapshot the change has touched: of a row that was there before and after, the columns that
/// it left with another value.
records::Snapshot touched(records::Snapshot snapshot, const records::Snapshot& left) {
  for (records::KeptRow& row : snapshot.rows) {
    const auto after = std::find_if(left.rows.begin(), left.rows.end(), [&](const records::KeptRow& other) {
      return other.table == row.table && other.index == row.index;
    });
    if (after == left.rows.end() || !row.present || !after->present) continue;
    const auto as_left = [&](const records::Kept& column) {
      return std::find(after->columns.begin(), after->columns.end(), column) != after->columns.end();
    };
    row.columns.erase(std::remove_if(row.columns.begin(), row.columns.end(), as_left), row.columns.end());
  }
  return snapshot;
}

/// The same columns of what was left.
records::Snapshot like(records::Snapshot left, const records::Snapshot& snapshot) {
  for (records::KeptRow& row : left.rows) {
    const auto before = std::find_if(
        snapshot.rows.begin(), snapshot.rows.end(),
        [&](const records::KeptRow& other) { return other.table == row.table && other.index == row.index; });
    if (before == snapshot.rows.end() || !row.present || !before->present) continue;
    const auto untouched = [&](const records::Kept& column) {
      return std::none_of(before->columns.begin(), before->columns.end(),
                          [&](const records::Kept& other) { return other.oid == column.oid; });
    };
    row.columns.erase(std::remove_if(row.columns.begin(), row.columns.end(), untouched), row.columns.end());
  }
  left.on_air = false;  // that the unit has fallen into standby is no other hand's doing
  return left;
}

/// "store-and-repeat (row 1), interval".
std::string named(const Difference& difference) {
  std::string name = difference.title();
  if (!difference.is_row()) return name;
  for (const Item& item : difference.items) name += ", " + item.setting;
  return name;
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
    if (also) names += (names.empty() ? "" : "; ") + named(difference);
  }
  if (names.empty()) return std::nullopt;
  return fmt::format("changed by someone else since: {}. Look at it; --force overwrites it", names);
}

}  // namespace

Wanted wanted_of_snapshot(const fleet::Fleet& fleet, const fleet::Unit& unit,
                          const records::Snapshot& snapshot) {
  Wanted wanted = wanted_of(fleet, unit);
  wanted.tables.clear();
  wanted.octets.clear();
  std::vector<smi::Oid> instances = instances_of(*unit.model, snapshot);
  instances.insert(instances.end(), wanted.instances.begin(), wanted.instances.end());
  std::sort(instances.begin(), instances.end());
  instances.erase(std::unique(instances.begin(), instances.end()), instances.end());
  wanted.instances = std::move(instances);
  return wanted;
}

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
  const records::Snapshot aim = left ? touched(snapshot, *left) : snapshot;
  goal.compare = [&unit, aim, source](const AsFound& found) {
    return Comparison{differences_to(unit, aim, found, source), {}, {}};
  };
  if (left && !force) {
    goal.objection = [&unit, aim, as_left = like(*left, aim)](const AsFound& found) {
      return meddled(unit, aim, as_left, found);
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
    const Difference& first = differences.front();
    const std::string column =
        first.is_row() && !first.items.empty() ? " " + first.items.front().setting : std::string();
    return fmt::format("no longer as it was reviewed: {}{} is {} now{}. Write a new order", first.title(),
                       column, first.items.empty() ? "there" : first.items.front().as_found_text(),
                       differences.size() > 1 ? fmt::format(", and {} more", differences.size() - 1) : "");
  };
  return goal;
}

}  // namespace vergeset::change
