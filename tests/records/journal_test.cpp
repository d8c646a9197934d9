#include "records/journal.h"

#include "catch.h"
#include "smi/inert.h"
#include "support/memory_disk.h"

using namespace vergeset::records;
using vergeset::test::MemoryDisk;

namespace {

class Noon : public Clock {
 public:
  std::int64_t now() const override { return 1795000000000; }
};

/// Counts what reaches the disk, and writes half of it when told to fail.
class CountingDisk : public MemoryDisk {
 public:
  int appends = 0;
  int folders_synced = 0;
  bool tears = false;

  void append(const std::string& path, std::string_view octets, bool durable) override {
    CHECK(durable);
    ++appends;
    if (tears) {
      MemoryDisk::append(path, octets.substr(0, octets.size() / 2), durable);
      throw DiskError("no space left on device");
    }
    MemoryDisk::append(path, octets, durable);
  }
  void sync_folder(const std::string& path) override {
    CHECK(path == "changes/0001");
    ++folders_synced;
  }
};

const std::string path = "changes/0001/journal.jsonl";

}  // namespace

TEST_CASE("lines of units that are changed side by side reach the disk together") {
  CountingDisk disk;
  const Noon noon;
  Journal journal(disk, noon, path);
  const auto first = journal.add({{"event", "step"}, {"unit", "LK-101"}});
  const auto second = journal.add({{"event", "step"}, {"unit", "LK-102"}});
  CHECK(journal.on_disk() < first);
  CHECK(disk.appends == 0);
  journal.sync();
  CHECK(journal.on_disk() == second);
  CHECK(disk.appends == 1);
  journal.sync();
  CHECK(disk.appends == 1);
  CHECK(read_journal(*disk.read(path)).events.size() == 2);
}

TEST_CASE("the name of a snapshot is on disk before the line that rests on it") {
  CountingDisk disk;
  const Noon noon;
  Journal journal(disk, noon, path);
  journal.with_file();
  journal.write({{"event", "begin unit"}});
  journal.write({{"event", "step"}});
  CHECK(disk.folders_synced == 1);
}

TEST_CASE("lines that a full disk tore are written again, whole, once there is room") {
  CountingDisk disk;
  const Noon noon;
  Journal journal(disk, noon, path);
  journal.write({{"event", "begin"}});
  disk.tears = true;
  const auto line = journal.add({{"event", "step"}, {"unit", "LK-101"}});
  CHECK_THROWS_AS(journal.sync(), DiskError);
  CHECK(journal.on_disk() < line);
  disk.tears = false;
  journal.write({{"event", "step"}, {"unit", "LK-102"}});
  const JournalText read = read_journal(*disk.read(path));
  CHECK(read.torn);
  REQUIRE(read.events.size() == 3);
  CHECK(read.events[1]["unit"] == "LK-101");
  CHECK(read.events[2]["unit"] == "LK-102");
}

TEST_CASE(
    "a journal that is gone on with makes no line of what a power cut left of one, whole as it may be") {
  for (const char* left : {"{\"event\":\"step\",\"unit\":\"LK-101\"}", "{\"event\":\"st"}) {
    MemoryDisk disk;
    const Noon noon;
    disk.files[path] = std::string("{\"event\":\"begin\"}\n") + left;
    Journal journal = Journal::resume(disk, noon, path);
    journal.write({{"event", "recover"}});
    const JournalText read = read_journal(*disk.read(path));
    CHECK(read.torn);
    REQUIRE(read.events.size() == 2);
    CHECK(read.events[0]["event"] == "begin");
    CHECK(read.events[1]["event"] == "recover");
  }
}

TEST_CASE("a line put together by hand is the JSON that a library writes") {
  // nlohmann-json is the peer.
  for (const std::string& text : {std::string("rsuMode"), std::string(), std::string("a \"b\" \\ \n\t"),
                                  std::string("M\xc3\xbcnze \x01\x7f"), std::string("no UTF-8: \xff")}) {
    JsonLine line;
    line.text("event", text).number("number", -7).flag("in_standby", true).json("set", "[1,{}]");
    Json peer{{"event", text}, {"number", -7}, {"in_standby", true}, {"set", Json::parse("[1,{}]")}};
    CHECK(line.str() == vergeset::smi::inert_json(peer.dump(-1, ' ', false, Json::error_handler_t::replace)));
  }
  CHECK(JsonLine().str() == "{}");
}
