#pragma once

#include <sys/mman.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "fleet/fleet_file.h"
#include "fleet/unit_entry.h"
#include "fleet/unit_maker.h"
#include "fuzz/fuzz.h"
#include "schema/model.h"
#include "schema/yaml.h"

namespace vergeset::fuzz {

/// A file in memory that has a path: the YAML reader opens files itself.
class MemoryFile {
 public:
  explicit MemoryFile(std::string_view text) : descriptor_(::memfd_create("input", MFD_CLOEXEC)) {
    const ssize_t written = ::write(descriptor_, text.data(), text.size());
    must(written == static_cast<ssize_t>(text.size()), "an input fits into memory");
  }
  ~MemoryFile() { ::close(descriptor_); }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;

  std::string path() const { return "/proc/self/fd/" + std::to_string(descriptor_); }

 private:
  int descriptor_;
};

/// What must hold of the faults of any file: each says where and why.
inline void must_tell(const Faults& faults) {
  for (const Fault& fault : faults.sorted()) {
    must(!fault.place.file.empty(), "a fault names its file");
    must(fault.place.line >= 0 && fault.place.column >= 0, "a fault has a place", fault.str());
    must_explain(fault.text);
  }
}

inline const std::string larkmoor_folder = SOURCE_DIR "/inventories/larkmoor";

inline std::string larkmoor_text(const std::string& file) {
  std::ifstream stream(larkmoor_folder + "/" + file, std::ios::binary);
  must(stream.is_open(), "the demo fleet is there", file);
  return {std::istreambuf_iterator<char>(stream), {}};
}

/// The models and common settings of schemas/, read once for the process.
inline std::unique_ptr<schema::Schema>& standards() {
  static std::unique_ptr<schema::Schema> read = [] {
    Faults faults;
    auto schema = std::make_unique<schema::Schema>(schema::load_schema(SOURCE_DIR "/schemas", "", faults));
    must(!faults.any(), "the schemas are without a fault");
    return schema;
  }();
  return read;
}

/// The groups of Larkmoor, read once.
inline const std::map<std::string, fleet::Layer>& larkmoor_groups() {
  static const std::map<std::string, fleet::Layer> groups = [] {
    std::map<std::string, fleet::Layer> read;
    Faults faults;
    for (const auto& entry : std::filesystem::directory_iterator(larkmoor_folder + "/groups")) {
      const std::string shown = "groups/" + entry.path().filename().string();
      const schema::YamlFile file(entry.path().string(), shown, faults);
      const std::string name = entry.path().stem().string();
      read.emplace(name, fleet::read_layer(file.root(), "group " + name));
    }
    must(!faults.any(), "Larkmoor's groups are without a fault");
    return read;
  }();
  return groups;
}

/// Larkmoor with some of its files replaced, read as load_fleet reads it; but the schemas, which take a
/// hundred times as long, are read once, and of the units there are two where the input brings none.
struct Larkmoor {
  std::optional<std::string> fleet_yaml = {};
  std::optional<std::string> group_yaml = {};  ///< of the group `signals`
  std::optional<std::string> units_yaml = {};
  std::optional<std::string> units_csv = {};

  fleet::Fleet load(Faults& faults) const {
    fleet::Fleet fleet;
    fleet.folder = larkmoor_folder;
    fleet.schema = std::move(standards());
    {
      const MemoryFile text(fleet_yaml ? *fleet_yaml : larkmoor_text("fleet.yaml"));
      const schema::YamlFile file(text.path(), "fleet.yaml", faults);
      const fleet::FleetFile head = fleet::read_fleet_file(file.root(), fleet);
      std::map<std::string, fleet::Layer> groups = larkmoor_groups();
      if (group_yaml) groups["signals"] = read_group(faults);
      for (const auto& [name, layer] : groups) fleet.groups.emplace(name, Place{"groups/" + name, 0, 0});
      fleet::UnitMaker maker(fleet, head, groups, faults);
      read_units(maker, faults);
      maker.finish();
    }
    return fleet;
  }

  /// The models go back to where the next fleet takes them from.
  static void give_back(fleet::Fleet& fleet) { standards() = std::move(fleet.schema); }

 private:
  fleet::Layer read_group(Faults& faults) const {
    const MemoryFile text(*group_yaml);
    const schema::YamlFile file(text.path(), "groups/signals.yaml", faults);
    const schema::Entry root = file.root();
    root.only(fleet::layer_keys());
    root.pairs("a map with settings:, tables:, traits:, only: or values:");
    return fleet::read_layer(root, "group signals");
  }

  void read_units(fleet::UnitMaker& maker, Faults& faults) const {
    const auto take = [&](const fleet::UnitEntry& entry) { maker.take(entry); };
    if (units_csv) {
      fleet::read_units_csv(*units_csv, "units.csv", faults, take);
      return;
    }
    const MemoryFile text(units_yaml ? *units_yaml : larkmoor_text("units.yaml"));
    const schema::YamlFile file(text.path(), "units.yaml", faults);
    fleet::read_units_yaml(file.root(), take);
  }
};

/// What must hold of the values that files ask for: the objects take them, and they read back the same.
inline void must_be_sound(const fleet::DesiredValue& value) {
  const smi::Syntax& syntax = value.object->syntax;
  must(!smi::violation(syntax, value.value), "a desired value is one that its object takes",
       value.object->name);
  const std::string words = smi::to_text(syntax, value.value);
  must(safe_to_show(words), "a desired value is safe to show", words);
  const auto again = smi::encode(syntax, words);
  must(again && smi::agree(syntax, value.value, *again), "a desired value reads back the same", words);
}

inline void must_be_sound(const fleet::Fleet& fleet) {
  for (const fleet::Unit& unit : fleet.units) {
    must(unit.model != nullptr, "a unit has a model", unit.name);
    for (const fleet::DesiredValue& value : unit.desired.values) must_be_sound(value);
    for (const fleet::DesiredTable& table : unit.desired.tables) {
      for (const fleet::DesiredRow& row : table.rows) {
        for (const fleet::DesiredValue& value : row.columns) must_be_sound(value);
      }
    }
  }
}

/// Larkmoor's own two units of units.yaml, one of each standard, for what reads their answers.
inline const fleet::Fleet& larkmoor() {
  static const fleet::Fleet fleet = [] {
    Faults faults;
    fleet::Fleet loaded = Larkmoor{}.load(faults);
    must(!faults.any() && loaded.units.size() == 2, "Larkmoor is without a fault");
    return loaded;
  }();
  return fleet;
}

}  // namespace vergeset::fuzz
