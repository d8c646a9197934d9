#include "checks/site.h"

#include <fmt/format.h>

#include <algorithm>
#include <string>

#include "checks/shared.h"
#include "checks/transmit_power.h"
#include "fleet/site.h"
#include "fleet/subnet.h"
#include "smi/words.h"

namespace vergeset::checks {

namespace {

using fleet::recorded;
using fleet::Site;

bool says_none(const std::string& text) {
  const std::string word = smi::lower(smi::trimmed(text));
  return word == "no" || word == "none" || word == "missing" || word == "-";
}

bool has_word(const std::string& text, std::initializer_list<std::string_view> words) {
  const std::string small = smi::lower(text);
  return std::ranges::any_of(words,
                             [&](std::string_view word) { return small.find(word) != std::string::npos; });
}

void judge_cable(const Site& site, const fleet::Limits& limits, Findings& findings) {
  const std::string category = recorded(site, "cable-category");
  const bool copper = !has_word(category, {"fibre", "fiber", "single-mode", "singlemode", "multimode"});
  const auto length = fleet::site_number(site, "cable-length");
  if (copper && length && *length > limits.cable_run_m) {
    findings.add("cable-run", fmt::format("{:.6g} m of cable; Ethernet over copper reaches {:.6g} m", *length,
                                          limits.cable_run_m));
  }
  // A unit hangs on a pole: its cable is taken to be out of doors unless the record says otherwise.
  const bool outdoors = recorded(site, "cable-route") != "indoor";
  const std::string rating = recorded(site, "cable-rating");
  const bool for_indoors = rating == "indoor" || (rating.empty() && has_word(category, {"indoor"}));
  if (outdoors && for_indoors) {
    findings.add("cable-outdoors", "the cable is made for indoors and lies outdoors: sun and water end it");
  }
}

void judge_earthing(const Site& site, const fleet::Limits& limits, Findings& findings) {
  const std::string protector = recorded(site, "surge-protector");
  if (says_none(protector)) findings.add("surge-protector", "there is no surge protector");
  if (protector.empty()) findings.add("surge-protector", "no surge protector is recorded");
  const std::string bond = recorded(site, "bond");
  const auto resistance = fleet::site_number(site, "bond-resistance");
  if (says_none(bond)) findings.add("bond", "the unit is not bonded to earth");
  if (bond.empty() && !resistance) findings.add("bond", "no bond is recorded");
  if (resistance && *resistance > limits.bond_ohm) {
    findings.add("bond", fmt::format("the bond has {:.6g} ohm; at most {:.6g} ohm are wanted", *resistance,
                                     limits.bond_ohm));
  }
  const auto earth = fleet::site_number(site, "earth-resistance");
  if (earth && *earth > limits.earth_ohm) {
    findings.add("earth",
                 fmt::format("{:.6g} ohm to earth; at most {:.6g} ohm are wanted, and the local code "
                             "decides",
                             *earth, limits.earth_ohm));
  }
}

void judge_voltage(const Site& site, const fleet::Limits& limits, Findings& findings) {
  for (const auto& [field, where] : {std::pair("supply-voltage", "unit"), {"injector-voltage", "injector"}}) {
    const auto voltage = fleet::site_number(site, field);
    if (!voltage || (*voltage >= limits.supply_low_v && *voltage <= limits.supply_high_v)) continue;
    findings.add("supply-voltage", fmt::format("{:.6g} V at the {}; {:.6g} V to {:.6g} V are wanted",
                                               *voltage, where, limits.supply_low_v, limits.supply_high_v));
  }
}

/// Both where the record has both; an address that is a name has no subnet here.
void judge_network(const fleet::Unit& unit, Findings& findings) {
  const auto address = fleet::parse_host_address(unit.host);
  const auto gateway = fleet::parse_host_address(recorded(unit.site, "gateway"));
  const std::string network = recorded(unit.site, "network");
  const auto subnet = fleet::parse_subnet(network);
  if (address && subnet && !subnet->holds(*address)) {
    findings.add("subnet", fmt::format("address {} is not in its subnet {}", unit.host, network));
  } else if (address && subnet && subnet->is_reserved(*address)) {
    findings.add("subnet", fmt::format("address {} is no host's in its subnet {}", unit.host, network));
  }
  if (address && gateway && *address == *gateway) {
    findings.add("gateway", fmt::format("address {} is its gateway's too", unit.host));
  }
  if (gateway && subnet && !subnet->holds(*gateway)) {
    findings.add("gateway",
                 fmt::format("gateway {} is not in the subnet {}", recorded(unit.site, "gateway"), network));
  }
}

void judge_record(const Site& site, Findings& findings) {
  const std::vector<std::string> missing = not_recorded(site);
  if (!missing.empty())
    findings.add("not-recorded", fmt::format("not recorded: {}", fmt::join(missing, ", ")));
}

}  // namespace

std::vector<std::string> not_recorded(const Site& site) {
  std::vector<std::string> missing;
  for (const char* field : {"pole", "mount-height", "latitude", "longitude", "elevation", "survey-accuracy",
                            "cable-length", "cable-category", "supply-voltage", "injector", "antennas",
                            "serial", "mac", "installer", "installed"}) {
    if (recorded(site, field).empty()) missing.emplace_back(field);
  }
  return missing;
}

void judge_site(const fleet::Unit& unit, const fleet::Limits& limits, Findings& findings) {
  judge_cable(unit.site, limits, findings);
  judge_earthing(unit.site, limits, findings);
  judge_voltage(unit.site, limits, findings);
  judge_network(unit, findings);
  judge_transmit_power(unit, limits, findings);
}

std::vector<UnitFindings> site_findings(const fleet::Fleet& fleet) {
  const SharedThings shared(fleet);
  std::vector<UnitFindings> all;
  for (const fleet::Unit& unit : fleet.units) {
    Findings findings(fleet.severities);
    judge_site(unit, fleet.limits, findings);
    shared.judge(unit, findings);
    judge_record(unit.site, findings);
    if (auto found = findings.take(); !found.empty()) all.push_back({&unit, std::move(found)});
  }
  return all;
}

}  // namespace vergeset::checks
