#include <algorithm>

#include "fleet/fleet.h"

namespace vergeset::fleet {

const schema::Traits* OwnTraits::find(const std::string& name) const {
  if (traits_ == nullptr) return nullptr;
  const auto found = traits_->find(name);
  return found == traits_->end() ? nullptr : &found->second;
}

schema::Traits& OwnTraits::operator[](const std::string& name) {
  if (traits_ == nullptr) {
    traits_ = std::make_shared<std::map<std::string, schema::Traits>>();
  } else if (traits_.use_count() > 1) {
    traits_ = std::make_shared<std::map<std::string, schema::Traits>>(*traits_);
  }
  return (*traits_)[name];
}

schema::Traits Desired::traits_of(const schema::Object& object) const {
  const schema::Traits* const own = traits.find(object.name);
  return own == nullptr ? object.traits : *own;
}

bool Desired::needs_standby(const schema::Table& table) const {
  const schema::Traits* const own = traits.find(table.name);
  return own == nullptr ? table.needs_standby : own->needs_standby;
}

bool Unit::in_group(std::string_view group) const {
  return std::any_of(groups.begin(), groups.end(), [&](const std::vector<std::string>& level) {
    return std::find(level.begin(), level.end(), group) != level.end();
  });
}

const Unit* Fleet::unit(std::string_view unit_name) const {
  const auto found =
      std::lower_bound(units.begin(), units.end(), unit_name,
                       [](const Unit& one, std::string_view wanted) { return one.name < wanted; });
  return found == units.end() || found->name != unit_name ? nullptr : &*found;
}

}  // namespace vergeset::fleet
