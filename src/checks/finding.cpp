#include "checks/finding.h"

#include <algorithm>
#include <iterator>
#include <map>

namespace vergeset::checks {

void Findings::add(std::string_view rule, std::string text, Place place, std::string source) {
  const fleet::Severity severity = severities_.of(rule);
  if (severity == fleet::Severity::ignore) return;
  if (source.empty()) source = fleet::rule_named(rule).source;
  found_.push_back({std::string(rule), severity, std::move(text), std::move(source), std::move(place)});
}

std::vector<Finding> Findings::take() {
  std::ranges::stable_sort(found_,
                           [](const Finding& a, const Finding& b) { return a.severity > b.severity; });
  return std::exchange(found_, {});
}

std::vector<UnitFindings> joined(const fleet::Fleet& fleet, std::vector<std::vector<UnitFindings>> checks) {
  std::map<const fleet::Unit*, std::vector<Finding>> by_unit;
  for (std::vector<UnitFindings>& one : checks) {
    for (UnitFindings& unit : one) std::ranges::move(unit.findings, std::back_inserter(by_unit[unit.unit]));
  }
  std::vector<UnitFindings> all;
  for (const fleet::Unit& unit : fleet.units) {
    const auto found = by_unit.find(&unit);
    if (found == by_unit.end()) continue;
    std::ranges::stable_sort(found->second,
                             [](const Finding& a, const Finding& b) { return a.severity > b.severity; });
    all.push_back({&unit, std::move(found->second)});
  }
  return all;
}

fleet::Severity worst(const std::vector<Finding>& findings) {
  fleet::Severity severity = fleet::Severity::ignore;
  for (const Finding& finding : findings) severity = std::max(severity, finding.severity);
  return severity;
}

}  // namespace vergeset::checks
