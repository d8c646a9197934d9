#include "sim/process_room.h"

#include "catch.h"

using vergeset::sim::lack_of_room;
using vergeset::sim::ProcessRoom;

namespace {

constexpr ProcessRoom roomy{100, 32768, 200000, std::nullopt};

}  // namespace

TEST_CASE("10,000 units fit where pids go to 32768, the kernel's own least on 64 bits") {
  CHECK(lack_of_room(10000, roomy).empty());
}

TEST_CASE("where a limit leaves too few processes it is named, with what it leaves") {
  ProcessRoom room = roomy;
  room.pid_max = 8400;
  CHECK(lack_of_room(10000, room) ==
        "10000 units need as many processes, and there is room for 8000 (kernel.pid_max is 8400, 100 are "
        "running); choose fewer with --units, or raise that limit");
  CHECK(lack_of_room(8000, room).empty());
  room = roomy;
  room.threads_max = 9000;
  CHECK(lack_of_room(10000, room).find("room for 8900 (kernel.threads-max is 9000") != std::string::npos);
  room = roomy;
  room.user_limit = 4096;
  CHECK(lack_of_room(10000, room).find("room for 4095 (ulimit -u is 4096)") != std::string::npos);
  CHECK(lack_of_room(4095, room).empty());
}

TEST_CASE("what this system says of itself leaves room for one process more") {
  const ProcessRoom room = vergeset::sim::process_room();
  CHECK(room.running > 0);
  CHECK(room.pid_max >= 300);
  CHECK(lack_of_room(1, room).empty());
}
