#include "fleet/unit_faults.h"

#include <fmt/format.h>

namespace vergeset::fleet {

void UnitFaults::add(const Unit& unit, const Place& place, const std::string& text,
                     const std::string& same_as) {
  ++count_;
  const auto [found, fresh] = shown_.try_emplace({place, same_as.empty() ? text : same_as});
  Shown& shown = found->second;
  if (fresh || unit.name < shown.first) {
    shown.text = text;
    shown.first = unit.name;
  }
  if (shown.last == unit.name) return;
  shown.last = unit.name;
  ++shown.units;
}

void UnitFaults::report(Faults& faults) const {
  for (const auto& [key, shown] : shown_) {
    std::string units = "unit " + shown.first;
    if (shown.units == 2) units += " and 1 more unit";
    if (shown.units > 2) units += fmt::format(" and {} more units", shown.units - 1);
    faults.add(key.first, fmt::format("{} ({})", shown.text, units));
  }
}

}  // namespace vergeset::fleet
