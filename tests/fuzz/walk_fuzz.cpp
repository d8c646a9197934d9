// What snmpwalk printed of a unit, and all that is made of it: whether it is this unit, what differs, how it
// is, and the sequence that would bring it into line.
//
// About: src/change/walk_file.cpp src/change/compare.cpp src/change/found_rows.cpp src/change/row_match.cpp
// About: src/change/identify.cpp src/change/sequence.cpp src/change/keep.cpp src/checks/health.cpp
// About: src/checks/position.cpp src/checks/counted.cpp src/checks/certificates.cpp src/checks/as_read.cpp

#include "change/compare.h"
#include "change/identify.h"
#include "change/keep.h"
#include "change/sequence.h"
#include "change/walk_file.h"
#include "checks/counted.h"
#include "checks/health.h"
#include "fuzz/larkmoor.h"
#include "records/snapshot.h"

using namespace vergeset;

namespace {

void must_travel(const smi::Value& value) {
  const std::string exact = smi::exact_text(value);
  const auto again = smi::from_exact_text(value.type, exact);
  fuzz::must(again && *again == value, "a value reads back exactly", exact);
}

void must_compare(const fleet::Unit& unit, const change::AsFound& found) {
  if (const auto wrong = change::wrong_unit(fuzz::larkmoor(), unit, found)) fuzz::must_explain(*wrong);
  change::Comparison comparison = change::compare(unit, found);
  for (const std::string& obstacle : comparison.obstacles) fuzz::must_explain(obstacle);
  for (const change::Remark& remark : comparison.remarks)
    fuzz::must(fuzz::safe_to_show(remark.name + remark.text), "a remark is safe to show", remark.text);
  for (const change::Difference& difference : comparison.differences) {
    fuzz::must(fuzz::safe_to_show(difference.title()), "a difference is safe to show", difference.title());
    for (const change::Item& item : difference.items) {
      fuzz::must(fuzz::safe_to_show(item.as_found_text()), "what was found is safe to show", item.name);
    }
  }
  const checks::AsRead read = change::as_read(*unit.model, found);
  const records::Counted before{read.now - 3600000, 7, {{"rsuContCchMsgSent.0", 3}}, {}};
  const records::Counted now = checks::count(read, fuzz::larkmoor(), unit, &before);
  checks::health_details(read);
  const auto health = checks::health(fuzz::larkmoor(), unit, read, &before, &now);
  for (const checks::Finding& finding : health) fuzz::must_explain(finding.text);
  change::fill_whole_rows(unit, found, comparison.differences);
  const change::Sequence steps =
      change::sequence(*unit.model, comparison.differences, change::mode_of(*unit.model, found));
  fuzz::must(comparison.differences.empty() || !steps.steps.empty(), "a difference has a step");
  const records::Snapshot kept = change::keep(unit, found, comparison.differences);
  const auto again = records::snapshot_from_yaml(records::to_yaml(kept));
  fuzz::must(again && *again == kept, "what is touched is kept exactly", records::to_yaml(kept));
}

}  // namespace

FUZZ_TARGET(walk) {
  Faults faults;
  const change::AsFound found = change::read_walk(std::string(input), "walk.txt", faults);
  fuzz::must_tell(faults);
  for (const auto& [oid, value] : found.instances) must_travel(value);
  for (const fleet::Unit& unit : fuzz::larkmoor().units) must_compare(unit, found);
}
