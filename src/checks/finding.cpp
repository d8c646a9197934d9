#include "checks/finding.h"

#include <algorithm>

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

fleet::Severity worst(const std::vector<Finding>& findings) {
  fleet::Severity severity = fleet::Severity::ignore;
  for (const Finding& finding : findings) severity = std::max(severity, finding.severity);
  return severity;
}

}  // namespace vergeset::checks
