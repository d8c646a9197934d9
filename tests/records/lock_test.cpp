#include "records/lock.h"

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

const Holder desk{"ops@desk", "rollback 0042", "2026-11-25T02:00:00.000Z", 4711};

TEST_CASE("a lock that is held is refused with who holds it, what for, since when and as which process") {
  const FleetFolder folder({});
  const std::string records = folder.path() + "/records";
  const auto held = Lock::take(records, desk);
  REQUIRE(held);
  const auto second = Lock::take(records, {"night@shift", "apply", "2026-11-25T03:00:00.000Z", 4712});
  REQUIRE_FALSE(second);
  for (const char* part :
       {"ops@desk", "rollback 0042", "since 2026-11-25T02:00:00.000Z", "process 4711", "Wait"}) {
    CHECK_THAT(second.problem(), Catch::Contains(part));
  }
}

TEST_CASE("a lock is free again when its holder has let go of it") {
  const FleetFolder folder({});
  { REQUIRE(Lock::take(folder.path(), desk)); }
  CHECK(Lock::take(folder.path(), desk));
}

TEST_CASE("a lock is free again when the process that held it has died") {
  const FleetFolder folder({});
  const pid_t child = fork();
  if (child == 0) {
    const auto held = Lock::take(folder.path(), desk);
    _exit(held ? 0 : 1);
  }
  int status = 0;
  REQUIRE(waitpid(child, &status, 0) == child);
  CHECK(status == 0);
  CHECK(std::filesystem::exists(folder.path() + "/lock"));
  CHECK(Lock::take(folder.path(), desk));
}

TEST_CASE("records that cannot be written are told before anything is made") {
  const FleetFolder folder({});
  folder.write("file", "x");
  const auto file = Lock::take(folder.path() + "/file", desk);
  REQUIRE_FALSE(file);
  CHECK_THAT(file.problem(), Catch::Contains("/file is no folder") && Catch::Contains("--records"));
  CHECK_FALSE(Lock::take("/dev/null/records", desk));
  CHECK(cannot_write(folder.path() + "/not/there/yet").empty());
  CHECK_FALSE(std::filesystem::exists(folder.path() + "/not"));
  CHECK_FALSE(cannot_write(folder.path() + "/file/records").empty());
}

}  // namespace
