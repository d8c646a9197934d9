#include <algorithm>

#include "fleet/fleet.h"

namespace vergeset::fleet {

schema::Traits Desired::traits_of(const schema::Object& object) const {
  const auto found = traits.find(object.name);
  return found == traits.end() ? object.traits : found->second;
}

bool Desired::needs_standby(const schema::Table& table) const {
  const auto found = traits.find(table.name);
  return found == traits.end() ? table.needs_standby : found->second.needs_standby;
}

bool Unit::in_group(std::string_view group) const {
  return std::any_of(groups.begin(), groups.end(), [&](const std::vector<std::string>& level) {
    return std::find(level.begin(), level.end(), group) != level.end();
  });
}

const Unit* Fleet::unit(std::string_view unit_name) const {
  const auto found =
      std::find_if(units.begin(), units.end(), [&](const Unit& u) { return u.name == unit_name; });
  return found == units.end() ? nullptr : &*found;
}

}  // namespace vergeset::fleet
