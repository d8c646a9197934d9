#include "records/unfinished.h"

#include "catch.h"
#include "support/memory_disk.h"

using namespace vergeset;
using namespace vergeset::records;
using vergeset::test::MemoryDisk;

namespace {

const char* const begun =
    "change: 7\nkind: apply\nfleet: Larkmoor\nwho: test@bench\nwhy: \"\"\n"
    "begun: 2026-11-26T02:00:00.000Z\nunits:\n  LK-101:\n    outcome: held\n    steps: 0\n"
    "    off-air-ms: 0\nfiles: {}\n";

std::string step(int number, const std::string& more = "") {
  return "{\"at\":\"2026-11-26T02:00:0" + std::to_string(number) +
         ".000Z\",\"event\":\"step\",\"unit\":\"LK-101\",\"number\":" + std::to_string(number) +
         ",\"about\":\"mode\",\"numbered\":true" + more +
         ",\"set\":[{\"object\":\"sysName.0\",\"oid\":\"1.3.6.1.2.1.1.5.0\",\"type\":\"OCTET STRING\","
         "\"value\":\"4c4b\"}]}\n";
}

const std::string begin_unit = "{\"event\":\"begin unit\",\"unit\":\"LK-101\",\"steps\":3}\n";

std::vector<Unfinished> read(const std::string& journal, const std::string& change = begun) {
  MemoryDisk disk;
  disk.folders.insert("changes/0007");
  disk.files["changes/0007/change.yaml"] = change;
  disk.files["changes/0007/journal.jsonl"] = journal;
  return unfinished_changes(disk);
}

TEST_CASE("a change that has ended is not unfinished, and one that has not is, though no unit was begun") {
  CHECK(read("", std::string(begun) + "ended: 2026-11-26T02:00:09.000Z\n").empty());
  const auto all = read("");
  REQUIRE(all.size() == 1);
  CHECK(all[0].change.number == 7);
  CHECK(all[0].units.empty());
}

TEST_CASE("a unit is half done from its first line to its outcome, with what may have been set") {
  const auto all = read(begin_unit + step(1) + step(2, ",\"mode\":\"standby\""));
  REQUIRE(all.at(0).units.size() == 1);
  const HalfDone& half = all[0].units[0];
  CHECK(half.steps == 3);
  REQUIRE(half.announced.size() == 2);
  CHECK(half.announced[0].sets.at(0).value.octets == "LK");
  CHECK(half.announced[1].mode == AnnouncedStep::Mode::standby);
  CHECK(half.mode_touched);
  CHECK(half.standby_at == half.last_step_at);
  CHECK_FALSE(half.incomplete);
  CHECK_FALSE(half.unnumbered);
  const std::string outcome = "{\"event\":\"outcome\",\"unit\":\"LK-101\",\"outcome\":\"settled\"}\n";
  CHECK(read(begin_unit + step(1) + outcome).at(0).units.empty());
}

TEST_CASE("a line that is torn was never acted on, and a line that is missing makes the rest uncertain") {
  const std::string whole = begin_unit + step(1) + step(2);
  CHECK(read(whole.substr(0, whole.size() - 9)).at(0).units.at(0).announced.size() == 1);
  CHECK_FALSE(read(whole.substr(0, whole.size() - 9)).at(0).units.at(0).incomplete);
  CHECK(read(begin_unit + step(2)).at(0).units.at(0).incomplete);
  CHECK(read(begin_unit + step(1) + step(1)).at(0).units.at(0).announced.size() == 1);
  CHECK_FALSE(read(begin_unit + step(1) + step(1)).at(0).units.at(0).incomplete);
}

}  // namespace
