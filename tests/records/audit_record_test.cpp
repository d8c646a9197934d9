#include "records/audit_record.h"

#include <filesystem>

#include "catch.h"
#include "records/clock.h"
#include "records/journal.h"
#include "records/survey_record.h"

using namespace vergeset;
using namespace vergeset::records;

namespace {

/// A folder of records that goes with the test.
struct Folder {
  explicit Folder(const std::string& name) : path(std::string(BINARY_DIR) + "/" + name) {
    std::filesystem::remove_all(path);
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::string path;
};

AuditedUnit drifted() {
  const smi::Oid oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 6, 9, 0};
  const Kept tolerance{"rsuGnssMaxDeviation.0", oid, smi::Value::integer(20000)};
  const Kept gone{"rsuMsgRepeatPsid.9", oid.child(9), smi::Value::of_octets("\x80\x03")};
  const Kept none{"rsuMsgRepeatTxChannel.1", oid.child(1),
                  smi::Value::of_number(smi::Type::no_such_instance, 0)};
  AuditedUnit unit;
  unit.unit = "LK-104";
  unit.verdict = "drifted";
  unit.taken = "2026-11-25T02:00:01.000Z";
  unit.differences = {
      {"position-tolerance",
       "value",
       "",
       0,
       "fleet.yaml:4:3",
       true,
       {{"position-tolerance", tolerance, smi::Value::integer(15), "20000 m", "15 m", true, true,
         "fleet.yaml:4:3"}}},
      {"store-and-repeat map",
       "new row",
       "rsuMsgRepeatStatusTable",
       1,
       "fleet.yaml:9:3",
       true,
       {{"channel", none, smi::Value::integer(172), "none", "172", false, false, "fleet.yaml:10:5"}}},
      {"store-and-repeat old-notice",
       "removed row",
       "rsuMsgRepeatStatusTable",
       9,
       "",
       false,
       {{"psid", gone, std::nullopt, "0x83", "", false, false, ""}}}};
  unit.obstacles = {"store-and-repeat: no free row"};
  unit.remarks = {{"not offered", "notify-port", "the unit does not offer rsuNotifyPort"}};
  unit.health = {{"satellites", "warning", "3 satellites", "common practice"}};
  unit.ends = {{"enrolment certificate", 1796000000000},
               {"application certificate for PSID 0x20", 1795100000000, true, true}};
  return unit;
}

AuditedUnit agreeing(const std::string& name) {
  AuditedUnit unit;
  unit.unit = name;
  unit.verdict = "agrees";
  unit.taken = "2026-11-25T02:00:00.500Z";
  return unit;
}

/// All that is kept of a unit for the next audit, and where it was found.
AuditedUnit counted(const std::string& name, std::int64_t taken = 1795000000000) {
  AuditedUnit unit = agreeing(name);
  unit.position = {54.90001234, -20.00004321, 12.34, 4.321, 271.25, ""};
  unit.counted = {
      taken, 86400, {{"rsuMessageCountsByPsidCounts.1", 4294967295U}}, {1794900000000, 1794990000000}};
  return unit;
}

AuditHead head() {
  return {"Larkmoor district",
          "ops@desk",
          "2/4",
          {{"LK-1*"}, {"signals"}, {"rsu-4.1"}, {"LK-10?"}},
          "0f1e2d3c",
          "2026-11-25T02:00:00.000Z",
          "2026-11-25T02:00:09.000Z"};
}

AuditRecord sample() {
  return {head(), {agreeing("LK-103"), drifted()}};
}

}  // namespace

TEST_CASE("an audit that was kept reads back as it was") {
  const auto read = audit_from_json(to_json(sample()));
  REQUIRE(read);
  CHECK(*read == sample());
}

TEST_CASE("what was counted of a unit, and where it was found, reads back as it was") {
  AuditedUnit lost = agreeing("LK-104");
  lost.position.unknown = "it has 2 satellites";
  const AuditRecord record{head(), {counted("LK-103"), lost}};
  const auto read = audit_from_json(to_json(record));
  REQUIRE(read);
  CHECK(*read == record);
}

