#include "fault_disk.h"

#include "catch.h"

using namespace vergeset;
using faults::Dice;
using faults::DiskTrouble;
using faults::FaultDisk;
using faults::Trace;

namespace {

Trace quiet;
const std::string journal = "changes/0001/journal.jsonl";

}  // namespace

TEST_CASE("a power cut keeps what was synced, and of the rest nothing, a part or all") {
  bool nothing = false;
  bool part = false;
  bool all = false;
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    FaultDisk disk{Dice(seed), quiet};
    disk.append(journal, "synced\n", true);
    disk.append(journal, "not synced\n", false);
    disk.program_dies();
    disk.program_begins(true);
    const std::string left = *disk.read(journal);
    REQUIRE(left.rfind("synced\n", 0) == 0);
    nothing |= left == "synced\n";
    all |= left == "synced\nnot synced\n";
    part |= left.size() > 7 && left.size() < 18;
  }
  CHECK(nothing);
  CHECK(part);
  CHECK(all);
}

TEST_CASE("a program that is killed loses nothing that it wrote, and writes nothing more") {
  FaultDisk disk{Dice(1), quiet};
  disk.append(journal, "one\n", false);
  disk.program_dies();
  disk.append(journal, "two\n", true);
  disk.write_whole("changes/0001/change.yaml", "x", records::Durable::whole);
  disk.program_begins(false);
  CHECK(disk.read(journal) == "one\n");
  CHECK_FALSE(disk.read("changes/0001/change.yaml"));
}

TEST_CASE("a file that was written whole is on stable storage as far as was asked, and no further") {
  FaultDisk disk{Dice(1), quiet};
  const std::string name = "changes/0001/LK-101.snapshot.yaml";
  disk.write_whole(name, "contents", records::Durable::contents);
  CHECK(disk.durable(name) == nullptr);
  disk.sync_folder("changes/0001");
  REQUIRE(disk.durable(name) != nullptr);
  CHECK(*disk.durable(name) == "contents");
  disk.write_whole(name, "again", records::Durable::contents);
  CHECK(*disk.durable(name) == "contents");
  disk.write_whole(name, "at once", records::Durable::whole);
  CHECK(*disk.durable(name) == "at once");
}

TEST_CASE("what a sync that failed was to write stays lost though a later sync succeeds") {
  FaultDisk disk{Dice(1), quiet};
  disk.append(journal, "a\n", true);
  disk.troubles = {{DiskTrouble::Kind::sync_fails, 2, 1}};
  CHECK_THROWS_AS(disk.append(journal, "bc", true), records::DiskError);
  disk.append(journal, "\nbc\n", true);
  CHECK(*disk.durable(journal) == std::string("a\n\0\0\nbc\n", 8));
}

TEST_CASE("a write that is torn leaves a part, and one to a full disk nothing") {
  bool part = false;
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    FaultDisk disk{Dice(seed), quiet};
    disk.troubles = {{DiskTrouble::Kind::tears, 1, 1}, {DiskTrouble::Kind::full, 2, 1}};
    CHECK_THROWS_AS(disk.append(journal, "a whole line\n", true), records::DiskError);
    const std::string left = *disk.read(journal);
    part |= !left.empty() && left.size() < 13;
    CHECK_THROWS_AS(disk.append(journal, "more", true), records::DiskError);
    CHECK(disk.read(journal) == left);
  }
  CHECK(part);
}

TEST_CASE("a program may be killed before a write and after it") {
  bool before = false;
  bool after = false;
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    FaultDisk disk{Dice(seed), quiet};
    disk.kill_at_write = 2;
    disk.append(journal, "one\n", true);
    bool killed = false;
    try {
      disk.append(journal, "two\n", true);
    } catch (const faults::Killed&) {
      killed = true;
    }
    REQUIRE(killed);
    disk.program_begins(true);
    before |= disk.read(journal) == "one\n";
    after |= disk.read(journal) == "one\ntwo\n";
  }
  CHECK(before);
  CHECK(after);
}
