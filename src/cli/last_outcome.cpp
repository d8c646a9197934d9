#include "cli/last_outcome.h"

#include <set>

#include "records/audit_record.h"
#include "records/change_record.h"

namespace vergeset::cli {

namespace {

using Outcomes = std::map<std::string, report::LastOutcome>;

void keep_newer(Outcomes& outcomes, const std::string& unit, report::LastOutcome outcome) {
  const auto [found, is_new] = outcomes.try_emplace(unit, outcome);
  if (!is_new && found->second.at < outcome.at) found->second = std::move(outcome);
}

void add_changes(const records::Disk& disk, Outcomes& outcomes) {
  for (const records::ChangeRecord& change : records::all_changes(disk)) {
    const std::string at = change.ended.empty() ? change.begun : change.ended;
    for (const records::UnitOutcome& unit : change.units) {
      keep_newer(outcomes, unit.unit, {unit.outcome, "change " + records::change_name(change.number), at});
    }
  }
}

/// Newest first, and no older ones than are needed: a fleet that is audited every night has many.
void add_audits(const records::Disk& disk, const std::vector<const fleet::Unit*>& units, Outcomes& outcomes) {
  std::set<std::string> sought;
  for (const fleet::Unit* unit : units) sought.insert(unit->name);
  const std::vector<std::string> paths = records::all_audits(disk);
  for (auto path = paths.rbegin(); path != paths.rend() && !sought.empty(); ++path) {
    const auto audit = records::find_audit(disk, *path);
    if (!audit) continue;
    for (const records::AuditedUnit& unit : audit->units) {
      if (sought.erase(unit.unit) > 0)
        keep_newer(outcomes, unit.unit, {unit.verdict, "audit", audit->head.ended});
    }
  }
}

}  // namespace

std::map<std::string, report::LastOutcome> last_outcomes(const records::Disk& disk,
                                                         const std::vector<const fleet::Unit*>& units) {
  Outcomes outcomes;
  add_changes(disk, outcomes);
  add_audits(disk, units, outcomes);
  return outcomes;
}

}  // namespace vergeset::cli
