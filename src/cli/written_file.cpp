#include "cli/written_file.h"

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "records/disk.h"

namespace vergeset::cli {

namespace {

mode_t mode_of(const std::string& path, Readers readers) {
  struct stat found {};
  if (::stat(path.c_str(), &found) == 0) return found.st_mode & 0777;
  return readers == Readers::anybody ? 0644 : 0600;
}

}  // namespace

std::string write_file(const std::string& path, const std::string& text, Readers readers) {
  const std::filesystem::path whole(path);
  const std::string folder = whole.has_parent_path() ? whole.parent_path().string() : ".";
  const std::string name = whole.filename().string();
  std::error_code error;
  if (name.empty() || name == "." || name == ".." || std::filesystem::is_directory(whole, error))
    return fmt::format("{} is a folder and no file; say which file in it", path);
  if (!std::filesystem::is_directory(folder, error))
    return fmt::format("there is no folder {}; make it first", folder);
  const std::string part = fmt::format("{}.{}.new", name, ::getpid());
  const std::string part_path = folder + "/" + part;
  try {
    records::FolderDisk(folder).write_whole(part, text, records::Durable::contents);
  } catch (const records::DiskError& problem) {
    ::unlink(part_path.c_str());
    return problem.what();
  }
  if (::chmod(part_path.c_str(), mode_of(path, readers)) == 0 &&
      std::rename(part_path.c_str(), path.c_str()) == 0)
    return {};
  const int why = errno;
  ::unlink(part_path.c_str());
  return fmt::format("cannot write {}: {}", path, std::strerror(why));
}

}  // namespace vergeset::cli
