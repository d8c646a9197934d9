#include "report/findings_text.h"

#include <fmt/format.h>

#include <cmath>
#include <map>

#include "report/table.h"
#include "report/words.h"
#include "report/wrap.h"

namespace vergeset::report {

namespace {

using checks::Finding;
using fleet::Severity;

/// A finding and the units that it holds for.
struct Shared {
  const Finding* finding = nullptr;
  std::size_t order = 0;
  std::vector<std::string> units;
};

std::vector<Shared> shared_findings(const std::vector<checks::UnitFindings>& units) {
  std::map<std::tuple<std::string, std::string, Place>, Shared> by_text;
  for (const checks::UnitFindings& unit : units) {
    for (const Finding& finding : unit.findings) {
      Shared& one = by_text[{finding.rule, finding.text, finding.place}];
      if (one.finding == nullptr) one = {&finding, by_text.size(), {}};
      if (one.units.empty() || one.units.back() != unit.unit->name) one.units.push_back(unit.unit->name);
    }
  }
  std::vector<Shared> all;
  for (auto& [key, one] : by_text) all.push_back(std::move(one));
  std::ranges::sort(all, [](const Shared& a, const Shared& b) {
    return std::tuple(b.finding->severity, a.order) < std::tuple(a.finding->severity, b.order);
  });
  return all;
}

std::string names_text(const Screen& screen, const std::vector<std::string>& units) {
  constexpr std::size_t few = 3;
  if (screen.full || units.size() <= few) return fmt::format("{}", fmt::join(units, ", "));
  return fmt::format("{} and {} more", units.front(), units.size() - 1);
}

std::string counts_text(const std::vector<checks::UnitFindings>& units) {
  std::map<Severity, std::size_t> counts;
  for (const checks::UnitFindings& unit : units) {
    for (const Finding& finding : unit.findings) ++counts[finding.severity];
  }
  std::string out;
  for (const Severity severity : {Severity::error, Severity::warning, Severity::notice}) {
    if (counts[severity] == 0) continue;
    out += (out.empty() ? "" : ", ") + counted(counts[severity], std::string(fleet::severity_name(severity)));
  }
  return out;
}

std::string limit_text(const fleet::Limit& limit, const fleet::Limits& limits) {
  const double number = limits.*limit.number;
  if (!std::isfinite(number)) return "not stated";
  return limit.unit.empty() ? fmt::format("{}", number) : fmt::format("{} {}", number, limit.unit);
}

}  // namespace

std::string finding_line(const Finding& finding) {
  return fmt::format("{}: {} ({})", fleet::severity_name(finding.severity), finding.text, finding.source);
}

std::string findings_text(const Screen& screen, const std::vector<checks::UnitFindings>& units) {
  const std::vector<Shared> all = shared_findings(units);
  if (all.empty()) return {};
  Table table(2, {"severity", "units", "finding"});
  for (const Shared& one : all) {
    std::string text = fmt::format("{} ({})", one.finding->text, one.finding->source);
    if (one.finding->place.line > 0) text += " at " + one.finding->place.str();
    table.add(
        {std::string(fleet::severity_name(one.finding->severity)), names_text(screen, one.units), text});
  }
  return table.text(screen) + counts_text(units) + "\n";
}

Json findings_json(const std::vector<checks::UnitFindings>& units) {
  Json all = Json::array();
  for (const checks::UnitFindings& unit : units) {
    all.push_back({{"unit", unit.unit->name}, {"findings", findings_json(unit.findings)}});
  }
  return all;
}

std::string rules_text(const Screen& screen, const fleet::Fleet& fleet) {
  Table rules(2, {"rule", "severity", "finds", "after"});
  for (const fleet::Rule& rule : fleet::rules()) {
    rules.add({std::string(rule.name), std::string(fleet::severity_name(fleet.severities.of(rule.name))),
               std::string(rule.meaning), std::string(rule.source)});
  }
  Table limits(2, {"limit", "is", "what it limits"});
  for (const fleet::Limit& limit : fleet::limit_names()) {
    limits.add({std::string(limit.name), limit_text(limit, fleet.limits), std::string(limit.meaning)});
  }
  return rules.text(screen) + "\n" + limits.text(screen);
}

Json rules_json(const fleet::Fleet& fleet) {
  Json rules = Json::array();
  for (const fleet::Rule& rule : fleet::rules()) {
    rules.push_back({{"rule", rule.name},
                     {"severity", fleet::severity_name(fleet.severities.of(rule.name))},
                     {"finds", rule.meaning},
                     {"source", rule.source}});
  }
  Json limits = Json::array();
  for (const fleet::Limit& limit : fleet::limit_names()) {
    const double number = fleet.limits.*limit.number;
    limits.push_back({{"limit", limit.name},
                      {"is", std::isfinite(number) ? Json(number) : Json()},
                      {"unit", limit.unit},
                      {"limits", limit.meaning}});
  }
  return {{"rules", std::move(rules)}, {"limits", std::move(limits)}};
}

}  // namespace vergeset::report
