#include "cli/kept.h"

#include <fmt/format.h>

#include <filesystem>

#include "smi/words.h"

namespace vergeset::cli {

namespace {

constexpr const char* remedy = "put it back from a copy";

std::string record_path(const std::string& name) {
  return "changes/" + name + "/change.yaml";
}

/// What is wrong with a change's record; empty where it is not there or can be read.
std::string damage(const records::FolderDisk& disk, const std::string& name) {
  const auto text = disk.read(record_path(name));
  if (!text) return {};
  const auto change = records::change_from_yaml(*text);
  if (change) return {};
  return fmt::format("{}: {}; {}", shown(disk, record_path(name)), change.problem(), remedy);
}

}  // namespace

std::string no_records(const Common& common) {
  const std::string folder = common.records_folder();
  std::error_code error;
  if (std::filesystem::is_directory(folder, error)) return {};
  if (std::filesystem::exists(folder, error)) {
    return folder + " is no folder; give the folder of the records with --records DIR";
  }
  return common.records.empty() ? "" : "there is no folder " + folder + "; give another with --records DIR";
}

std::string shown(const records::FolderDisk& disk, const std::string& path) {
  return disk.root() + "/" + path;
}

Result<records::ChangeRecord> change_numbered(const records::FolderDisk& disk, const std::string& number) {
  const auto whole = smi::whole_number(number);
  if (whole && *whole > 0 && *whole < 1000000000) {
    auto change = records::find_change(disk, static_cast<int>(*whole));
    if (change) return *std::move(change);
    const std::string damaged = damage(disk, records::change_name(static_cast<int>(*whole)));
    if (!damaged.empty()) return Problem{damaged};
  }
  return Problem{fmt::format("no change {} in {}; `vergeset changes` lists them", number, disk.root())};
}

std::vector<std::string> damaged_changes(const records::FolderDisk& disk) {
  std::vector<std::string> told;
  for (const std::string& name : disk.list("changes")) {
    std::string damaged = damage(disk, name);
    if (!damaged.empty()) told.push_back(std::move(damaged));
  }
  return told;
}

}  // namespace vergeset::cli
