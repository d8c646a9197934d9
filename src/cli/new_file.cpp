#include "cli/new_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include "records/disk.h"

namespace vergeset::cli {

namespace fs = std::filesystem;

std::string write_new_file(const std::string& path, const std::string& text) {
  const fs::path whole(path);
  const std::string folder = whole.has_parent_path() ? whole.parent_path().string() : ".";
  const std::string name = whole.filename().string();
  if (name.empty() || name == "." || name == "..") return path + " is no name of a file";
  std::error_code error;
  if (!fs::is_directory(folder, error)) return fmt::format("there is no folder {}; make it first", folder);
  const std::string part = fmt::format("{}.{}.new", name, ::getpid());
  try {
    records::FolderDisk disk(folder);
    disk.write_whole(part, text, records::Durable::contents);
    // A hard link is refused where the name is taken, and a rename would replace what has it.
    const bool linked = ::link((folder + "/" + part).c_str(), path.c_str()) == 0;
    const int why = errno;
    ::unlink((folder + "/" + part).c_str());
    if (!linked && why == EEXIST) return path + " is there already and is never overwritten";
    if (!linked) return fmt::format("cannot write {}: {}", path, std::strerror(why));
    disk.sync_folder("");
  } catch (const records::DiskError& problem) {
    ::unlink((folder + "/" + part).c_str());
    return problem.what();
  }
  return {};
}

}  // namespace vergeset::cli
