#include "report/insecure_text.h"

#include <fmt/format.h>

#include <map>

#include "report/wrap.h"

namespace vergeset::report {

std::vector<Insecure> insecure_units(const fleet::Fleet& fleet,
                                     const std::vector<const fleet::Unit*>& units) {
  std::map<std::string, Insecure> found;
  for (const fleet::Unit* unit : units) {
    const auto credential = fleet.credentials.find(unit->credential);
    if (credential == fleet.credentials.end()) continue;
    Insecure& one = found[unit->credential];
    if (one.credential == nullptr) one = {&credential->second, weaknesses(credential->second), {}};
    one.units.push_back(unit->name);
  }
  std::vector<Insecure> all;
  for (auto& [name, one] : found) {
    if (!one.weaknesses.empty()) all.push_back(std::move(one));
  }
  return all;
}

std::vector<Insecure> insecure_units(const fleet::Fleet& fleet) {
  std::vector<const fleet::Unit*> units;
  for (const fleet::Unit& unit : fleet.units) units.push_back(&unit);
  return insecure_units(fleet, units);
}

std::string insecure_text(const Screen& screen, const std::vector<Insecure>& insecure) {
  if (insecure.empty()) return {};
  std::string out = dim(screen, "spoken to insecurely") + "\n";
  for (const Insecure& one : insecure) {
    out += paragraph(
        screen, fmt::format("credential {}: {}", one.credential->name, fmt::join(one.weaknesses, ", ")), 2);
    out += paragraph(screen, "because: " + one.credential->insecure, 4);
    out += paragraph(screen, fmt::format("{}", fmt::join(one.units, ", ")), 4);
  }
  return out + "\n";
}

Json insecure_json(const std::vector<Insecure>& insecure) {
  Json all = Json::array();
  for (const Insecure& one : insecure) {
    all.push_back({{"credential", one.credential->name},
                   {"weaknesses", one.weaknesses},
                   {"reason", one.credential->insecure},
                   {"units", one.units}});
  }
  return all;
}

}  // namespace vergeset::report
