#include "cli/key_place.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>

#include "fleet/command_output.h"
#include "fleet/credential.h"

namespace vergeset::cli {

namespace {

using records::DiskError;

[[noreturn]] void fail(const std::string& path, const std::string& what) {
  throw DiskError(fmt::format("key store {}: {}", path, what));
}

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  ~Descriptor() {
    if (number_ >= 0) close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  int number() const { return number_; }

 private:
  int number_;
};

/// A file that nobody but its owner can read: asked of the descriptor.
class FileKeyPlace : public records::KeyPlace {
 public:
  explicit FileKeyPlace(std::string path) : path_(std::move(path)) {}

  std::string read() const override {
    const Descriptor file(open(path_.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW));
    if (file.number() < 0) {
      if (errno == ENOENT) return {};
      fail(path_, strerror(errno));
    }
    check(file.number());
    struct stat status {};
    if (fstat(file.number(), &status) != 0) fail(path_, strerror(errno));
    std::string text(static_cast<std::size_t>(status.st_size), '\0');
    std::size_t at = 0;
    while (at < text.size()) {
      const ssize_t count = ::read(file.number(), text.data() + at, text.size() - at);
      if (count < 0 && errno == EINTR) continue;
      if (count < 0) fail(path_, strerror(errno));
      if (count == 0) break;
      at += static_cast<std::size_t>(count);
    }
    text.resize(at);
    return text;
  }

  void append(std::string_view lines) override {
    const std::filesystem::path folder = std::filesystem::path(path_).parent_path();
    std::error_code error;
    const bool is_new = !std::filesystem::exists(path_, error);
    if (is_new && !folder.empty() && !std::filesystem::exists(folder, error)) {
      std::filesystem::create_directories(folder, error);
      std::filesystem::permissions(folder, std::filesystem::perms::owner_all, error);
    }
    const Descriptor file(open(path_.c_str(), O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600));
    if (file.number() < 0) fail(path_, strerror(errno));
    check(file.number());
    while (!lines.empty()) {
      const ssize_t count = write(file.number(), lines.data(), lines.size());
      if (count < 0 && errno == EINTR) continue;
      if (count <= 0) fail(path_, strerror(errno));
      lines.remove_prefix(static_cast<std::size_t>(count));
    }
    if (fsync(file.number()) != 0) fail(path_, strerror(errno));
    if (is_new) sync_folder(folder.empty() ? "." : folder.string());
  }

 private:
  void check(int descriptor) const {
    struct stat status {};
    if (fstat(descriptor, &status) != 0) fail(path_, strerror(errno));
    if (!S_ISREG(status.st_mode)) fail(path_, "it is no file");
    if ((status.st_mode & (S_IRWXG | S_IRWXO)) != 0)
      fail(path_, fmt::format("it is open to others than its owner (mode {:03o}); give it mode 600",
                              status.st_mode & 0777U));
  }

  /// The new name is on stable storage too.
  void sync_folder(const std::string& folder) const {
    const Descriptor place(open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    if (place.number() < 0 || fsync(place.number()) != 0) fail(path_, strerror(errno));
  }

  std::string path_;
};

/// Two commands of a password store: one prints all lines, one takes more of them on its standard input.
class CommandKeyPlace : public records::KeyPlace {
 public:
  CommandKeyPlace(fleet::KeyStore commands, std::string folder, std::vector<std::string> withheld)
      : commands_(std::move(commands)), folder_(std::move(folder)), withheld_(std::move(withheld)) {}

  std::string read() const override {
    const auto text = fleet::command_output(commands_.get, folder_, wait, withheld_, {}, most_octets);
    if (!text) fail("(get)", text.problem() + "; run the command by hand to see why");
    return std::string(text->text());
  }

  void append(std::string_view lines) override {
    const auto done = fleet::command_output(commands_.put, folder_, wait, withheld_, lines);
    if (!done) fail("(put)", done.problem() + "; run the command by hand to see why");
  }

 private:
  static constexpr std::chrono::seconds wait{60};
  static constexpr std::size_t most_octets = 32UL * 1024 * 1024;
  fleet::KeyStore commands_;
  std::string folder_;
  std::vector<std::string> withheld_;  ///< variables that hold secrets
};

}  // namespace

Result<std::unique_ptr<records::KeyPlace>> key_place(const fleet::Fleet& fleet) {
  if (!fleet.key_store) {
    return Problem{
        "fleet.yaml names no place for keys that vergeset makes; add for example\n"
        "  key-store: {file: keys/fleet.keys}"};
  }
  if (fleet.key_store->file.empty())
    return std::unique_ptr<records::KeyPlace>(
        new CommandKeyPlace(*fleet.key_store, fleet.folder, fleet::secret_variables(fleet.credentials)));
  const std::filesystem::path path(fleet.key_store->file);
  return std::unique_ptr<records::KeyPlace>(new FileKeyPlace(
      path.is_absolute() ? path.string() : (std::filesystem::path(fleet.folder) / path).string()));
}

Result<records::KeyStore> open_keys(const fleet::Fleet& fleet, records::KeyPlace& place) {
  try {
    auto store = records::KeyStore::open(place);
    if (!store) return Problem{fmt::format("the key store of {}: {}", fleet.name, store.problem())};
    return store;
  } catch (const DiskError& error) {
    return Problem{error.what()};
  }
}

}  // namespace vergeset::cli
