#include "cli/audit_keep.h"

#include "cli/print.h"
#include "records/audit_record.h"
#include "records/clock.h"
#include "report/words.h"

namespace vergeset::cli {

namespace {

records::AuditedDifference record_of(const change::Difference& difference) {
  records::AuditedDifference out{difference.title(), report::kind_name(difference.kind), {}};
  for (const change::Item& item : difference.items) {
    out.items.push_back({item.setting,
                         {item.name, item.oid, item.as_found},
                         item.desired,
                         item.as_found_text(),
                         item.desired_text()});
  }
  return out;
}

records::AuditedUnit record_of(const change::Audited& unit) {
  records::AuditedUnit out;
  out.unit = unit.unit->name;
  out.verdict = verdict_name(unit.verdict);
  out.what = unit.what;
  for (const change::Difference& one : unit.comparison.differences) out.differences.push_back(record_of(one));
  out.obstacles = unit.comparison.obstacles;
  for (const change::Remark& one : unit.comparison.remarks) out.remarks.push_back(one.name + ": " + one.text);
  for (const checks::Finding& one : unit.health) out.health.push_back(one.text + " (" + one.source + ")");
  return out;
}

}  // namespace

std::string keep(records::Disk& disk, const fleet::Fleet& fleet, const std::vector<change::Audited>& units,
                 std::int64_t begun, std::int64_t ended) {
  records::AuditRecord record{fleet.name, who_am_i(), records::stamp(begun), records::stamp(ended), {}};
  for (const change::Audited& unit : units) record.units.push_back(record_of(unit));
  return records::keep_audit(disk, record, begun);
}

}  // namespace vergeset::cli
