#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace vergeset::records {

/// The disk failed us: full, read-only, gone. An exception, since no change may go on without its
/// records.
struct DiskError : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// How much of a file that was written whole is on stable storage when the call returns.
enum class Durable {
  no,        ///< nothing for sure before the next sync_all()
  contents,  ///< what it holds; its name after sync_folder()
  whole,
};

/// A file that is appended to more than once. What fails throws DiskError.
class Appender {
 public:
  virtual ~Appender() = default;
  virtual void append(std::string_view octets) = 0;
};

/// The seam between the records and the disk, so that a test can stand a failing one under them.
/// Paths are relative to the folder of records. What fails throws DiskError.
class Disk {
 public:
  virtual ~Disk() = default;
  /// Makes a folder that must not be there yet; false where it is. Its parents are made as needed.
  virtual bool make_folder(const std::string& path) = 0;
  /// Appends; on stable storage when it returns where `durable`.
  virtual void append(const std::string& path, std::string_view octets, bool durable) = 0;
  /// For a file that is appended to more than once, and need not be on stable storage.
  virtual std::unique_ptr<Appender> appender(const std::string& path);
  /// The whole file or the old one, never a part: written under another name, synced, renamed.
  virtual void write_whole(const std::string& path, std::string_view octets, Durable durable) = 0;
  void write_whole(const std::string& path, std::string_view octets) {
    write_whole(path, octets, Durable::whole);
  }
  /// The names in a folder are on stable storage when it returns.
  virtual void sync_folder(const std::string& path) = 0;
  /// All that was written is.
  virtual void sync_all() = 0;
  virtual std::optional<std::string> read(const std::string& path) const = 0;
  /// Names in a folder, sorted; none where there is no such folder.
  virtual std::vector<std::string> list(const std::string& path) const = 0;
};

/// The folder of records on a real file system. Nothing is made before the first write. What is made is for
/// its owner alone (private_folder.h): it holds no secrets, but shows how a fleet is set.
class FolderDisk : public Disk {
 public:
  explicit FolderDisk(std::string root) : root_(std::move(root)) {}
  bool make_folder(const std::string& path) override;
  void append(const std::string& path, std::string_view octets, bool durable) override;
  /// Holds the file open from the first time on.
  std::unique_ptr<Appender> appender(const std::string& path) override;
  using Disk::write_whole;
  void write_whole(const std::string& path, std::string_view octets, Durable durable) override;
  void sync_folder(const std::string& path) override;
  void sync_all() override;
  std::optional<std::string> read(const std::string& path) const override;
  std::vector<std::string> list(const std::string& path) const override;

  /// The file is gone, on stable storage; nothing where there is none.
  void remove(const std::string& path);
  /// Makes another text of a file that others append to, whole: what they add in the meantime goes into the
  /// new one. False where somebody holds it open to append to it. Nothing is written where `make` gives
  /// nothing.
  bool rewrite(const std::string& path,
               const std::function<std::optional<std::string>(const std::string& text)>& make);

  const std::string& root() const { return root_; }

 private:
  std::string full(const std::string& path) const { return root_ + "/" + path; }
  std::string root_;
};

}  // namespace vergeset::records
