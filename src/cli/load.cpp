#include "cli/load.h"

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <sstream>

#include "cli/print.h"
#include "fleet/secret_source.h"
#include "report/fleet_text.h"
#include "schema/installed.h"

namespace vergeset::cli {

namespace {

constexpr const char* units_are_listed = "; `vergeset units` lists them";

}  // namespace

std::string schemas_folder() {
  if (const char* own = std::getenv("VERGESET_SCHEMAS_DIR"); own != nullptr && *own != '\0') return own;
  return schema::models_folder({VERGESET_SCHEMAS_BESIDE, VERGESET_SCHEMAS, VERGESET_SOURCE_SCHEMAS});
}

bool is_fleet(const Common& common) {
  std::error_code error;
  if (std::filesystem::exists(common.fleet + "/fleet.yaml", error)) return true;
  complain("no fleet.yaml in " + common.fleet + "; give the fleet's folder with --fleet DIR");
  return false;
}

std::optional<fleet::Fleet> load(const Common& common) {
  if (!is_fleet(common)) return std::nullopt;
  Faults faults;
  fleet::Fleet fleet = fleet::load_fleet(common.fleet, schemas_folder(), faults);
  if (!faults.any()) {
    fleet::hold_secret_variables(fleet);
    return fleet;
  }
  print_aside(report::faults_text(faults));
  return std::nullopt;
}

Result<std::vector<const fleet::Unit*>> chosen(const fleet::Fleet& fleet, const fleet::Choice& choice) {
  if (fleet.units.empty()) return Problem{"this fleet has no units; add one to units.yaml or units.csv"};
  auto units = fleet::choose(fleet, choice);
  if (units) return units;
  std::string told;
  std::istringstream lines(units.problem());
  for (std::string line; std::getline(lines, line);) {
    const bool bare = line.rfind("no unit is called ", 0) == 0 && line.back() != '?';
    told += (told.empty() ? "" : "\n") + line + (bare ? units_are_listed : "");
  }
  return Problem{told};
}

Result<std::string> read_file(const std::string& path) {
  std::error_code error;
  if (std::filesystem::is_directory(path, error)) return Problem{path + " is a folder; name a file"};
  std::ifstream file(path, std::ios::binary);
  if (!file) return Problem{"cannot read " + path + ": " + std::strerror(errno)};
  return std::string(std::istreambuf_iterator<char>(file), {});
}

}  // namespace vergeset::cli
