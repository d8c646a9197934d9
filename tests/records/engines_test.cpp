#include "records/engines.h"

#include "catch.h"
#include "support/memory_disk.h"

using vergeset::records::Engines;
using vergeset::test::MemoryDisk;

namespace {

const std::string id("\x80\x00\x1f\x88\x04 LK-101", 13);

}  // namespace

TEST_CASE("what an engine said of itself is known at the next visit") {
  MemoryDisk disk;
  Engines engines = Engines::read(disk);
  CHECK_FALSE(engines.find("LK-101"));
  engines.note("LK-101", {id, 7, 1795000000});
  engines.keep(disk);
  const auto known = Engines::read(disk).find("LK-101");
  REQUIRE(known);
  CHECK(*known == Engines::Known{id, 7, 1795000000});
}

TEST_CASE("engines that have not changed are not written again") {
  MemoryDisk disk;
  Engines engines = Engines::read(disk);
  engines.note("LK-101", {id, 7, 1795000000});
  engines.keep(disk);
  disk.writes_left = 0;
  Engines again = Engines::read(disk);
  again.note("LK-101", {id, 7, 1795000003});  // by a second or two, as clocks are read
  CHECK_NOTHROW(again.keep(disk));
  again.note("LK-101", {id, 8, 1795090000});
  CHECK_THROWS(again.keep(disk));
}

TEST_CASE("two runs that each heard other units keep both") {
  MemoryDisk disk;
  Engines one = Engines::read(disk);
  Engines other = Engines::read(disk);
  one.note("LK-101", {id, 7, 1795000000});
  other.note("LK-102", {id, 1, 1795000000});
  one.keep(disk);
  other.keep(disk);
  const Engines both = Engines::read(disk);
  CHECK(both.find("LK-101"));
  CHECK(both.find("LK-102"));
}

TEST_CASE("lines that are no engine's are passed over") {
  MemoryDisk disk;
  Engines engines = Engines::read(disk);
  engines.note("LK-101", {id, 7, 1795000000});
  engines.keep(disk);
  disk.files["engines.jsonl"] +=
      "\n{\"unit\":\"LK-102\"}\n[1]\n{\"unit\":3,\"engine\":\"zz\",\"boots\":-1,\"started\":\"x\"}\n{"
      "\"unit\":\"LK";
  const Engines read = Engines::read(disk);
  CHECK(read.find("LK-101"));
  CHECK_FALSE(read.find("LK-102"));
}
