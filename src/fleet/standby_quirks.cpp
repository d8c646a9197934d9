#include "fleet/standby_quirks.h"

namespace vergeset::fleet {

std::vector<std::pair<std::string, bool>> standby_quirks_of(const Unit& unit) {
  std::vector<std::pair<std::string, bool>> quirks;
  for (const auto& [name, object] : unit.model->objects) {
    const bool needs = unit.desired.traits_of(object).needs_standby;
    if (needs != object.traits.needs_standby) quirks.emplace_back(name, needs);
  }
  for (const auto& [name, table] : unit.model->tables) {
    const bool needs = unit.desired.needs_standby(table);
    if (needs != table.needs_standby) quirks.emplace_back(name, needs);
  }
  return quirks;
}

}  // namespace vergeset::fleet
