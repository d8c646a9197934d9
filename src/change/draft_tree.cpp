#include "change/draft_tree.h"

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "change/compare.h"
#include "change/draft_inventory.h"

namespace vergeset::change {

namespace {

namespace fs = std::filesystem;

/// A folder beside the one that is to be made, gone again unless it is kept.
class Beside {
 public:
  explicit Beside(const fs::path& out) {
    const fs::path parent = out.has_parent_path() ? out.parent_path() : fs::path(".");
    std::string name = (parent / fmt::format(".{}-XXXXXX", out.filename().string())).string();
    if (::mkdtemp(name.data()) == nullptr)
      throw fs::filesystem_error("cannot make a folder", parent,
                                 std::error_code(errno, std::generic_category()));
    path_ = name;
    // As any folder that is made: what mkdtemp makes is for its owner alone.
    const mode_t mask = ::umask(0);
    ::umask(mask);
    fs::permissions(path_, static_cast<fs::perms>(0777U & ~mask));
  }
  ~Beside() { clear(); }
  Beside(const Beside&) = delete;
  Beside& operator=(const Beside&) = delete;

  const fs::path& path() const { return path_; }
  void become(const fs::path& out) {
    fs::rename(path_, out);
    path_.clear();
  }

 private:
  void clear() {
    std::error_code error;
    if (!path_.empty()) fs::remove_all(path_, error);
  }
  fs::path path_;
};

void write(const fs::path& folder, const std::string& file, const std::string& text) {
  const fs::path path = folder / file;
  fs::create_directories(path.parent_path());
  std::ofstream stream(path, std::ios::binary | std::ios::trunc);
  stream << text;
  stream.close();
  if (!stream)
    throw fs::filesystem_error("cannot write", path, std::error_code(errno, std::generic_category()));
}

std::string hex_text(const std::string& octets) {
  constexpr std::size_t in_a_line = 40;
  const std::string hex = smi::to_hex(octets);
  std::string text;
  for (std::size_t at = 0; at < hex.size(); at += 2 * in_a_line) text += hex.substr(at, 2 * in_a_line) + "\n";
  return text;
}

std::string group_text(const std::string& group, const std::string& name, std::size_t units,
                       const DraftedLayer& layer) {
  const std::string what = name == group ? "What units had in common as they were found"
                                         : "Rows that some units had as they were found";
  return fmt::format("# {} ({} unit{}).\n\n{}", what, units, units == 1 ? "" : "s", to_yaml(layer, 0));
}

std::size_t lines_in(const std::string& text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

/// Secrets stay where they are, and so do certificates.
std::vector<std::string> staying_files(const fleet::Fleet& fleet) {
  std::vector<std::string> files;
  const auto add = [&](const std::string& file) {
    const bool known = std::find(files.begin(), files.end(), file) != files.end();
    if (!file.empty() && fs::path(file).is_relative() && !known) files.push_back(file);
  };
  const auto add_source = [&](const fleet::SecretSource& source) {
    if (source.kind == fleet::SecretSource::Kind::file) add(source.where);
  };
  if (fleet.key_store) add(fleet.key_store->file);
  for (const auto& [name, credential] : fleet.credentials) {
    add_source(credential.auth_secret);
    add_source(credential.privacy_secret);
    add_source(credential.community);
    add_source(credential.certificate.key);
    add(credential.certificate.file);
    add(credential.certificate.trust);
  }
  return files;
}

/// "as-found" and "as-found-map" are names of a draft that is called as-found.
bool taken_by(const std::string& existing, const std::string& group) {
  return existing == group || existing.rfind(group + "-", 0) == 0;
}

bool stands(const fs::path& path) {
  std::error_code error;
  return fs::exists(fs::symlink_status(path, error));
}

std::string there_already(const DraftPlan& plan) {
  return plan.out + " is there already; name a folder that is not, nothing is written over";
}

/// What a unit is asked for, in one text.
std::string asked_of(const fleet::Unit& unit) {
  std::string text = fmt::format("{}:{} {}\n", unit.host, unit.port, unit.model->name);
  const auto add = [&](const std::string& name, const fleet::DesiredValue& value) {
    text += fmt::format("{} {} {}\n", name, value.object->name, smi::exact_text(value.value));
  };
  for (const fleet::DesiredValue& value : unit.desired.values) add("", value);
  for (const fleet::DesiredTable& table : unit.desired.tables) {
    text += fmt::format("{} {}\n", table.name, static_cast<int>(table.others));
    for (const fleet::DesiredRow& row : table.rows) {
      text += fmt::format("{} {} {} {}\n", table.name, row.label, row.index.value_or(0), row.present);
      for (const fleet::DesiredValue& value : row.columns) add(row.label, value);
    }
  }
  return text;
}

class Drawing {
 public:
  Drawing(const fleet::Fleet& fleet, std::vector<ToDescribe> units, const DraftPlan& plan)
      : fleet_(fleet), units_(std::move(units)), plan_(plan), inventory_(read_inventory(fleet.folder)) {}

  Result<DraftedTree> take() {
    if (const std::string why = cannot_draft(fleet_, plan_); !why.empty()) return Problem{why};
    out_.staying = staying_files(fleet_);
    // Each round leaves out units that the one before could not describe.
    while (!units_.empty()) {
      const std::size_t before = units_.size();
      Beside folder(plan_.out);
      auto problem = round(folder.path());
      if (!problem.empty()) return Problem{problem};
      if (units_.size() == before) {
        if (stands(plan_.out)) return Problem{there_already(plan_)};
        folder.become(plan_.out);
        return std::move(out_);
      }
    }
    return std::move(out_);
  }

 private:
  /// What stands in the fleet's folder, but for its inventory.
  void copy_files(const fs::path& folder) const {
    for (const std::string& file : fleet_.files) {
      if (file == "units.yaml" || file == "units.csv") continue;
      fs::create_directories((folder / file).parent_path());
      fs::copy_file(fs::path(fleet_.folder) / file, folder / file, fs::copy_options::overwrite_existing);
    }
  }

  std::string write_inventory(const fs::path& folder, const std::map<std::string, NewEntry>& entries) {
    const auto made = with_entries(inventory_, entries);
    if (!made) return made.problem();
    if (!made->yaml.empty()) write(folder, "units.yaml", made->yaml);
    if (!made->csv.empty()) write(folder, "units.csv", made->csv);
    out_.gone.clear();
    if (!inventory_.csv.empty() && made->csv.empty()) out_.gone.emplace_back("units.csv");
    return {};
  }

  Result<fleet::Fleet> loaded(const fs::path& folder, const std::string& of) const {
    Faults faults;
    fleet::Fleet fleet = fleet::load_fleet(folder.string(), plan_.schemas, faults);
    if (!faults.any()) return fleet;
    constexpr std::size_t told = 5;
    const auto all = faults.sorted();
    std::string text = fmt::format("{} cannot be loaded; nothing is written", of);
    for (std::size_t i = 0; i < std::min(told, all.size()); ++i) text += "\n  " + all[i].str();
    return Problem{text};
  }

  /// Draws the tree in `folder`; takes out of units_ what cannot be described. A problem, or nothing.
  std::string round(const fs::path& folder) {
    copy_files(folder);
    const fs::path base_folder = folder / ".base";
    copy_files(base_folder);
    std::map<std::string, NewEntry> entries;
    for (const ToDescribe& one : units_) entries[one.unit->name];
    if (auto problem = write_inventory(base_folder, entries); !problem.empty()) return problem;
    const auto base = loaded(base_folder, "the fleet without the settings of its units' own entries");
    if (!base) return base.problem();
    std::vector<ToDescribe> bare;
    for (const ToDescribe& one : units_) bare.push_back({base->unit(one.unit->name), one.found, one.part});
    out_.draft = draft(*base->schema, bare, plan_.group);
    fs::remove_all(base_folder);
    return finish(folder, std::move(entries));
  }

  std::string finish(const fs::path& folder, std::map<std::string, NewEntry> entries) {
    write_draft(folder, entries);
    if (auto problem = write_inventory(folder, entries); !problem.empty()) return problem;
    const auto drawn = loaded(folder, "what was drafted");
    if (!drawn) return drawn.problem();
    if (auto problem = others_changed(*drawn, entries); !problem.empty()) return problem;
    std::vector<ToDescribe> agreeing;
    out_.described.clear();
    for (const ToDescribe& one : units_) {
      Comparison left = compare(*drawn->unit(one.unit->name), *one.found);
      if (left.agrees()) {
        agreeing.push_back(one);
        out_.described.push_back(one.unit->name);
      } else {
        out_.not_described.push_back({one.unit->name, std::move(left)});
      }
    }
    units_ = std::move(agreeing);
    return {};
  }

  void write_draft(const fs::path& folder, std::map<std::string, NewEntry>& entries) {
    out_.files.clear();
    out_.lines = 0;
    const auto add = [&](const std::string& file, const std::string& text) {
      write(folder, file, text);
      out_.files.push_back(file);
    };
    const Draft& draft = out_.draft;
    std::map<std::string, std::size_t> members;
    for (std::size_t i = 0; i < units_.size(); ++i) {
      const Draft::OfUnit& of = draft.units[i];
      entries[units_[i].unit->name] = {of.layer, of.groups};
      for (const std::string& group : of.groups) ++members[group];
      out_.lines += lines_in(to_yaml(of.layer, 4));
    }
    for (const auto& [name, layer] : draft.groups) {
      out_.lines += lines_in(to_yaml(layer, 0));
      add(fmt::format("groups/{}.yaml", name), group_text(plan_.group, name, members[name], layer));
    }
    for (const auto& [path, octets] : draft.files) add(path, hex_text(octets));
    out_.files.emplace_back("units.yaml");
  }

  /// Nothing is to become of units that were not described.
  std::string others_changed(const fleet::Fleet& drawn,
                             const std::map<std::string, NewEntry>& entries) const {
    for (const fleet::Unit& unit : fleet_.units) {
      const fleet::Unit* const now = drawn.unit(unit.name);
      const bool drafted = entries.contains(unit.name);
      if (now != nullptr && (drafted || asked_of(*now) == asked_of(unit))) continue;
      return fmt::format(
          "{} would be asked for something else than now; nothing is written. Its entry at {} "
          "seems to rest on another's",
          unit.name, unit.place.str());
    }
    return {};
  }

  const fleet::Fleet& fleet_;
  std::vector<ToDescribe> units_;
  const DraftPlan& plan_;
  Inventory inventory_;
  DraftedTree out_;
};

}  // namespace

std::string cannot_draft(const fleet::Fleet& fleet, const DraftPlan& plan) {
  if (stands(plan.out)) return there_already(plan);
  const fs::path parent = fs::path(plan.out).parent_path();
  std::error_code error;
  if (!parent.empty() && !fs::is_directory(parent, error))
    return fmt::format("{} is no folder; make it first", parent.string());
  for (const auto& [name, place] : fleet.groups) {
    if (taken_by(name, plan.group))
      return fmt::format("the fleet has a group {} ({}); choose another name with --as", name, place.str());
  }
  const std::string payloads = "payloads/" + plan.group;
  if (stands(fs::path(fleet.folder) / payloads))
    return fmt::format("the fleet has {} already; choose another name with --as", payloads);
  return {};
}

Result<DraftedTree> draft_tree(const fleet::Fleet& fleet, std::vector<ToDescribe> units,
                               const DraftPlan& plan) {
  try {
    return Drawing(fleet, std::move(units), plan).take();
  } catch (const fs::filesystem_error& error) {
    return Problem{fmt::format("{}: {}; nothing is written", error.path1().string(), error.code().message())};
  }
}

}  // namespace vergeset::change
