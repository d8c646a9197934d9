#include <algorithm>
#include <filesystem>
#include <set>

#include "fleet/fleet_file.h"
#include "fleet/names.h"
#include "fleet/resolve.h"
#include "fleet/unit_entry.h"
#include "schema/text_file.h"

namespace vergeset::fleet {

namespace fs = std::filesystem;

namespace {

/// Everything of a tree, read but not yet resolved.
struct Tree {
  FleetFile file;
  std::map<std::string, Layer> groups;
  std::vector<UnitEntry> entries;
  std::set<std::string> files;
};

/// Whether something stands under a name, if only a link that leads nowhere: that is a fault, not a
/// fleet without the file.
bool stands(const fs::path& path) {
  std::error_code error;
  return fs::exists(fs::symlink_status(path, error));
}

void tell_passed_over(const std::string& shown, Faults& faults) {
  faults.add({shown, 0, 0}, "is passed over; let its name end in .yaml");
}

/// The *.yaml of a folder of the fleet, by name; none where there is no such folder. One that ends
/// otherwise is told, for it would be passed over; hidden ones are an editor's or file manager's.
std::vector<std::string> yaml_files(const std::string& folder, const std::string& part, Faults& faults) {
  std::vector<std::string> names;
  const fs::path whole = folder + "/" + part;
  if (!stands(whole)) return names;
  std::error_code error;
  for (fs::directory_iterator at(whole, error); !error && at != fs::directory_iterator();
       at.increment(error)) {
    const std::string name = at->path().filename().string();
    const std::string ending = at->path().extension().string();
    if (name.front() == '.') continue;
    if (ending == ".yaml") names.push_back(name);
    if (ending == ".yml") tell_passed_over(part + "/" + name, faults);
  }
  if (error) faults.add({part, 0, 0}, "is no folder that can be read: " + error.message());
  std::sort(names.begin(), names.end());
  return names;
}

/// The folder of the fleet's own model files; empty where it has none.
std::string own_models(const std::string& folder, Tree& tree, Faults& faults) {
  const auto names = yaml_files(folder, "models", faults);
  for (const std::string& name : names) tree.files.insert("models/" + name);
  return names.empty() ? "" : folder + "/models";
}

void read_groups(const std::string& folder, Fleet& fleet, Tree& tree, Faults& faults) {
  for (const std::string& name : yaml_files(folder, "groups", faults)) {
    const std::string shown = "groups/" + name;
    const std::string group = name.substr(0, name.size() - std::string_view(".yaml").size());
    tree.files.insert(shown);
    fleet.groups.emplace(group, Place{shown, 0, 0});
    if (!plain_name(group)) {
      faults.add({shown, 0, 0}, "a group's name has letters, digits, - _ and .; found " + group);
    }
    const schema::YamlFile file(folder + "/" + shown, shown, faults);
    const schema::Entry root = file.root();
    root.only(layer_keys());
    root.pairs("a map with settings:, tables:, traits:, only: or values:");
    tree.groups.emplace(group, read_layer(root, "group " + group));
  }
}

void read_units(const std::string& folder, Tree& tree, Faults& faults) {
  const bool yaml = stands(folder + "/units.yaml");
  const bool csv = stands(folder + "/units.csv");
  if (stands(folder + "/units.yml")) {
    tell_passed_over("units.yml", faults);
  } else if (!yaml && !csv) {
    faults.add({"fleet.yaml", 0, 0}, "this fleet has no units: write units.yaml or units.csv beside it");
  }
  if (yaml) {
    tree.files.insert("units.yaml");
    const schema::YamlFile file(folder + "/units.yaml", "units.yaml", faults);
    tree.entries = read_units_yaml(file.root());
  }
  if (!csv) return;
  tree.files.insert("units.csv");
  const auto text = read_text_file(folder + "/units.csv");
  if (!text) {
    faults.add({"units.csv", 0, 0}, text.problem());
    return;
  }
  auto entries = read_units_csv(*text, "units.csv", faults);
  std::move(entries.begin(), entries.end(), std::back_inserter(tree.entries));
}

/// By name; a second entry of a name is a fault and is not used.
void sort_entries(std::vector<UnitEntry>& entries, Faults& faults) {
  std::stable_sort(entries.begin(), entries.end(),
                   [](const UnitEntry& a, const UnitEntry& b) { return a.name < b.name; });
  for (std::size_t i = 1; i < entries.size(); ++i) {
    if (entries[i].name != entries[i - 1].name) continue;
    faults.add(entries[i].place,
               "unit " + entries[i].name + " is here a second time, after " + entries[i - 1].place.str());
  }
  const auto same = [](const UnitEntry& a, const UnitEntry& b) { return a.name == b.name; };
  entries.erase(std::unique(entries.begin(), entries.end(), same), entries.end());
}

/// What tells a unit from all others, and the entry that has it.
struct Taken {
  std::map<std::pair<std::string, std::uint16_t>, const UnitEntry*> addresses;
  std::map<std::string, const UnitEntry*> engine_ids;
};

/// Two units behind one address, or of one engine id: one of them would be set as the other.
void check_alone(const Unit& unit, const UnitEntry& entry, Taken& taken, Faults& faults) {
  const auto check = [&](const UnitEntry& first, const Place& place, const std::string& what) {
    if (&first == &entry) return;
    faults.add(place, "unit " + unit.name + " has the same " + what + " as unit " + first.name + " at " +
                          first.place.str());
  };
  if (!unit.host.empty()) {
    const auto first = taken.addresses.try_emplace({unit.host, unit.port}, &entry).first;
    check(*first->second, entry.address->place, "address and port");
  }
  if (!unit.engine_id.empty()) {
    const auto first = taken.engine_ids.try_emplace(unit.engine_id, &entry).first;
    check(*first->second, entry.engine_id->place, "engine id");
  }
}

void make_units(Fleet& fleet, const Tree& tree, Payloads& payloads, Faults& faults) {
  const Names names(*fleet.schema);
  check_names(tree.file.layer, names, faults);
  for (const auto& [group, layer] : tree.groups) check_names(layer, names, faults);
  for (const UnitEntry& entry : tree.entries) check_names(entry.layer, names, faults);
  UnitFaults unit_faults;
  Taken taken;
  for (const UnitEntry& entry : tree.entries) {
    auto unit = make_unit(entry, fleet, tree.file, faults);
    if (!unit) continue;
    check_alone(*unit, entry, taken, faults);
    const Reading reading{*unit, *fleet.schema, names, payloads, unit_faults};
    const auto layers = ranked({&tree.file.layer, &tree.groups, &entry.layer}, *unit);
    unit->values = settle_values(reading, layers);
    unit->desired = resolve(reading, layers);
    fleet.units.push_back(std::move(*unit));
  }
  unit_faults.report(faults);
}

}  // namespace

Fleet load_fleet(const std::string& folder, const std::string& schemas, Faults& faults) {
  Fleet fleet;
  fleet.folder = folder;
  if (!stands(folder + "/fleet.yaml")) {
    fleet.schema = std::make_unique<schema::Schema>();
    faults.add({"fleet.yaml", 0, 0}, folder + " is no fleet: it has no fleet.yaml");
    return fleet;
  }
  Tree tree;
  const std::string own = own_models(folder, tree, faults);
  fleet.schema = std::make_unique<schema::Schema>(schema::load_schema(schemas, own, faults));
  tree.files.insert("fleet.yaml");
  const schema::YamlFile file(folder + "/fleet.yaml", "fleet.yaml", faults);
  tree.file = read_fleet_file(file.root(), fleet);
  read_groups(folder, fleet, tree, faults);
  read_units(folder, tree, faults);
  sort_entries(tree.entries, faults);
  Payloads payloads(folder, faults);
  make_units(fleet, tree, payloads, faults);
  tree.files.insert(payloads.files().begin(), payloads.files().end());
  fleet.files.assign(tree.files.begin(), tree.files.end());
  return fleet;
}

}  // namespace vergeset::fleet