TEST_CASE("counters, positions and times that are none make a record a problem") {
  const std::string good = to_json({head(), {counted("LK-103")}});
  REQUIRE(audit_from_json(good));
  for (const auto& [is, other] : {std::pair("4294967295", "4294967296"),
                                  {"4294967295", "-1"},
                                  {"4294967295", "\"many\""},
                                  {"86400", "1e300"},
                                  {"86400", "-5"},
                                  {"271.25", "\"west\""},
                                  {"54.90001234", "91"},
                                  {"-20.00004321", "1e999"},
                                  {"\"restarts\":[", "\"restarts\":[7,"},
                                  {"\"at\":\"2026", "\"at\":\"never"}}) {
    std::string bad = good;
    REQUIRE(bad.find(is) != std::string::npos);
    bad.replace(bad.find(is), std::string(is).size(), other);
    CAPTURE(bad);
    CHECK_FALSE(audit_from_json(bad));
  }
}

TEST_CASE("what was last counted of units is found in the newest records that know them") {
  const Folder folder("last-counted");
  FolderDisk disk(folder.path);
  const auto keep_units = [&](const char* begun, const std::vector<AuditedUnit>& units) {
    AuditHead one = head();
    one.begun = begun;
    AuditText text;
    for (const AuditedUnit& unit : units) text.add(unit);
    keep_audit(disk, one, text);
  };
  CHECK(last_counted(disk, {"LK-101"}).empty());
  keep_units("2026-11-23T02:00:00.000Z",
             {counted("LK-101", 1000), counted("LK-102", 1000), counted("LK-103", 1000)});
  keep_units("2026-11-24T02:00:00.000Z",
             {counted("LK-101", 2000), agreeing("LK-102"), counted("LK-104", 2000)});
  disk.write_whole("audits/2026-11-25T02-00-00Z.json", "{ torn\n  {\"unit\":\"LK-101\"");
  const auto last = last_counted(disk, {"LK-101", "LK-102", "LK-103"});
  // LK-102 had nothing counted when it was last audited: what was before is not its any more.
  REQUIRE(last.size() == 2);
  CHECK(last.at("LK-101") == counted("LK-101", 2000).counted);
  CHECK(last.at("LK-103") == counted("LK-103", 1000).counted);
}

TEST_CASE("many audits of a unit or two do not hide what was counted of all the others") {
  const Folder folder("last-counted-small");
  FolderDisk disk(folder.path);
  const auto keep_unit = [&](const std::string& begun, const std::string& unit) {
    AuditHead one = head();
    one.begun = begun;
    AuditText text;
    text.add(counted(unit, 1000));
    keep_audit(disk, one, text);
  };
  keep_unit("2026-11-23T02:00:00.000Z", "LK-102");
  for (int i = 10; i < 60; ++i) keep_unit("2026-11-24T02:00:" + std::to_string(i) + ".000Z", "LK-101");
  CHECK(last_counted(disk, {"LK-102"}).size() == 1);
}

TEST_CASE(
    "the record of ten thousand units with counters and positions takes less than four million octets") {
  AuditText text;
  for (int i = 10000; i < 20000; ++i) {
    AuditedUnit unit = counted("LK-" + std::to_string(i));
    unit.counted.restarts.clear();
    text.add(unit);
  }
  CHECK(text.under(head()).size() < 4000000);
}

TEST_CASE("an audit of no unit, as of a part that nobody falls into, reads back as it was") {
  const auto read = audit_from_json(to_json({head(), {}}));
  REQUIRE(read);
  CHECK(*read == AuditRecord{head(), {}});
}

TEST_CASE("a record is one line a unit, and of a unit that agrees a short one") {
  AuditText text;
  text.add(agreeing("LK-103"));
  text.add(agreeing("LK-104"));
  CHECK_THAT(text.under(head()), Catch::Contains("\n  {\"unit\":\"LK-103\",\"verdict\":\"agrees\","
                                                 "\"taken\":\"2026-11-25T02:00:00.500Z\"},\n"));
}

