#include "records/thinning.h"

#include <filesystem>

#include "catch.h"
#include "records/audit_record.h"
#include "records/change_record.h"
#include "records/clock.h"
#include "records/unit_log.h"

using namespace vergeset;
using namespace vergeset::records;

namespace {

constexpr std::int64_t day = 86400000;
// 2026-11-26T06:00:00Z.
constexpr std::int64_t now = 1795672800000;

/// A folder of records that goes with the test.
struct ThinFolder {
  explicit ThinFolder(const std::string& name)
      : path(std::string(BINARY_DIR) + "/thinning-" + name),
        disk((std::filesystem::remove_all(path), path)) {}
  ~ThinFolder() { std::filesystem::remove_all(path); }

  /// An audit of so many days ago, of one unit that had drifted.
  std::string audit(int days) {
    AuditHead head;
    head.fleet = "Larkmoor district";
    head.part = "whole";
    head.begun = stamp(now - days * day);
    head.ended = stamp(now - days * day + 60000);
    AuditedUnit unit;
    unit.unit = "LK-104";
    unit.verdict = "drifted";
    unit.taken = head.begun;
    unit.remarks = {{"not offered", "notify-port", "the unit does not offer rsuNotifyPort"}};
    AuditText text;
    text.add(unit);
    return keep_audit(disk, head, text);
  }

  void change(int number, int days, bool ended) {
    ChangeRecord change;
    change.number = number;
    change.kind = "apply";
    change.begun = stamp(now - days * day);
    if (ended) change.ended = stamp(now - days * day + 60000);
    disk.write_whole(change_path(number, "change.yaml"), to_yaml(change));
    for (const char* name : {"journal.jsonl", "LK-104.snapshot.yaml", "LK-104.left.yaml"})
      disk.write_whole(change_path(number, name), "x");
  }

  bool has(const std::string& file) const { return disk.read(file).has_value(); }
  Thinned thin(const Ages& ages, bool really = true) { return records::thin(disk, ages, now, really); }

  std::string path;
  FolderDisk disk;
};

}  // namespace

TEST_CASE("an audit past its days is cut to how each unit stood, and is gone after more of them") {
  ThinFolder folder("audits");
  const std::string oldest = folder.audit(400);
  const std::string old = folder.audit(100);
  const std::string young = folder.audit(80);
  folder.audit(1);
  folder.audit(0);
  const Thinned done = folder.thin({92, 365, {}, {}});
  CHECK(done.audits_cut == 1);
  CHECK(done.audits_gone == 1);
  CHECK(done.octets > 0);
  CHECK_FALSE(folder.has(oldest));
  const auto cut = find_audit(folder.disk, old);
  REQUIRE(cut);
  CHECK(cut->head.cut == stamp(now));
  CHECK(cut->head.begun == stamp(now - 100 * day));
  REQUIRE(cut->units.size() == 1);
  CHECK(cut->units.front().unit == "LK-104");
  CHECK(cut->units.front().verdict == "drifted");
  CHECK(cut->units.front().remarks.empty());
  CHECK(find_audit(folder.disk, young)->units.front().remarks.size() == 1);
  SECTION("and once is enough") {
    CHECK(folder.thin({92, 365, {}, {}}).nothing());
  }
}

TEST_CASE("the two newest audits stay whole, however long ago the last night was") {
  ThinFolder folder("newest");
  folder.audit(900);
  const std::string last_but_one = folder.audit(800);
  const std::string last = folder.audit(700);
  CHECK(folder.thin({92, 365, {}, {}}).audits_gone == 1);
  CHECK(find_audit(folder.disk, last)->head.cut.empty());
  CHECK(find_audit(folder.disk, last_but_one)->head.cut.empty());
}

