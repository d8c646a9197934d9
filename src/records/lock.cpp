#include "records/lock.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <utility>

#include "records/private_folder.h"

namespace vergeset::records {

namespace fs = std::filesystem;

namespace {

constexpr const char* remedy = "give a folder that you can write with --records DIR";

std::string text_in(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

std::string cannot_write(const std::string& folder) {
  fs::path at = fs::path(folder).lexically_normal();
  std::error_code error;
  while (!at.empty() && !fs::exists(fs::symlink_status(at, error)) && at != at.parent_path()) {
    at = at.parent_path();
  }
  if (at.empty()) at = ".";
  if (!fs::is_directory(at, error)) return fmt::format("{} is no folder; {}", at.string(), remedy);
  if (::access(at.c_str(), W_OK | X_OK) == 0) return {};
  return fmt::format("records cannot be written in {}: {}; {}", at.string(), std::strerror(errno), remedy);
}

Result<Lock> Lock::take(const std::string& folder, const Holder& holder, const Busy& busy) {
  if (const std::string why = cannot_write(folder); !why.empty()) return Problem{why};
  const std::error_code error = make_private_folders(folder);
  if (error)
    return Problem{fmt::format("cannot make the folder {}: {}; {}", folder, error.message(), remedy)};
  const std::string path = folder + "/lock";
  Descriptor file(::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, private_file));
  if (!file) return Problem{fmt::format("cannot open {}: {}; {}", path, std::strerror(errno), remedy)};
  if (::flock(file.number(), LOCK_EX | LOCK_NB) == 0) {
    write_name(file.number(), holder);
    return Lock(std::move(file));
  }
  if (errno != EWOULDBLOCK) return Problem{fmt::format("cannot lock {}: {}", path, std::strerror(errno))};
  return Problem{fmt::format("{}: {}. {}", busy.what, held_by(text_in(path)), busy.next)};
}

}  // namespace vergeset::records
