#include "report/audit_text.h"

#include <map>

#include "report/comparison_text.h"
#include "report/fleet_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using change::Audited;
using change::Verdict;

/// What is to be told of units that agree, each once with the units that it holds for: a row that nobody
/// asked for is usually on all units of a kind.
std::string beside_agreement(const Screen& screen, const std::vector<Audited>& units) {
  std::map<std::string, std::string> told;
  for (const Audited& unit : units) {
    if (unit.verdict != Verdict::agrees) continue;
    for (const auto& [heading, lines] : beside(unit.comparison, unit.health)) {
      for (const std::string& line : lines) {
        std::string& names = told[line];
        names += (names.empty() ? "" : ", ") + unit.unit->name;
      }
    }
  }
  if (told.empty()) return {};
  std::string out = dim(screen, "of units that agree") + "\n";
  for (const auto& [line, names] : told) out += paragraph(screen, line, 2) + paragraph(screen, names, 4);
  return out + "\n";
}

}  // namespace

std::string from_text(const From& from, const Audited& unit) {
  switch (from.kind) {
    case From::Kind::survey:
      return unit.found.taken.empty() ? "not surveyed" : "as surveyed " + time_text(unit.found.taken);
    case From::Kind::walk:
      return "from " + from.file;
    case From::Kind::unit:
      break;
  }
  return address_text(*unit.unit);
}

std::string audited_text(const Screen& screen, const Audited& unit, const From& from) {
  const std::string at = from_text(from, unit);
  if (unit.verdict == Verdict::no_answer || unit.verdict == Verdict::wrong_unit) {
    return unit_line(screen, *unit.unit, at, std::string(verdict_name(unit.verdict))) +
           paragraph(screen, unit.what, 2) + beside_text(screen, unit.comparison, unit.health);
  }
  return unit_line(screen, *unit.unit, at, count_text(unit.comparison)) +
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

std::string audit_text(const Screen& screen, const std::vector<Audited>& units, const From& from) {
  if (units.size() == 1)
    return audited_text(screen, units.front(), from) + "\n" + audit_summary(units) + "\n";
  std::string out;
  for (const Audited& unit : units) {
    if (unit.verdict != Verdict::agrees) out += audited_text(screen, unit, from) + "\n";
  }
  return out + beside_agreement(screen, units) + audit_summary(units) + "\n";
}

}  // namespace vergeset::report