TEST_CASE("snapshots go with age, but never those of a change that has not ended, nor the account of any") {
  ThinFolder folder("snapshots");
  folder.change(1, 400, true);
  folder.change(2, 400, false);
  folder.change(3, 10, true);
  const Thinned done = folder.thin({{}, {}, 365, {}});
  CHECK(done.changes == 1);
  CHECK_FALSE(folder.has("changes/0001/LK-104.snapshot.yaml"));
  CHECK_FALSE(folder.has("changes/0001/LK-104.left.yaml"));
  CHECK(folder.has("changes/0001/change.yaml"));
  CHECK(folder.has("changes/0001/journal.jsonl"));
  for (const char* number : {"0002", "0003"}) {
    CHECK(folder.has(std::string("changes/") + number + "/LK-104.snapshot.yaml"));
    CHECK(folder.has(std::string("changes/") + number + "/LK-104.left.yaml"));
  }
}

TEST_CASE("a change whose record cannot be read may not have ended: it keeps its snapshots and is told") {
  ThinFolder folder("damaged");
  folder.change(1, 400, true);
  folder.disk.write_whole("changes/0001/change.yaml", "change: [");
  const Thinned done = folder.thin({{}, {}, 365, {}});
  CHECK(done.changes == 0);
  REQUIRE(done.left.size() == 1);
  CHECK_THAT(done.left.front(), Catch::StartsWith("changes/0001/change.yaml: "));
  CHECK(folder.has("changes/0001/LK-104.snapshot.yaml"));
}

TEST_CASE("a unit's log loses its old lines, and what stands below them without a time") {
  ThinFolder folder("logs");
  const std::string old = stamp(now - 40 * day) + "  audit        GET\n  more of it\n";
  const std::string young =
      stamp(now - 20 * day) + "  audit        GET\n  more\n" + stamp(now) + "  audit        end\n";
  folder.disk.write_whole("units/LK-104.log", old + young);
  folder.disk.write_whole("units/LK-105.log", young);
  const Thinned done = folder.thin({{}, {}, {}, 30});
  CHECK(done.logs == 1);
  CHECK(done.octets == old.size());
  CHECK(folder.disk.read("units/LK-104.log") == young);
  CHECK(folder.disk.read("units/LK-105.log") == young);
}

TEST_CASE("a log that somebody writes to is left, and what is written after a thinning is in the new file") {
  ThinFolder folder("busy");
  folder.disk.write_whole("units/LK-104.log", stamp(now - 40 * day) + "  audit        GET\n");
  {
    const auto writer = folder.disk.appender("units/LK-104.log");
    writer->append("one\n");
    const Thinned done = folder.thin({{}, {}, {}, 30});
    CHECK(done.logs == 0);
    REQUIRE(done.left.size() == 1);
    writer->append("two\n");
  }
  const auto later = folder.disk.appender("units/LK-104.log");
  folder.disk.append("units/LK-104.log", "three\n", false);
  CHECK(folder.thin({{}, {}, {}, 30}).logs == 1);
  later->append("four\n");
  CHECK(folder.disk.read("units/LK-104.log") == "four\n");
}

TEST_CASE("a rehearsal of thinning counts the same and writes nothing") {
  ThinFolder folder("dry");
  const std::string oldest = folder.audit(400);
  folder.audit(100);
  folder.audit(1);
  folder.audit(0);
  folder.change(1, 400, true);
  folder.disk.write_whole("units/LK-104.log", stamp(now - 400 * day) + "  audit        GET\n");
  const Ages ages{92, 365, 365, 365};
  const Thinned said = folder.thin(ages, false);
  CHECK(folder.has(oldest));
  CHECK(folder.has("changes/0001/LK-104.snapshot.yaml"));
  const Thinned done = folder.thin(ages);
  CHECK(said.audits_cut == done.audits_cut);
  CHECK(said.audits_gone == done.audits_gone);
  CHECK(said.changes == done.changes);
  CHECK(said.logs == done.logs);
  CHECK(said.octets == done.octets);
}

TEST_CASE("what is kept for ever stays") {
  ThinFolder folder("ever");
  folder.audit(4000);
  folder.audit(3000);
  folder.audit(0);
  folder.change(1, 4000, true);
  CHECK(folder.thin({}).nothing());
}
