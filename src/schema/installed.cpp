#include "schema/installed.h"

#include <filesystem>

namespace vergeset::schema {

std::string models_folder(const ModelPlaces& places) {
  namespace fs = std::filesystem;
  std::error_code error;
  const fs::path program = fs::read_symlink("/proc/self/exe", error);
  if (!error) {
    const fs::path beside = (program.parent_path() / places.from_program).lexically_normal();
    if (fs::is_directory(beside, error)) return beside.string();
  }
  return fs::is_directory(places.installed, error) ? places.installed : places.source;
}

}  // namespace vergeset::schema
