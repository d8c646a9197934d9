#include "records/disk.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <utility>

#include "records/private_folder.h"

namespace vergeset::records {

namespace {

[[noreturn]] void fail(const std::string& what, const std::string& path) {
  throw DiskError(fmt::format("cannot {} {}: {}", what, path, std::strerror(errno)));
}

/// A file descriptor that closes itself.
class File {
 public:
  File(const std::string& path, int flags)
      : path_(path), descriptor_(::open(path.c_str(), flags, private_file)) {
    if (descriptor_ < 0) fail("open", path);
  }
  /// Nothing where there is no such file.
  static std::optional<File> open_if_there(const std::string& path, int flags) {
    const int descriptor = ::open(path.c_str(), flags);
    if (descriptor >= 0) return File(path, Opened{descriptor});
    if (errno == ENOENT) return std::nullopt;
    fail("open", path);
  }
  ~File() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  File(File&& other) noexcept
      : path_(std::move(other.path_)), descriptor_(std::exchange(other.descriptor_, -1)) {}
  File& operator=(File&&) = delete;

  void write(std::string_view octets) {
    while (!octets.empty()) {
      const ssize_t count = ::write(descriptor_, octets.data(), octets.size());
      if (count < 0 && errno == EINTR) continue;
      if (count < 0) fail("write", path_);
      octets.remove_prefix(static_cast<std::size_t>(count));
    }
  }
  void sync() {
    if (::fsync(descriptor_) != 0) fail("sync", path_);
  }
  /// flock(2), by which FolderDisk::rewrite keeps off those who append. False where another has it.
  bool lock(int how) {
    while (::flock(descriptor_, how) != 0) {
      if (errno == EWOULDBLOCK) return false;
      if (errno != EINTR) fail("lock", path_);
    }
    return true;
  }
  /// Whether it has lost its name to another since it was opened.
  bool replaced() const {
    struct stat found {};
    if (::fstat(descriptor_, &found) != 0) fail("look at", path_);
    return found.st_nlink == 0;
  }
  void sync_file_system() {
    if (::syncfs(descriptor_) != 0) fail("sync", path_);
  }

 private:
  struct Opened {
    int descriptor;
  };
  File(std::string path, Opened opened) : path_(std::move(path)), descriptor_(opened.descriptor) {}

  std::string path_;
  int descriptor_;
};

std::string folder_of(const std::string& path) {
  return std::filesystem::path(path).parent_path().string();
}

void make_parents(const std::string& path) {
  const std::error_code error = make_private_folders(folder_of(path));
  if (error) throw DiskError(fmt::format("cannot make the folder {}: {}", folder_of(path), error.message()));
}

/// A new name in a folder is on disk only when the folder is.
void sync_names(const std::string& folder) {
  File(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC).sync();
}

}  // namespace

bool FolderDisk::make_folder(const std::string& path) {
  const bool first = ::access(folder_of(full(path)).c_str(), F_OK) != 0;
  make_parents(full(path));
  if (first) {
    // The first of its kind, and perhaps the first record of all: its parents are new names too.
    const std::string above = folder_of(root_);
    sync_names(root_);
    sync_names(above.empty() ? "." : above);
  }
  if (::mkdir(full(path).c_str(), private_folder) == 0) {
    sync_names(folder_of(full(path)));
    return true;
  }
  if (errno == EEXIST) return false;
  fail("make the folder", full(path));
}

namespace {

constexpr int appending = O_WRONLY | O_APPEND | O_CLOEXEC;

/// Most often it is there; only a new one needs its folder.
File open_or_make(const std::string& name) {
  if (std::optional<File> there = File::open_if_there(name, appending)) return std::move(*there);
  make_parents(name);
  return {name, appending | O_CREAT};
}

/// The file that bears the name once it is locked: one that was made anew in between (rewrite) is opened
/// again.
File open_to_append(const std::string& name) {
  for (;;) {
    File file = open_or_make(name);
    file.lock(LOCK_SH);
    if (!file.replaced()) return file;
  }
}

class OpenFile : public Appender {
 public:
  explicit OpenFile(std::string name) : name_(std::move(name)) {}
  void append(std::string_view octets) override {
    if (!file_) file_.emplace(open_to_append(name_));
    file_->write(octets);
  }

 private:
  std::string name_;
  std::optional<File> file_;
};

/// Where a disk has nothing better.
class EachTime : public Appender {
 public:
  EachTime(Disk& disk, std::string path) : disk_(disk), path_(std::move(path)) {}
  void append(std::string_view octets) override { disk_.append(path_, octets, false); }

 private:
  Disk& disk_;
  std::string path_;
};

}  // namespace

std::unique_ptr<Appender> Disk::appender(const std::string& path) {
  return std::make_unique<EachTime>(*this, path);
}

std::unique_ptr<Appender> FolderDisk::appender(const std::string& path) {
  return std::make_unique<OpenFile>(full(path));
}

void FolderDisk::append(const std::string& path, std::string_view octets, bool durable) {
  const std::string name = full(path);
  const bool is_new = durable && ::access(name.c_str(), F_OK) != 0;
  File file = open_to_append(name);
  file.write(octets);
  if (!durable) return;
  file.sync();
  if (is_new) sync_names(folder_of(name));
}

void FolderDisk::write_whole(const std::string& path, std::string_view octets, Durable durable) {
  const std::string name = full(path);
  // Two runs that write one file at the same time each have a part of their own.
  const std::string other = fmt::format("{}.{}.part", name, ::getpid());
  make_parents(name);
  {
    File file(other, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC);
    file.write(octets);
    if (durable != Durable::no) file.sync();
  }
  if (::rename(other.c_str(), name.c_str()) != 0) fail("rename to", name);
  if (durable == Durable::whole) sync_names(folder_of(name));
}

void FolderDisk::remove(const std::string& path) {
  const std::string name = full(path);
  if (::unlink(name.c_str()) == 0) return sync_names(folder_of(name));
  if (errno != ENOENT) fail("remove", name);
}

bool FolderDisk::rewrite(const std::string& path,
                         const std::function<std::optional<std::string>(const std::string& text)>& make) {
  std::optional<File> file = File::open_if_there(full(path), appending);
  if (!file) return true;
  if (!file->lock(LOCK_EX | LOCK_NB)) return false;
  if (file->replaced()) return false;
  const auto text = make(read(path).value_or(""));
  if (text) write_whole(path, *text);
  return true;
}

void FolderDisk::sync_folder(const std::string& path) {
  sync_names(full(path));
}

void FolderDisk::sync_all() {
  File(root_, O_RDONLY | O_DIRECTORY | O_CLOEXEC).sync_file_system();
}

std::optional<std::string> FolderDisk::read(const std::string& path) const {
  std::ifstream file(full(path), std::ios::binary);
  if (!file) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(file), {});
}

std::vector<std::string> FolderDisk::list(const std::string& path) const {
  std::vector<std::string> names;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(full(path), error)) {
    names.push_back(entry.path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace vergeset::records