TEST_CASE("the record of ten thousand units that agree takes less than two million octets") {
  AuditText text;
  for (int i = 10000; i < 20000; ++i) text.add(agreeing("LK-" + std::to_string(i)));
  const std::string whole = text.under(head());
  CHECK(whole.size() < 2000000);
  const auto read = audit_from_json(whole);
  REQUIRE(read);
  CHECK(read->units.size() == 10000);
  CHECK(read->units.back() == agreeing("LK-19999"));
}

TEST_CASE("a record that was kept before there were parts is still read") {
  const auto read = audit_from_json(
      R"json({"audit": 1, "fleet": "Larkmoor district", "who": "ops@desk", "begun": "2026-11-25T02:00:00.000Z",
      "ended": "2026-11-25T02:00:09.000Z", "units": [{"unit": "LK-104", "verdict": "drifted", "what": "",
      "differences": [{"title": "position-tolerance", "kind": "value", "items": [{"setting":
      "position-tolerance", "object": "rsuGnssMaxDeviation.0", "oid": "1.3.6.1.4.1.1206.4.2.18.6.9.0",
      "as_found": {"words": "20000 m", "type": "Integer32", "value": "20000"},
      "desired": {"words": "15 m", "type": "Integer32", "value": "15"}}]}],
      "obstacles": [], "remarks": ["notify-port: not offered"], "health": ["3 satellites (common practice)"]}]})json");
  REQUIRE(read);
  CHECK(read->head.part.empty());
  CHECK(read->head.ended == "2026-11-25T02:00:09.000Z");
  REQUIRE(read->units.size() == 1);
  CHECK(read->units[0].verdict == "drifted");
  CHECK(read->units[0].differences[0].name == "position-tolerance");
  CHECK(read->units[0].differences[0].items[0].desired == smi::Value::integer(15));
  CHECK(read->units[0].remarks[0].text == "notify-port: not offered");
}

TEST_CASE("two audits of the same second are both kept, in their order") {
  const Folder folder("audits-of-one-second");
  FolderDisk disk(folder.path);
  AuditHead whole = head();
  whole.part = "whole";
  const std::string first = keep_audit(disk, whole, AuditText());
  CHECK(first == "audits/2026-11-25T02-00-00Z.json");
  AuditHead other = whole;
  other.who = "second@desk";
  const std::string second = keep_audit(disk, other, AuditText());
  CHECK(all_audits(disk) == std::vector<std::string>{first, second});
  REQUIRE(find_audit(disk, first));
  REQUIRE(find_audit(disk, second));
  CHECK(find_audit(disk, first)->head.who == "ops@desk");
  CHECK(find_audit(disk, second)->head.who == "second@desk");
}

TEST_CASE("parts that begin in one second are kept under names of their own, whoever comes first") {
  const Folder folder("audits-of-parts");
  FolderDisk disk(folder.path);
  AuditHead other = head();
  other.part = "3/4";
  CHECK(keep_audit(disk, other, AuditText()) == "audits/2026-11-25T02-00-00Z_3-of-4.json");
  CHECK(keep_audit(disk, head(), AuditText()) == "audits/2026-11-25T02-00-00Z_2-of-4.json");
  CHECK(keep_audit(disk, head(), AuditText()) == "audits/2026-11-25T02-00-00Z_2-of-4_2.json");
}

TEST_CASE("text that is no audit record is a problem that says so") {
  CHECK_FALSE(audit_from_json("{}"));
  CHECK_FALSE(audit_from_json("{\"audit\": 1, \"units\": 7}"));
  CHECK_FALSE(audit_from_json("not json"));
  CHECK_FALSE(audit_from_json("[]"));
  CHECK_FALSE(audit_from_json(""));
  const std::string whole = to_json(sample());
  CHECK_FALSE(audit_from_json(whole.substr(0, whole.size() / 2)));
}

