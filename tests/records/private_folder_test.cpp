// Modes of what is made: 0700 and 0600, whatever the umask (issue 5).

#include "records/private_folder.h"

#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>

#include "catch.h"
#include "records/disk.h"
#include "records/lock.h"

using namespace vergeset;

namespace {

class Folder {
 public:
  Folder() {
    std::filesystem::remove_all(path());
    std::filesystem::create_directories(path());
    ::chmod(path().c_str(), 0755);
  }
  ~Folder() { std::filesystem::remove_all(path()); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  static std::string path() {
    return std::string(BINARY_DIR) + "/private-folder-" + std::to_string(::getpid());
  }
};

class Umask {
 public:
  explicit Umask(mode_t mask) : before_(::umask(mask)) {}
  ~Umask() { ::umask(before_); }
  Umask(const Umask&) = delete;
  Umask& operator=(const Umask&) = delete;

 private:
  mode_t before_;
};

unsigned mode_of(const std::filesystem::path& path) {
  struct stat found {};
  REQUIRE(::stat(path.c_str(), &found) == 0);
  return found.st_mode & 07777U;
}

void all_private(const std::string& folder) {
  CHECK(mode_of(folder) == 0700);
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    INFO(entry.path().string());
    CHECK(mode_of(entry.path()) == (entry.is_directory() ? 0700 : 0600));
  }
}

}  // namespace

TEST_CASE(
    "records are for their owner alone, whatever way they are written and whatever the umask lets through") {
  const Folder folder;
  const Umask umask(0);
  const std::string root = folder.path() + "/a/records";
  {
    records::FolderDisk disk(root);
    disk.append("units/LK-101.log", "one\n", false);
    disk.append("changes/0001/journal.jsonl", "{}\n", true);
    disk.appender("units/LK-102.log")->append("two\n");
    disk.write_whole("audits/now.json", "{}", records::Durable::whole);
    CHECK(disk.make_folder("changes/0002"));
    const auto lock = records::Lock::take(root, {"ops@desk", "apply", "now", 1});
    CHECK(static_cast<bool>(lock));
  }
  all_private(folder.path() + "/a");
}

TEST_CASE("a lock that is the first of all records makes their folder as private") {
  const Folder folder;
  const Umask umask(0);
  const auto lock = records::Lock::take(folder.path() + "/a/records/", {"ops@desk", "apply", "now", 1});
  REQUIRE(static_cast<bool>(lock));
  all_private(folder.path() + "/a");
}

TEST_CASE("a folder of records that is open to others is told of, with its mode, and left as it is") {
  const Folder folder;
  const std::string root = folder.path() + "/records";
  CHECK(records::open_to_others(root).empty());
  REQUIRE(::mkdir(root.c_str(), 0750) == 0);
  ::chmod(root.c_str(), 0750);
  CHECK_THAT(records::open_to_others(root), Catch::Contains("mode 0750") && Catch::Contains("chmod go="));
  records::FolderDisk(root).append("units/LK-101.log", "one\n", false);
  CHECK(mode_of(root) == 0750);
  ::chmod(root.c_str(), 0700);
  CHECK(records::open_to_others(root).empty());
}
