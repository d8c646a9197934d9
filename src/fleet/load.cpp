#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "fleet/fleet_file.h"
#include "fleet/names.h"
#include "fleet/unit_entry.h"
#include "fleet/unit_maker.h"
#include "schema/text_file.h"

namespace vergeset::fleet {

namespace fs = std::filesystem;

namespace {

/// What stands above the units, and every file that was read.
struct Tree {
  FleetFile file;
  std::map<std::string, Layer> groups;
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
    if (ending == ".yml") tell_passed_over(fmt::format("{}/{}", part, name), faults);
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
    const schema::YamlFile file(fmt::format("{}/{}", folder, shown), shown, faults);
    const schema::Entry root = file.root();
    root.only(layer_keys());
    root.pairs("a map with settings:, tables:, traits:, only: or values:");
    tree.groups.emplace(group, read_layer(root, "group " + group));
  }
}

/// `own_csv`, where there is one, stands in the place of units.csv.
void read_units(const std::string& folder, const std::string* own_csv, Tree& tree, UnitMaker& maker,
                Faults& faults) {
  const auto take = [&](const UnitEntry& entry) { maker.take(entry); };
  const bool yaml = stands(folder + "/units.yaml");
  const bool csv = own_csv != nullptr || stands(folder + "/units.csv");
  if (stands(folder + "/units.yml")) {
    tell_passed_over("units.yml", faults);
  } else if (!yaml && !csv) {
    faults.add({"fleet.yaml", 0, 0}, "this fleet has no units: write units.yaml or units.csv beside it");
  }
  if (yaml) {
    tree.files.insert("units.yaml");
    const schema::YamlFile file(folder + "/units.yaml", "units.yaml", faults);
    read_units_yaml(file.root(), take);
  }
  if (!csv) return;
  tree.files.insert("units.csv");
  const auto text = own_csv != nullptr ? Result(*own_csv) : read_text_file(folder + "/units.csv");
  if (!text) {
    faults.add({"units.csv", 0, 0}, text.problem());
    return;
  }
  read_units_csv(*text, "units.csv", faults, take);
}

Fleet load(const std::string& folder, const std::string& schemas, const std::string* own_csv,
           Faults& faults) {
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
  UnitMaker maker(fleet, tree.file, tree.groups, faults);
  read_units(folder, own_csv, tree, maker, faults);
  maker.finish();
  const std::set<std::string>& payloads = maker.payload_files();
  tree.files.insert(payloads.begin(), payloads.end());
  fleet.files.assign(tree.files.begin(), tree.files.end());
  return fleet;
}

}  // namespace

Fleet load_fleet(const std::string& folder, const std::string& schemas, Faults& faults) {
  return load(folder, schemas, nullptr, faults);
}

Fleet load_fleet_with(const std::string& folder, const std::string& schemas, const std::string& units_csv,
                      Faults& faults) {
  return load(folder, schemas, &units_csv, faults);
}

}  // namespace vergeset::fleet
