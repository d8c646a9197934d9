#include <filesystem>

#include "catch.h"
#include "records/change_record.h"
#include "records/clock.h"
#include "records/disk.h"
#include "records/journal.h"
#include "records/snapshot.h"
#include "records/unit_log.h"
#include "records/yaml_text.h"
#include "support/fleet_folder.h"
#include "support/memory_disk.h"

namespace {

using namespace vergeset;
using namespace vergeset::records;

class FixedClock : public Clock {
 public:
  std::int64_t now() const override { return 1795000000123; }
};

Snapshot sample() {
  Snapshot snapshot;
  snapshot.unit = "LK-104";
  snapshot.model = "ntcip1218-v01";
  snapshot.taken = "2026-11-25T02:00:01.123Z";
  snapshot.engine_id = "80001f8804";
  snapshot.values = {
      {"sysContact.0", smi::Oid{1, 3, 6, 1, 2, 1, 1, 4, 0},
       smi::Value::of_octets(std::string("a\0\xff\"'\n: #", 9))},
      {"rsuMode.0", smi::Oid{1, 3, 6, 1}, smi::Value::integer(-3)},
      {"sysObjectID.0", smi::Oid{1, 3}, smi::Value::of_oid(smi::Oid{1, 0, 15628})},
      {"counter", smi::Oid{1, 4}, smi::Value::of_number(smi::Type::counter32, 4294967295)},
  };
  snapshot.rows = {{"rsuMsgRepeatStatusTable", 3, smi::Oid{1, 9, 3}, true, {snapshot.values[0]}},
                   {"rsuMsgRepeatStatusTable", 4, smi::Oid{1, 9, 4}, false, {}},
                   {"rsuRadioTable", 1, smi::Oid{}, true, {snapshot.values[1]}}};
  return snapshot;
}

TEST_CASE("a snapshot reads back exactly, octet by octet and type by type") {
  const auto read = snapshot_from_yaml(to_yaml(sample()));
  REQUIRE(read);
  CHECK(*read == sample());
}

TEST_CASE("a snapshot that was cut or scribbled on is a problem and no crash") {
  const std::string text = to_yaml(sample());
  for (std::size_t size = 0; size + 1 < text.size(); size += 7) {
    const auto read = snapshot_from_yaml(text.substr(0, size));
    if (read) CHECK_FALSE(*read == sample());
  }
  std::string wrong = text;
  wrong.replace(wrong.find("INTEGER") != std::string::npos ? wrong.find("INTEGER") : wrong.find("Integer32"),
                7, "Nonsens");
  CHECK_FALSE(snapshot_from_yaml(wrong));
}

TEST_CASE("a journal leaves out a last line that a power cut has torn, and says so") {
  test::MemoryDisk disk;
  const FixedClock clock;
  Journal journal(disk, clock, "j");
  journal.write({{"event", "one"}});
  journal.write({{"event", "two"}});
  const std::string whole = *disk.read("j");
  CHECK_FALSE(read_journal(whole).torn);
  REQUIRE(read_journal(whole).events.size() == 2);
  CHECK(read_journal(whole).events[0]["at"] == "2026-11-18T11:06:40.123Z");
  for (std::size_t cut = 1; cut < 20; ++cut) {
    const JournalText torn = read_journal(whole.substr(0, whole.size() - cut));
    CHECK(torn.torn);
    CHECK(torn.events.size() == 1);
  }
}

TEST_CASE("a change record reads back, and tells whether the change has ended") {
  ChangeRecord change;
  change.number = 42;
  change.kind = "rollback";
  change.of = "41";
  change.who = "op@bench";
  change.why = "why: \"because\" # of a\nline";
  change.fleet = "Larkmoor";
  change.begun = "2026-11-25T02:00:01.123Z";
  change.files = {{"groups/all.yaml", sha256("")}};
  change.units = {{"LK-101", "settled", "", 3, 4200}, {"LK-102", "needs attention", "do: this", 1, 0}};
  auto read = change_from_yaml(to_yaml(change));
  REQUIRE(read);
  CHECK(read->why == change.why);
  CHECK(read->ended.empty());
  CHECK(read->of == "41");
  REQUIRE(read->units.size() == 2);
  CHECK(read->units[0].off_air_ms == 4200);
  CHECK(read->units[1].what == "do: this");
  CHECK(read->files == change.files);
  CHECK_FALSE(change_from_yaml("nothing"));
}

TEST_CASE("what became of the units of a change that has not ended is told by its journal") {
  test::MemoryDisk disk;
  const FixedClock clock;
  ChangeRecord change;
  change.number = 7;
  change.begun = "2026-11-25T02:00:01.123Z";
  change.units = {{"LK-101", "held", "", 0, 0}, {"LK-102", "held", "", 0, 0}, {"LK-103", "held", "", 0, 0}};
  disk.write_whole(change_path(7, "change.yaml"), to_yaml(change));
  Journal journal(disk, clock, change_path(7, "journal.jsonl"));
  journal.write({{"event", "begin"}, {"change", 7}});
  journal.write({{"event", "step"}, {"unit", "LK-101"}, {"number", 1}});
  journal.write({{"event", "result"}, {"unit", "LK-101"}, {"number", 1}, {"result", "done"}});
  journal.write({{"event", "outcome"}, {"unit", "LK-101"}, {"outcome", "settled"}, {"off_air_ms", 4100}});
  journal.write({{"event", "step"}, {"unit", "LK-102"}, {"number", 1}});

  const auto found = find_change(disk, 7);
  REQUIRE(found);
  CHECK(found->units[0].outcome == "settled");
  CHECK(found->units[0].steps == 1);
  CHECK(found->units[0].off_air_ms == 4100);
  CHECK(found->units[1].outcome == "needs attention");
  CHECK(found->units[1].what.find("vergeset recover") != std::string::npos);
  CHECK(found->units[2].outcome == "held");

  change.ended = "2026-11-25T02:01:00.000Z";  // the record of an ended change says all itself
  disk.write_whole(change_path(7, "change.yaml"), to_yaml(change));
  CHECK(find_change(disk, 7)->units[0].outcome == "held");
}

TEST_CASE("SHA-256 of nothing and of abc") {
  // "abc": the NIST example for FIPS 180-4, SHA-256. The empty message: from memory.
  CHECK(sha256("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  CHECK(sha256("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST_CASE("numbers of changes go up and are never taken twice") {
  test::FleetFolder folder{std::map<std::string, std::string>{}};
  FolderDisk one(folder.path());
  FolderDisk two(folder.path());
  CHECK(take_change_number(one) == 1);
  CHECK(take_change_number(two) == 2);
  CHECK(take_change_number(one) == 3);
  CHECK(change_path(7, "change.yaml") == "changes/0007/change.yaml");
}

TEST_CASE("files are written whole and appended to, below folders that are made as needed") {
  test::FleetFolder folder{std::map<std::string, std::string>{}};
  FolderDisk disk(folder.path() + "/not/there/yet");
  CHECK_FALSE(disk.read("a/b"));
  CHECK(disk.list("a").empty());
  disk.write_whole("a/b", "one");
  disk.write_whole("a/b", "two");
  disk.append("a/c", "1", true);
  disk.append("a/c", "2", false);
  CHECK(disk.read("a/b") == "two");
  CHECK(disk.read("a/c") == "12");
  CHECK(disk.list("a") == std::vector<std::string>{"b", "c"});
}

TEST_CASE("a disk that does not take a file is an error that names it") {
  test::FleetFolder folder{std::map<std::string, std::string>{{"file", ""}}};
  FolderDisk disk(folder.path() + "/file");
  CHECK_THROWS_AS(disk.write_whole("a", "x"), DiskError);
  CHECK_THROWS_AS(disk.append("a", "x", true), DiskError);
}

TEST_CASE("a unit's log is one line an act, oldest first") {
  test::MemoryDisk disk;
  const FixedClock clock;
  {
    UnitLog log(disk, clock, "LK-104", "change 0001");
    log.line("SET rsuMode.0 = standby(2)");
    log.line("SET done: noError");
  }
  CHECK(*disk.read("units/LK-104.log") ==
        "2026-11-18T11:06:40.123Z  change 0001  SET rsuMode.0 = standby(2)\n"
        "2026-11-18T11:06:40.123Z  change 0001  SET done: noError\n");
}

TEST_CASE("times are RFC 3339 in UTC") {
  CHECK(stamp(0) == "1970-01-01T00:00:00.000Z");
  CHECK(file_stamp(1795000000123) == "2026-11-18T11-06-40Z");
}

}  // namespace

TEST_CASE(
    "texts in records are quoted where YAML would take them for something else, and read back as they were") {
  // YAML 1.2: 7.3.3 (plain style), 10.3.2 (core schema); YAML 1.1 also has yes, no, on and off.
  CHECK(scalar("LK-101") == "LK-101");
  CHECK(scalar("nothing to do") == "nothing to do");
  for (const std::string& text :
       {std::string(), std::string("no"), std::string("True"), std::string("12"), std::string("-x"),
        std::string("a: b"), std::string("a #b"), std::string("x "), std::string("\"'\\\n\t"),
        std::string("Münze {unit}"), std::string("2026-11-25T02:00:01.123Z"), std::string("\x01\x7f")}) {
    ChangeRecord change;
    change.number = 7;
    change.why = text;
    change.units = {{"LK-101", "needs attention", text, 2, 1500}};
    change.files = {{text.empty() ? "x" : text, sha256(text)}};
    const auto read = change_from_yaml(to_yaml(change));
    REQUIRE(read);
    CHECK(read->why == text);
    CHECK(read->units.front().what == text);
    CHECK(read->files == change.files);
    CHECK((text.empty() || scalar(text).front() == '"'));
  }
}
