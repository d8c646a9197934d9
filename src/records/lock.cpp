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

#include "records/yaml_text.h"

namespace vergeset::records {

namespace fs = std::filesystem;

namespace {

constexpr const char* remedy = "give a folder that you can write with --records DIR";

std::string text_of(const Holder& holder) {
  YAML::Emitter out;
  out << YAML::BeginMap;
  out << YAML::Key << "who" << YAML::Value << holder.who;
  out << YAML::Key << "command" << YAML::Value << holder.command;
  out << YAML::Key << "since" << YAML::Value << holder.since;
  out << YAML::Key << "process" << YAML::Value << holder.process;
  out << YAML::EndMap;
  return std::string(out.c_str()) + "\n";
}

/// A holder that has the lock and has not written its name yet is told without it.
std::string held_by(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  const auto parsed = parse_record(std::string(std::istreambuf_iterator<char>(file), {}));
  if (!parsed) return "another process";
  return fmt::format("{} ({}, since {}, process {})", text_at(*parsed, "who"), text_at(*parsed, "command"),
                     text_at(*parsed, "since"), text_at(*parsed, "process"));
}

/// For the reader alone: where it cannot be written, the lock holds all the same.
void write_name(int descriptor, const std::string& text) {
  if (::ftruncate(descriptor, 0) != 0) return;
  [[maybe_unused]] const ssize_t written = ::pwrite(descriptor, text.data(), text.size(), 0);
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

Result<Lock> Lock::take(const std::string& folder, const Holder& holder) {
  if (const std::string why = cannot_write(folder); !why.empty()) return Problem{why};
  std::error_code error;
  fs::create_directories(folder, error);
  if (error)
    return Problem{fmt::format("cannot make the folder {}: {}; {}", folder, error.message(), remedy)};
  const std::string path = folder + "/lock";
  const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640);
  if (descriptor < 0)
    return Problem{fmt::format("cannot open {}: {}; {}", path, std::strerror(errno), remedy)};
  Lock lock(descriptor);
  if (::flock(descriptor, LOCK_EX | LOCK_NB) == 0) {
    write_name(descriptor, text_of(holder));
    return lock;
  }
  if (errno != EWOULDBLOCK) return Problem{fmt::format("cannot lock {}: {}", path, std::strerror(errno))};
  return Problem{
      fmt::format("a change is under way: {}. Wait until it has ended, see `vergeset changes`, then go on",
                  held_by(path))};
}

Lock::Lock(Lock&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}

Lock& Lock::operator=(Lock&& other) noexcept {
  std::swap(descriptor_, other.descriptor_);
  return *this;
}

Lock::~Lock() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

}  // namespace vergeset::records
