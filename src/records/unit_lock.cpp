#include "records/unit_lock.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <optional>
#include <utility>

#include "smi/words.h"

namespace vergeset::records {

namespace {

constexpr mode_t for_all = 0666;
constexpr mode_t shared_folder = 01777;
constexpr std::size_t longest_name = 200;

/// A file's name of "HOST:PORT": letters, digits, dots, colons and dashes as they are.
std::string file_name(const std::string& where) {
  std::string name;
  for (const char c : smi::lower(where)) {
    const bool plain =
        (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '.' || c == ':' || c == '-' || c == '_';
    if (plain) {
      name += c;
    } else {
      name += fmt::format("%{:02x}", static_cast<unsigned char>(c));
    }
  }
  if (name.size() > longest_name) name.resize(longest_name);
  return name.empty() || name.front() == '.' ? "%" + name : name;
}

struct stat stat_of(int descriptor) {
  struct stat found {};
  if (::fstat(descriptor, &found) != 0) found = {};
  return found;
}

/// A lock that is held by name: not a file that its last holder has just removed.
bool still_named(int folder, const std::string& name, int descriptor) {
  struct stat named {};
  if (::fstatat(folder, name.c_str(), &named, AT_SYMLINK_NOFOLLOW) != 0) return false;
  const struct stat held = stat_of(descriptor);
  return named.st_dev == held.st_dev && named.st_ino == held.st_ino;
}

/// No more of it than a name takes: the file may be another user's.
std::string name_in(int descriptor) {
  std::array<char, 2048> room{};
  const ssize_t size = ::pread(descriptor, room.data(), room.size(), 0);
  return {room.data(), size > 0 ? static_cast<std::size_t>(size) : 0};
}

}  // namespace

/// The name goes while the lock is still held, so that nobody takes a lock that is about to lose its name
/// for one that holds. Another user's file, left by a process that died, cannot be removed, and is emptied.
UnitLock::~UnitLock() {
  if (!file_) return;
  if (::unlinkat(folder_, name_.c_str(), 0) == 0) return;
  [[maybe_unused]] const int emptied = ::ftruncate(file_.number(), 0);
}

Result<UnitLocks> UnitLocks::open_one(const std::string& path) {
  const bool made = ::mkdir(path.c_str(), shared_folder) == 0;
  Descriptor folder(::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC));
  if (!folder) {
    return Problem{
        fmt::format("{}: {}", path, errno == ELOOP || errno == ENOTDIR ? "no folder" : std::strerror(errno))};
  }
  // What mkdir made lacks what the umask takes away.
  if (made && ::fchmod(folder.number(), shared_folder) != 0)
    return Problem{fmt::format("{}: {}", path, std::strerror(errno))};
  const mode_t mode = stat_of(folder.number()).st_mode;
  if ((mode & (S_IWGRP | S_IWOTH)) != 0 && (mode & S_ISVTX) == 0)
    return Problem{fmt::format("{}: others may remove what stands there (chmod +t it)", path)};
  if (::faccessat(folder.number(), ".", W_OK | X_OK, 0) != 0)
    return Problem{fmt::format("{}: {}", path, std::strerror(errno))};
  return UnitLocks(path, std::move(folder));
}

Result<UnitLocks> UnitLocks::open(const std::vector<std::string>& folders) {
  std::string why;
  for (const std::string& path : folders) {
    auto locks = open_one(path);
    if (locks) return locks;
    why += (why.empty() ? "" : "; ") + locks.problem();
  }
  return Problem{fmt::format(
      "the locks of units, which keep two changes off one unit, have no folder ({}); name one that all who "
      "change these units can write, with VERGESET_LOCKS=DIR",
      why)};
}

Problem UnitLocks::cannot(const std::string& name, const std::string& why) const {
  return Problem{
      fmt::format("its lock {}/{} cannot be taken: {}; see who made it, and remove it", path_, name, why)};
}

/// An existing file is opened without O_CREAT, which fs.protected_regular refuses for files of others.
Result<Descriptor> UnitLocks::open_file(const std::string& name) const {
  constexpr int safely = O_RDWR | O_NOFOLLOW | O_CLOEXEC | O_NONBLOCK;
  Descriptor file(::openat(folder_.number(), name.c_str(), safely));
  if (!file && errno == ENOENT) {
    file = Descriptor(::openat(folder_.number(), name.c_str(), safely | O_CREAT | O_EXCL, for_all));
    if (!file && errno == EEXIST) return file;
    if (file) ::fchmod(file.number(), for_all);
  }
  if (!file && errno == ELOOP) return cannot(name, "it is a symbolic link");
  if (!file) return cannot(name, std::strerror(errno));
  const struct stat found = stat_of(file.number());
  if (!S_ISREG(found.st_mode)) return cannot(name, "it is no plain file");
  if (found.st_nlink > 1) return cannot(name, "it has another name too");
  return file;
}

Result<UnitLock> UnitLocks::take(const std::string& where, const Holder& holder) const {
  const std::string name = file_name(where);
  // Each time round, another process has removed the file between our calls.
  for (int tries = 0; tries < 100; ++tries) {
    auto opened = open_file(name);
    if (!opened) return Problem{opened.problem()};
    Descriptor file = *std::move(opened);
    if (!file) continue;
    if (::flock(file.number(), LOCK_EX | LOCK_NB) != 0) {
      if (errno != EWOULDBLOCK) return cannot(name, std::strerror(errno));
      if (!still_named(folder_.number(), name, file.number())) continue;
      return Problem{fmt::format("in the hands of {}; no SET was sent. Wait until that has ended, then go on",
                                 held_by(name_in(file.number())))};
    }
    if (!still_named(folder_.number(), name, file.number())) continue;
    write_name(file.number(), holder);
    return UnitLock(folder_.number(), name, std::move(file));
  }
  return cannot(name, "others take it and let go of it all the time");
}

std::vector<std::string> unit_lock_folders() {
  const char* const named = std::getenv("VERGESET_LOCKS");
  if (named != nullptr && *named != '\0') return {named};
  return {"/run/lock/vergeset", "/tmp/vergeset-locks"};
}

}  // namespace vergeset::records
