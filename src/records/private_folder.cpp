#include "records/private_folder.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <cerrno>
#include <filesystem>

namespace vergeset::records {

namespace {

bool is_folder(const std::string& path) {
  struct stat found {};
  return ::stat(path.c_str(), &found) == 0 && S_ISDIR(found.st_mode);
}

}  // namespace

std::error_code make_private_folders(const std::string& path) {
  if (path.empty() || is_folder(path)) return {};
  const std::string above = std::filesystem::path(path).parent_path().string();
  if (above != path) {
    if (const std::error_code error = make_private_folders(above)) return error;
  }
  if (::mkdir(path.c_str(), private_folder) == 0) return {};
  const std::error_code error(errno, std::generic_category());
  // Another run may have made it meanwhile; "records/" was made as "records".
  return is_folder(path) ? std::error_code() : error;
}

std::string open_to_others(const std::string& folder) {
  struct stat found {};
  if (::stat(folder.c_str(), &found) != 0 || !S_ISDIR(found.st_mode)) return {};
  const mode_t others = found.st_mode & 077U;
  if (others == 0) return {};
  return fmt::format("{} is open to other users of this machine (mode {:04o}); close it with: chmod go= {}",
                     folder, found.st_mode & 07777U, folder);
}

}  // namespace vergeset::records
