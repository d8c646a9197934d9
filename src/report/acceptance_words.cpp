#include "report/acceptance_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <functional>

#include "report/fleet_text.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using Field = Acceptance::Field;
using fleet::Severity;

std::size_t count_of(const Acceptance& sheet, Severity severity) {
  return static_cast<std::size_t>(std::ranges::count(sheet.findings, severity, &checks::Finding::severity));
}

bool says_something(const Field& field) {
  return !field.text.empty() || !field.measured.empty();
}

std::string or_unknown(const std::string& text) {
  return text.empty() ? "not known" : text;
}

}  // namespace

std::vector<std::string> against_acceptance(const Acceptance& sheet) {
  std::vector<std::string> reasons;
  for (const Acceptance::Stage& stage : sheet.stages) {
    if (stage.result.starts_with("passed")) continue;
    reasons.push_back(
        fmt::format("stage {} {}", stage.name, stage.result.empty() ? "not made" : stage.result));
  }
  const std::size_t errors = count_of(sheet, Severity::error);
  if (errors > 0) reasons.push_back(counted(errors, "finding is an error", "findings are errors"));
  if (!sheet.accepted && reasons.empty()) reasons.emplace_back("not every stage has passed");
  return reasons;
}

std::string verdict_text(const Acceptance& sheet) {
  const std::vector<std::string> reasons = against_acceptance(sheet);
  if (reasons.empty()) return "may be accepted: every stage has passed and no finding is an error";
  return fmt::format("not to be accepted yet: {}", fmt::join(reasons, "; "));
}

std::vector<checks::Finding> open_findings(const Acceptance& sheet) {
  std::vector<checks::Finding> findings = sheet.findings;
  std::ranges::stable_sort(findings, std::ranges::greater(), &checks::Finding::severity);
  return findings;
}

std::string open_findings_count(const Acceptance& sheet) {
  if (sheet.findings.empty()) return "none";
  std::string counts;
  for (const Severity severity : {Severity::error, Severity::warning, Severity::notice}) {
    const std::size_t count = count_of(sheet, severity);
    if (count == 0) continue;
    counts += (counts.empty() ? "" : ", ") + counted(count, std::string(fleet::severity_name(severity)));
  }
  return fmt::format("{} ({})", sheet.findings.size(), counts);
}

std::vector<Field> identity(const Acceptance& sheet) {
  return {{"fleet", sheet.fleet, {}},
          {"model", sheet.model, {}},
          {"address", sheet.address, {}},
          {"firmware", or_unknown(sheet.firmware), {}},
          {"number", fmt::format("commissioning {} of this unit", sheet.number), {}},
          {"begun", time_text(sheet.begun), {}},
          {"ended", sheet.ended.empty() ? "not yet" : time_text(sheet.ended), {}},
          {"records", records_place(sheet), {}}};
}

std::vector<Field> recorded(const Acceptance& sheet) {
  std::vector<Field> fields;
  for (const Field& field : sheet.site) {
    if (!says_something(field)) continue;
    std::string text = field.text.empty() ? "not recorded" : field.text;
    if (!field.measured.empty()) text += "; at the pole " + field.measured;
    fields.push_back({field.name, std::move(text), {}});
  }
  return fields;
}

std::string not_recorded(const Acceptance& sheet) {
  std::vector<std::string> names;
  for (const Field& field : sheet.site) {
    if (!says_something(field)) names.push_back(field.name);
  }
  return fmt::format("{}", fmt::join(names, ", "));
}

const std::vector<std::string_view>& signers() {
  static const std::vector<std::string_view> all{"installer", "inspector or engineer", "owner"};
  return all;
}

std::string records_place(const Acceptance& sheet) {
  return sheet.records.empty() ? "records/" : sheet.records;
}

std::string shortened_to(const std::string& text, std::size_t most, std::string_view end) {
  std::size_t at = 0;
  for (std::size_t characters = 0; at < text.size(); ++characters) {
    if (characters == most) return text.substr(0, at) + std::string(end);
    at = character_end(text, at);
  }
  return text;
}

}  // namespace vergeset::report
