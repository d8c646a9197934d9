#include "cli/load.h"

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "cli/print.h"
#include "report/fleet_text.h"

namespace vergeset::cli {

std::string schemas_folder() {
  if (const char* own = std::getenv("VERGESET_SCHEMAS_DIR"); own != nullptr && *own != '\0') return own;
  std::error_code error;
  return std::filesystem::is_directory(VERGESET_SCHEMAS, error) ? VERGESET_SCHEMAS : VERGESET_SOURCE_SCHEMAS;
}

std::optional<fleet::Fleet> load(const Common& common) {
  std::error_code error;
  if (!std::filesystem::exists(common.fleet + "/fleet.yaml", error)) {
    complain("no fleet.yaml in " + common.fleet + "; give the fleet's folder with --fleet DIR");
    return std::nullopt;
  }
  Faults faults;
  fleet::Fleet fleet = fleet::load_fleet(common.fleet, schemas_folder(), faults);
  if (!faults.any()) return fleet;
  print_aside(report::faults_text(faults));
  return std::nullopt;
}

Result<std::string> read_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) return Problem{"cannot read " + path + ": " + std::strerror(errno)};
  return std::string(std::istreambuf_iterator<char>(file), {});
}

}  // namespace vergeset::cli
