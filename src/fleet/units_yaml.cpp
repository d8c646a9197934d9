#include "fleet/unit_entry.h"

namespace vergeset::fleet {

namespace {

std::optional<Written> plain_at(const schema::Entry& map, const std::string& name) {
  const schema::Entry value = map.at(name);
  if (!value) return std::nullopt;
  const std::string text = value.text("a text for " + name);
  if (!value.is_text()) return std::nullopt;
  return Written{name, value.place(), text, value.place(), false};
}

std::vector<std::vector<Written>> read_groups(const schema::Entry& list) {
  std::vector<std::vector<Written>> levels;
  for (const schema::Entry& member : list.members("a list of groups such as [all, [signals, corridor-7]]")) {
    std::vector<Written> level;
    if (member.is_nothing()) member.text("a group or a list of equal groups");
    for (const schema::Entry& group : member.members("a group or a list of equal groups")) {
      const std::string name = group.text("a group's name");
      if (group.is_text()) level.push_back({"groups", list.place(), name, group.place(), false});
    }
    if (!level.empty()) levels.push_back(std::move(level));
  }
  return levels;
}

UnitEntry read_unit(const schema::Entry& name, const schema::Entry& map) {
  UnitEntry unit;
  unit.name = name.text("a unit's name");
  unit.place = name.place();
  map.only(
      layer_keys({"address", "port", "model", "groups", "credential", "engine-id", "fingerprint", "site"}));
  unit.address = plain_at(map, "address");
  unit.port = plain_at(map, "port");
  unit.model = plain_at(map, "model");
  unit.credential = plain_at(map, "credential");
  unit.engine_id = plain_at(map, "engine-id");
  unit.fingerprint = plain_at(map, "fingerprint");
  unit.groups = read_groups(map.at("groups"));
  for (const auto& [key, value] : map.at("site").pairs("a map of site fields")) {
    if (value.is_nothing()) continue;
    if (auto field = read_plain(key, value)) unit.site.push_back(std::move(*field));
  }
  unit.layer = read_layer(map, "unit " + unit.name);
  return unit;
}

}  // namespace

void read_units_yaml(const schema::Entry& root, const TakeUnit& take) {
  if (!root.is_map() && !root.is_nothing()) {
    root.pairs("a map with units:");
    return;
  }
  root.only({"units"});
  for (const auto& [name, map] : root.need("units").pairs("a map of units")) {
    if (map.is_map() || map.is_nothing()) {
      take(read_unit(name, map));
    } else {
      map.pairs("a map with address:, model: and more");
    }
  }
}

}  // namespace vergeset::fleet
