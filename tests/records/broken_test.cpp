#include "catch.h"
#include "records/audit_record.h"
#include "records/change_record.h"
#include "records/engines.h"
#include "records/json_read.h"
#include "records/snapshot.h"
#include "support/memory_disk.h"

// What a power cut, another version or a hand can make of a record must never do more than be refused.

namespace {

using namespace vergeset;
using namespace vergeset::records;

bool says(const std::string& text, const std::string& words) {
  return text.find(words) != std::string::npos;
}

std::string repeated(const std::string& text, int times) {
  std::string all;
  for (int i = 0; i < times; ++i) all += text;
  return all;
}

const std::string begun =
    "change: 7\nkind: apply\nfleet: Larkmoor district\nwho: t@desk\nwhy: x\nbegun: 2026-11-25T02:00:00.000Z\n"
    "units:\n  LK-101:\n    outcome: held\n    steps: 0\n    off-air-ms: 0\nfiles: {}\n";

const std::string row =
    "unit: LK-104\nmodel: ntcip1218-v01\ntaken: x\nengine-id: \"80\"\non-air: yes\nvalues: []\nrows:\n"
    "  - {table: rsuMsgRepeatStatusTable, row: 3, status-oid: 1.9.3, present: yes, columns: []}\n";

std::string with(std::string text, const std::string& old, const std::string& other) {
  const std::size_t at = text.find(old);
  REQUIRE(at != std::string::npos);
  return text.replace(at, old.size(), other);
}

TEST_CASE("a journal whose members are not what they should be tells what it can, and does not throw") {
  test::MemoryDisk disk;
  disk.files["changes/0007/change.yaml"] = begun;
  disk.files["changes/0007/journal.jsonl"] =
      "{\"event\":\"step\",\"unit\":7}\n[]\n3\nnull\n{\"event\":[],\"unit\":\"LK-101\"}\n"
      "{\"event\":\"result\",\"unit\":\"LK-101\",\"result\":true}\n"
      "{\"event\":\"outcome\",\"unit\":\"LK-101\",\"outcome\":\"settled\",\"what\":{},\"off_air_ms\":\"x\"}"
      "\n";
  const auto found = find_change(disk, 7);
  REQUIRE(found);
  CHECK(found->units[0].outcome == "settled");
  CHECK(found->units[0].off_air_ms == 0);
  CHECK(all_changes(disk).size() == 1);
}

TEST_CASE("JSON that nests deeper than any record is a problem and no crash") {
  const std::string deep = repeated("[", 1'000'000) + repeated("]", 1'000'000);
  const auto audit = audit_from_json(R"({"audit":)" + deep + "}");
  REQUIRE_FALSE(audit);
  CHECK(says(audit.problem(), "more than 100 deep"));
  CHECK_FALSE(audit_from_json(R"({"audit":2,"units":)" + deep + "}"));
  CHECK(parse_json(repeated("[", 100) + repeated("]", 100)));
  CHECK_FALSE(parse_json(repeated("[", 101) + repeated("]", 101)));
  CHECK(parse_json("[\"" + repeated("[", 200) + "\\\"" + repeated("[", 200) + "\"]"));
}

TEST_CASE("a row of a snapshot that is neither there nor not there, or has no index, is a problem") {
  REQUIRE(snapshot_from_yaml(row));
  for (const auto& [old, other] : std::vector<std::pair<std::string, std::string>>{
           {"present: yes", "present: ye"},      // would be removed
           {"row: 3", "row: 4294967299"},        // would be row 3
           {"row: 3", "row: x"},                 // would be row 0
           {"on-air: yes", "on-air: \"\""},      // would be left in standby
           {"values: []\n", ""},                 // would not be restored
           {"columns: []", "columns: nothing"},  // would be made without columns
           {"rows:\n", "rowz:\n"}}) {
    INFO(other);
    CHECK_FALSE(snapshot_from_yaml(with(row, old, other)));
  }
}

TEST_CASE("aliases have no place in a record: a few lines of them stand for more than memory holds") {
  const std::string aliased = with(row, "columns: []", "columns: &c []") +
                              "  - {table: t, row: 4, status-oid: 1.9.4, present: yes, columns: *c}\n";
  const auto read = snapshot_from_yaml(aliased);
  REQUIRE_FALSE(read);
  CHECK(says(read.problem(), "line 9: an alias (*) has no place in a record"));
  CHECK(snapshot_from_yaml(with(row, "taken: x", "taken: \"R&D *\"")));
}

TEST_CASE("a record is read to its end or not at all") {
  const auto hidden = snapshot_from_yaml(with(row, "rows:", "rows: []\n\x04\nmore:"));
  REQUIRE_FALSE(hidden);
  CHECK(says(hidden.problem(), "line 8: what stands here is no UTF-8 text"));
  CHECK_FALSE(snapshot_from_yaml(row + "---\n" + row));
  CHECK_FALSE(snapshot_from_yaml(with(row, "taken: x", "taken: \xff")));
  // yaml-cpp never gets past these.
  CHECK_FALSE(snapshot_from_yaml(","));
  CHECK_FALSE(snapshot_from_yaml(row + "...\n, a"));
}

TEST_CASE("an engine that started beyond all time is passed over") {
  test::MemoryDisk disk;
  disk.files["engines.jsonl"] =
      "{\"unit\":\"LK-101\",\"engine\":\"8000\",\"boots\":1,\"started\":-9223372036854775808}\n"
      "{\"unit\":\"LK-102\",\"engine\":\"8000\",\"boots\":4294967297,\"started\":1795000000}\n"
      "{\"unit\":\"LK-103\",\"engine\":\"8000\",\"boots\":1e300,\"started\":1795000000}\n"
      "{\"unit\":\"LK-104\",\"engine\":\"8000\",\"boots\":1,\"started\":1795000000}\n";
  const Engines engines = Engines::read(disk);
  CHECK_FALSE(engines.find("LK-101"));
  CHECK_FALSE(engines.find("LK-102"));
  CHECK_FALSE(engines.find("LK-103"));
  CHECK(engines.find("LK-104"));
}

}  // namespace
