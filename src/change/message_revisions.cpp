#include "change/message_revisions.h"

#include <algorithm>
#include <charconv>

#include "checks/message_findings.h"

namespace vergeset::change {

namespace {

/// "groups/signals.yaml:12:5" as it was before it became text.
Place place_from_text(const std::string& text) {
  Place place{text, 0, 0};
  const std::size_t column = text.rfind(':');
  const std::size_t line = column == std::string::npos || column == 0 ? column : text.rfind(':', column - 1);
  if (column == std::string::npos || line == std::string::npos) return place;
  int numbers[2] = {0, 0};
  const char* const end = text.data() + text.size();
  const auto first = std::from_chars(text.data() + line + 1, text.data() + column, numbers[0]);
  const auto second = std::from_chars(text.data() + column + 1, end, numbers[1]);
  if (first.ec != std::errc() || second.ec != std::errc() || second.ptr != end) return place;
  return {text.substr(0, line), numbers[0], numbers[1]};
}

}  // namespace

void add_revision_findings(const fleet::Fleet& fleet, const Comparison& comparison,
                           std::vector<checks::Finding>& findings) {
  checks::Findings found(fleet.severities);
  for (const Difference& difference : comparison.differences) {
    if (difference.kind != Difference::Kind::change_row) continue;
    for (const Item& item : difference.items) {
      const bool octets =
          item.desired.type == smi::Type::octet_string && item.as_found.type == smi::Type::octet_string;
      if (!octets) continue;
      checks::judge_revision(item.desired.octets, item.as_found.octets, difference.name,
                             place_from_text(item.asked), found);
    }
  }
  for (checks::Finding& one : found.take()) findings.push_back(std::move(one));
  std::ranges::stable_sort(
      findings, [](const checks::Finding& a, const checks::Finding& b) { return a.severity > b.severity; });
}

}  // namespace vergeset::change
