#include "checks/shared.h"

#include <fmt/format.h>

#include <algorithm>

#include "checks/geodesic.h"
#include "fleet/site.h"
#include "smi/syntax.h"

namespace vergeset::checks {

namespace {

/// In one spelling, whatever parts its octets.
std::string mac_of(const fleet::Unit& unit) {
  smi::Syntax syntax;
  syntax.form = smi::Form::mac;
  const std::string text = fleet::recorded(unit.site, "mac");
  const auto value = smi::encode(syntax, text);
  return value && !text.empty() ? smi::to_text(syntax, *value) : "";
}

std::string desired_unit_id(const fleet::Unit& unit) {
  const schema::Object* object = unit.model->identity.unit_id;
  for (const fleet::DesiredValue& value : unit.desired.values) {
    if (object != nullptr && value.object == object) return smi::to_text(object->syntax, value.value);
  }
  return {};
}

Point site_point(const fleet::Site& site) {
  return {*site.latitude, *site.longitude};
}

std::string others_text(const fleet::Unit& unit, const std::vector<const fleet::Unit*>& holders) {
  const auto* const other = std::ranges::find_if(holders.data(), holders.data() + holders.size(),
                                                 [&](const fleet::Unit* one) { return one != &unit; });
  std::string text = (*other)->name;
  if (holders.size() > 2) text += fmt::format(" and {} more units", holders.size() - 2);
  return text;
}

}  // namespace

SharedThings::SharedThings(const fleet::Fleet& fleet) {
  Holders ids;
  Holders serials;
  Holders macs;
  for (const fleet::Unit& unit : fleet.units) {
    ids[desired_unit_id(unit)].push_back(&unit);
    serials[fleet::recorded(unit.site, "serial")].push_back(&unit);
    macs[mac_of(unit)].push_back(&unit);
  }
  tell("same-unit-id", "unit-id", ids);
  tell("same-serial", "serial number", serials);
  tell("same-mac", "hardware address", macs);
  find_neighbours(fleet);
}

void SharedThings::tell(std::string_view rule, const std::string& what, const Holders& holders) {
  for (const auto& [text, units] : holders) {
    if (text.empty() || units.size() < 2) continue;
    for (const fleet::Unit* unit : units) {
      told_[unit].push_back(
          {rule, fmt::format("{} {} is that of {} too", what, text, others_text(*unit, units))});
    }
  }
}

void SharedThings::find_neighbours(const fleet::Fleet& fleet) {
  std::vector<const fleet::Unit*> placed;
  for (const fleet::Unit& unit : fleet.units) {
    if (unit.site.latitude && unit.site.longitude) placed.push_back(&unit);
  }
  std::ranges::stable_sort(placed, {}, [](const fleet::Unit* unit) { return *unit->site.latitude; });
  const double apart = fleet.limits.apart_m;
  const double window_deg = apart / 110'000;  // no degree of latitude is shorter (WGS 84)
  for (std::size_t i = 0; i < placed.size(); ++i) {
    // One neighbour is told to each: a pile of units on one place would be told once for every pair.
    for (std::size_t j = i + 1; j < placed.size(); ++j) {
      if (*placed[j]->site.latitude - *placed[i]->site.latitude > window_deg) break;
      const double metres = metres_between(site_point(placed[i]->site), site_point(placed[j]->site));
      if (metres >= apart) continue;
      for (const auto& [unit, other] : {std::pair(placed[i], placed[j]), {placed[j], placed[i]}}) {
        auto& told = told_[unit];
        if (!told.empty() && told.back().rule == "same-position") continue;
        told.push_back(
            {"same-position", fmt::format("surveyed {:.1f} m from where {} stands", metres, other->name)});
      }
      break;
    }
  }
}

void SharedThings::judge(const fleet::Unit& unit, Findings& findings) const {
  const auto found = told_.find(&unit);
  if (found == told_.end()) return;
  for (const Told& one : found->second) findings.add(one.rule, one.text);
}

}  // namespace vergeset::checks
