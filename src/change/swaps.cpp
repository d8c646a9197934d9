#include "change/swaps.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "checks/swapped.h"

namespace vergeset::change {

namespace {

/// Every unit of the fleet has a site; those that were audited and know it a position.
std::vector<checks::Stands> stands_of(const fleet::Fleet& fleet, const std::vector<Audited>& units) {
  std::map<const fleet::Unit*, const Audited*> audited;
  for (const Audited& unit : units) audited[unit.unit] = &unit;
  std::vector<checks::Stands> all;
  all.reserve(fleet.units.size());
  for (const fleet::Unit& unit : fleet.units) {
    checks::Stands& stands = all.emplace_back();
    if (unit.site.latitude && unit.site.longitude)
      stands.site = checks::Point{*unit.site.latitude, *unit.site.longitude};
    const auto found = audited.find(&unit);
    if (found == audited.end()) continue;
    const records::FoundAt& at = found->second->position;
    if (at.latitude && at.longitude) stands.found = checks::Point{*at.latitude, *at.longitude};
  }
  return all;
}

/// "LK-101 on the site of LK-102, LK-102 on that of LK-101": the same for each unit of the cycle.
std::string cycle_text(const fleet::Fleet& fleet, const std::vector<std::size_t>& cycle) {
  std::string text;
  for (std::size_t i = 0; i < cycle.size(); ++i) {
    const std::string& host = fleet.units[cycle[(i + 1) % cycle.size()]].name;
    text += i == 0 ? fmt::format("{} on the site of {}", fleet.units[cycle[i]].name, host)
                   : fmt::format(", {} on that of {}", fleet.units[cycle[i]].name, host);
  }
  return text;
}

/// The texts of swaps, by unit of the fleet.
struct Told {
  std::string_view rule;
  std::string text;
};

std::map<const fleet::Unit*, Told> told_of(const fleet::Fleet& fleet, const checks::Swaps& swaps) {
  std::map<const fleet::Unit*, Told> told;
  for (const auto& cycle : swaps.cycles) {
    const std::string text = "swapped: " + cycle_text(fleet, cycle);
    for (const std::size_t unit : cycle) told[&fleet.units[unit]] = {"swapped", text};
  }
  for (std::size_t i = 0; i < swaps.on_site_of.size(); ++i) {
    if (!swaps.on_site_of[i]) continue;
    told.try_emplace(&fleet.units[i], Told{"other-site", "it finds itself on the site of " +
                                                             fleet.units[*swaps.on_site_of[i]].name});
  }
  return told;
}

}  // namespace

void tell_swaps(const fleet::Fleet& fleet, std::vector<Audited>& units) {
  checks::SwapRule rule;
  rule.within_m = fleet.limits.position_off_m;
  const auto told = told_of(fleet, checks::swapped(stands_of(fleet, units), rule));
  for (Audited& unit : units) {
    std::erase_if(unit.health, [](const checks::Finding& finding) {
      return finding.rule == "swapped" || finding.rule == "other-site";
    });
    const auto found = told.find(unit.unit);
    if (found == told.end()) continue;
    checks::Findings findings(fleet.severities);
    findings.add(found->second.rule, found->second.text);
    std::vector<checks::Finding> all = findings.take();
    const auto behind = std::ranges::upper_bound(unit.health, fleet::Severity::error, std::greater<>(),
                                                 &checks::Finding::severity);
    unit.health.insert(behind, all.begin(), all.end());
  }
}

}  // namespace vergeset::change