TEST_CASE("a record read unit by unit tells what the whole record tells") {
  AuditRecord record{head(), {agreeing("LK-103"), drifted(), counted("LK-105")}};
  std::vector<AuditedUnit> units;
  std::vector<std::string> verdicts;
  const auto one = read_audit(to_json(record), [&](const AuditLine& line) {
    verdicts.push_back(line.unit + " " + line.verdict);
    units.push_back(line.whole());
  });
  const auto other = read_audit_head(to_json(record));
  REQUIRE(one);
  REQUIRE(other);
  CHECK(*one == record.head);
  CHECK(*other == record.head);
  CHECK(units == record.units);
  CHECK(verdicts == std::vector<std::string>{"LK-103 agrees", "LK-104 drifted", "LK-105 agrees"});
  // However its lines are broken.
  const std::string one_line = records::Json::parse(to_json(record)).dump();
  const auto again = audit_from_json(one_line);
  REQUIRE(again);
  CHECK(*again == record);
}

TEST_CASE(
    "a list of units with a line that is torn, doubled or without its comma is a problem that says which") {
  const std::string whole = to_json({head(), {agreeing("LK-103"), agreeing("LK-104"), agreeing("LK-105")}});
  const auto without = [&](const std::string& octets, std::size_t nth) {
    std::size_t at = whole.find("\"units\": [\n");
    for (std::size_t i = 0; i <= nth; ++i) at = whole.find(octets, at + 1);
    std::string text = whole;
    text.erase(at, 1);
    const auto read = audit_from_json(text);
    return read ? "none" : read.problem();
  };
  CHECK_THAT(without("},\n", 1), Catch::Contains("unit 2 of the list is no JSON"));
  CHECK_THAT(without(",\n", 0), Catch::Contains("no comma behind unit 1 of the list"));
}

TEST_CASE("a record of a later version, or whose times are none, is a problem that says so") {
  const auto with = [](const std::string& found, const std::string& instead) {
    std::string text = to_json(sample());
    text.replace(text.find(found), found.size(), instead);
    const auto read = audit_from_json(text);
    return read ? "none" : read.problem();
  };
  CHECK(with("\"audit\": 2", "\"audit\": 3") == "no audit record: expected \"audit\": 2, found 3");
  CHECK_THAT(with("2026-11-25T02:00:00.000Z", "../../../../tmp/owned"), Catch::Contains("begun: no time"));
  CHECK_THAT(with("2026-11-25T02:00:09.000Z", "2026-02-30T02:00:00.000Z"), Catch::Contains("ended: no time"));
}

TEST_CASE("the time of a stamp is the time that it was made of") {
  for (const std::int64_t time :
       {std::int64_t{0}, std::int64_t{1764036000123}, std::int64_t{4102444799999}}) {
    CHECK(milliseconds_of(stamp(time)) == time);
  }
  for (const char* text : {"", "2026-11-25", "2026-11-25T02:00:00Z", "2026-11-25T02:00:00.000Zx"}) {
    CHECK_FALSE(milliseconds_of(text));
  }
}

TEST_CASE("octets that are no UTF-8 do not keep an audit from being written") {
  AuditRecord audit = sample();
  audit.units[0].what = "\xff\xfe";
  CHECK(audit_from_json(to_json(audit)));
}

TEST_CASE("a survey that was kept reads back with every value exact") {
  const smi::Oid oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 3, 2, 1, 7, 1};
  const Survey survey{"LK-104",
                      "ntcip1218-v01",
                      "2026-11-25T02:00:00.000Z",
                      "80001f8804",
                      true,
                      {{"rsuMsgRepeatPayload.1", oid, smi::Value::of_octets(std::string("\0\x1f\xff\"", 4))},
                       {"rsuMode.0", oid.child(1), smi::Value::integer(-3)},
                       {"gone.0", oid.child(2), smi::Value::of_number(smi::Type::no_such_object, 0)}}};
  const auto read = survey_from_yaml(to_yaml(survey));
  REQUIRE(read);
  CHECK(*read == survey);
}
