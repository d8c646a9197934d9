#include "report/audit_text.h"

#include "report/comparison_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Audited;
using change::Verdict;

bool has_something_to_tell(const Audited& unit, const std::string& beside) {
  return unit.verdict != Verdict::agrees || !beside.empty();
}

}  // namespace

std::string audited_text(const Screen& screen, const Audited& unit) {
  if (unit.verdict == Verdict::no_answer || unit.verdict == Verdict::wrong_unit) {
    return unit_line(screen, *unit.unit, std::string(verdict_name(unit.verdict))) +
           paragraph(screen, unit.what, 2);
  }
  return unit_line(screen, *unit.unit, count_text(unit.comparison)) +
         differences_text(screen, unit.comparison.differences) +
         beside_text(screen, unit.comparison, unit.health);
}

std::string audit_summary(const std::vector<Audited>& units) {
  std::vector<std::string> verdicts;
  for (const Audited& unit : units) {
    const std::string name(verdict_name(unit.verdict));
    const bool one_agrees = units.size() == 1 && unit.verdict == Verdict::agrees;
    verdicts.push_back(unit.verdict == Verdict::agrees && !one_agrees ? "agree" : name);
  }
  return summary({"agree", "agrees", "drifted", "wrong unit", "no answer"}, verdicts);
}

std::string audit_text(const Screen& screen, const std::vector<Audited>& units) {
  std::string out;
  for (const Audited& unit : units) {
    if (!has_something_to_tell(unit, beside_text(screen, unit.comparison, unit.health))) continue;
    out += audited_text(screen, unit) + "\n";
  }
  return out + audit_summary(units) + "\n";
}

}  // namespace vergeset::report
