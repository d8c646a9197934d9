#pragma once

#include <cstdlib>
#include <filesystem>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

#include "catch.h"
#include "fleet/fleet.h"
#include "support/fleet_folder.h"

namespace vergeset::fleet {

using Files = std::map<std::string, std::string>;

inline const std::string schemas = SOURCE_DIR "/schemas";

/// The least fleet.yaml without a fault; tests add to its end.
inline const std::string least_fleet =
    "fleet: Larkmoor district\n"
    "credentials:\n"
    "  larkmoor: {user: vergeset, auth-secret: {env: A}, privacy-secret: {env: P}}\n";

/// Two units, one of each standard.
inline const std::string two_units =
    "units:\n"
    "  LK-101: {address: 127.0.101.1, model: ntcip1218-v01}\n"
    "  LK-102: {address: 127.0.102.1, model: rsu-4.1}\n";

/// A fleet that the loader takes stays in the folder that VERGESET_KEEP_FLEETS names, with its models:
/// tests/json holds the JSON Schemas against it.
inline void keep_taken(const std::string& fleet, const std::string& models) {
  namespace fs = std::filesystem;
  const char* kept = std::getenv("VERGESET_KEEP_FLEETS");
  if (kept == nullptr) return;
  static int number = 0;
  const fs::path folder = fs::path(kept) / std::to_string(++number);
  fs::create_directories(folder);
  fs::copy(fleet, folder / "fleet", fs::copy_options::recursive);
  if (models == schemas) {
    fs::create_directory_symlink(models, folder / "schemas");
  } else {
    fs::copy(models, folder / "schemas");
  }
}

/// A fleet on disk as long as the test lives, and what came of reading it.
struct Tree {
  test::FleetFolder folder;
  Faults faults;
  Fleet fleet;

  explicit Tree(const Files& files, const std::string& models = schemas)
      : folder(files), fleet(load_fleet(folder.path(), models, faults)) {
    if (!faults.any()) keep_taken(folder.path(), models);
  }

  std::string report() const {
    std::string text;
    for (const Fault& fault : faults.sorted()) text += fault.str() + "\n";
    return text;
  }

  const Unit& unit(const std::string& name) const {
    const Unit* const found = fleet.unit(name);
    if (found == nullptr) throw std::runtime_error("no unit " + name + "\n" + report());
    return *found;
  }
  /// The desired value of an object, by the standard's name.
  const DesiredValue* value(const std::string& unit_name, const std::string& object) const {
    for (const DesiredValue& value : unit(unit_name).desired.values) {
      if (value.object->name == object) return &value;
    }
    return nullptr;
  }
  const DesiredTable& table(const std::string& unit_name, const std::string& name) const {
    for (const DesiredTable& table : unit(unit_name).desired.tables) {
      if (table.name == name) return table;
    }
    throw std::runtime_error("no table " + name + "\n" + report());
  }
  const DesiredRow& row(const std::string& unit_name, const std::string& table_name,
                        const std::string& label) const {
    for (const DesiredRow& row : table(unit_name, table_name).rows) {
      if (row.label == label) return row;
    }
    throw std::runtime_error("no row " + label + "\n" + report());
  }
};

/// The desired value of a column, by the standard's name.
inline const DesiredValue* column(const DesiredRow& row, const std::string& object) {
  for (const DesiredValue& value : row.columns) {
    if (value.object->name == object) return &value;
  }
  return nullptr;
}

/// A text in which @@ marks where a fault is expected.
struct Marked {
  std::string text;
  Place place;

  Marked(const std::string& file, std::string marked) : text(std::move(marked)) {
    const std::size_t at = text.find("@@");
    if (at == std::string::npos) throw std::runtime_error("no @@ in the text of the test");
    text.erase(at, 2);
    place = {file, 1, 1};
    for (std::size_t i = 0; i < at; ++i) {
      place.column = text[i] == '\n' ? 1 : place.column + 1;
      if (text[i] == '\n') ++place.line;
    }
  }
};

/// A file with one fault in it, where it stands, and what its message must say.
struct Wrong {
  std::string marked;
  std::vector<std::string> words;
};

inline bool says(const std::string& text, const std::vector<std::string>& words) {
  for (const std::string& word : words) {
    if (text.find(word) == std::string::npos) return false;
  }
  return true;
}

/// Loads the tree with `file` replaced by the marked text: this one fault, there, and no other.
inline void check_wrong(Files files, const std::string& file, const Wrong& wrong) {
  const Marked marked(file, wrong.marked);
  files[file] = marked.text;
  const Tree tree(files);
  INFO(marked.text << "--\nexpected at " << marked.place.str() << "\n" << tree.report());
  const std::vector<Fault> faults = tree.faults.sorted();
  REQUIRE(faults.size() == 1);
  CHECK(faults[0].place.str() == marked.place.str());
  for (const std::string& word : wrong.words) CHECK(says(faults[0].text, {word}));
}

}  // namespace vergeset::fleet
