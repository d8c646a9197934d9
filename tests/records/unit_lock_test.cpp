#include "records/unit_lock.h"

#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>

#include "catch.h"
#include "support/fleet_folder.h"

namespace {

using namespace vergeset::records;
using vergeset::test::FleetFolder;
namespace fs = std::filesystem;
using Files = std::map<std::string, std::string>;

const Holder desk{"ops@desk", "rollback 0042", "2026-11-25T02:00:00.000Z", 4711};
const Holder shift{"night@shift", "apply", "2026-11-25T03:00:00.000Z", 4712};

class Locks {
 public:
  Locks() : opened_(UnitLocks::open({path()})) { REQUIRE(opened_); }
  std::string path() const { return folder_.path() + "/locks"; }
  vergeset::Result<UnitLock> take(const std::string& where, const Holder& holder = desk) const {
    return opened_->take(where, holder);
  }
  std::size_t files() const {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(path()), {}));
  }

 private:
  FleetFolder folder_{Files()};
  vergeset::Result<UnitLocks> opened_;
};

TEST_CASE("a unit that is held is refused with who holds it, what for, since when and as which process") {
  const Locks locks;
  const auto held = locks.take("192.0.2.1:161");
  REQUIRE(held);
  const auto second = locks.take("192.0.2.1:161", shift);
  REQUIRE_FALSE(second);
  for (const char* part :
       {"ops@desk", "rollback 0042", "since 2026-11-25T02:00:00.000Z", "process 4711", "Wait"}) {
    CHECK_THAT(second.problem(), Catch::Contains(part));
  }
  CHECK(locks.take("192.0.2.1:162", shift));
  CHECK(locks.take("192.0.2.2:161", shift));
}

TEST_CASE("a unit's lock leaves no file behind, and is free again") {
  const Locks locks;
  {
    const auto held = locks.take("[2001:db8::1%eth0]:161");
    REQUIRE(held);
    CHECK(locks.files() == 1);
  }
  CHECK(locks.files() == 0);
  CHECK(locks.take("[2001:db8::1%eth0]:161"));
}

TEST_CASE("a unit is free again when the process that held it has died") {
  const Locks locks;
  const pid_t child = fork();
  if (child == 0) {
    const auto held = locks.take("192.0.2.1:161");
    _exit(held ? 0 : 1);
  }
  int status = 0;
  REQUIRE(waitpid(child, &status, 0) == child);
  CHECK(status == 0);
  CHECK(locks.files() == 1);
  CHECK(locks.take("192.0.2.1:161", shift));
}

TEST_CASE("a lock that is taken while its last holder lets go is never one without a name") {
  const Locks locks;
  for (int round = 0; round < 20; ++round) {
    const pid_t child = fork();
    if (child == 0) {
      for (int i = 0; i < 20; ++i) [[maybe_unused]] const auto held = locks.take("192.0.2.1:161");
      _exit(0);
    }
    for (int i = 0; i < 20; ++i) {
      const auto held = locks.take("192.0.2.1:161", shift);
      if (held) CHECK_FALSE(locks.take("192.0.2.1:161"));
    }
    waitpid(child, nullptr, 0);
  }
  CHECK(locks.take("192.0.2.1:161"));
}

TEST_CASE(
    "a lock that is a symbolic link, another name of a file, or no file is refused, and nothing is written") {
  const Locks locks;
  const FleetFolder other(Files{{"precious", "do not touch"}});
  const std::string precious = other.path() + "/precious";
  fs::create_symlink(precious, locks.path() + "/192.0.2.1:161");
  fs::create_hard_link(precious, locks.path() + "/192.0.2.2:161");
  fs::create_directory(locks.path() + "/192.0.2.3:161");
  REQUIRE(::mkfifo((locks.path() + "/192.0.2.4:161").c_str(), 0600) == 0);
  for (const char* where : {"192.0.2.1:161", "192.0.2.2:161", "192.0.2.3:161", "192.0.2.4:161"}) {
    const auto lock = locks.take(where);
    REQUIRE_FALSE(lock);
    CHECK_THAT(lock.problem(), Catch::Contains(locks.path() + "/" + where));
  }
  std::ifstream file(precious);
  CHECK(std::string(std::istreambuf_iterator<char>(file), {}) == "do not touch");
}

TEST_CASE("the folder of locks is for all users and sticky, and one that is not, or a link, is passed over") {
  const FleetFolder folder(Files{{"file", "x"}});
  const std::string loose = folder.path() + "/loose";
  fs::create_directory(loose);
  REQUIRE(::chmod(loose.c_str(), 0777) == 0);
  fs::create_directory_symlink(loose, folder.path() + "/link");
  const std::string good = folder.path() + "/good";
  const auto locks =
      UnitLocks::open({folder.path() + "/link", loose, folder.path() + "/file", "/proc/none", good});
  REQUIRE(locks);
  CHECK(locks->folder() == good);
  struct stat made {};
  REQUIRE(::stat(good.c_str(), &made) == 0);
  CHECK((made.st_mode & 07777) == 01777);
  const auto none = UnitLocks::open({loose, folder.path() + "/file"});
  REQUIRE_FALSE(none);
  CHECK_THAT(none.problem(), Catch::Contains("others may remove") && Catch::Contains("/file: no folder") &&
                                 Catch::Contains("VERGESET_LOCKS"));
}

TEST_CASE("what another user wrote into a lock reaches no terminal as it is") {
  CHECK_THAT(held_by("{who: \"a\\eb\", command: apply, since: now, process: 1}"),
             Catch::Contains("a\\x1bb (apply"));
  for (const char* text : {"", "{", "- 1", "[[[[", "who: ''"})
    CHECK_THAT(held_by(text), Catch::StartsWith("another process"));
}

}  // namespace
