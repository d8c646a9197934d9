// A snapshot, and what putting a unit back to it would come to.
//
// About: src/records/snapshot.cpp src/records/yaml_text.cpp src/change/keep.cpp src/change/goal.cpp

#include "change/goal.h"
#include "change/keep.h"
#include "change/sequence.h"
#include "fuzz/larkmoor.h"
#include "records/snapshot.h"

using namespace vergeset;

FUZZ_TARGET(snapshot) {
  const auto snapshot = records::snapshot_from_yaml(std::string(input));
  if (!snapshot) return fuzz::must_explain(snapshot.problem());
  const std::string text = records::to_yaml(*snapshot);
  const auto again = records::snapshot_from_yaml(text);
  fuzz::must(again && *again == *snapshot, "a snapshot reads back the same", text);
  for (const fleet::Unit& unit : fuzz::larkmoor().units) {
    const change::AsFound nothing;
    const change::Goal goal = change::goal_of_snapshot(fuzz::larkmoor(), unit, *snapshot, *snapshot,
                                                       "change 0042, as found", false);
    const change::Comparison comparison = goal.compare(nothing);
    if (goal.objection) goal.objection(nothing);
    change::sequence(*unit.model, comparison.differences, change::mode_of(*unit.model, nothing),
                     change::Order::reverse);
    change::retake(unit, *snapshot, nothing);
  }
}
