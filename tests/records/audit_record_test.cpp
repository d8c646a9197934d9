#include "records/audit_record.h"

#include <filesystem>

#include "catch.h"
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

AuditRecord sample() {
  const smi::Oid oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 6, 9, 0};
  AuditedUnit unit;
  unit.unit = "LK-104";
  unit.verdict = "drifted";
  unit.differences = {{"position-tolerance",
                       "value",
                       {{"position-tolerance",
                         {"rsuGnssMaxDeviation.0", oid, smi::Value::integer(20000)},
                         smi::Value::integer(15),
                         "20000 m",
                         "15 m"}}}};
  unit.remarks = {"notify-port: the unit does not offer rsuNotifyPort"};
  unit.health = {"3 satellites"};
  return {"Larkmoor district", "ops@desk", "2026-11-25T02:00:00.000Z", "2026-11-25T02:00:09.000Z", {unit}};
}

}  // namespace

TEST_CASE("an audit that was kept reads back as it was") {
  const auto read = audit_from_json(to_json(sample()));
  REQUIRE(read);
  CHECK(*read == sample());
}

TEST_CASE("two audits of the same second are both kept, in their order") {
  const Folder folder("audits-of-one-second");
  FolderDisk disk(folder.path);
  const std::int64_t time = 1764036000000;
  const std::string first = keep_audit(disk, sample(), time);
  AuditRecord other = sample();
  other.who = "second@desk";
  const std::string second = keep_audit(disk, other, time);
  CHECK(all_audits(disk) == std::vector<std::string>{first, second});
  REQUIRE(find_audit(disk, first));
  REQUIRE(find_audit(disk, second));
  CHECK(find_audit(disk, first)->who == "ops@desk");
  CHECK(find_audit(disk, second)->who == "second@desk");
}

TEST_CASE("text that is no audit record is a problem that says so") {
  CHECK_FALSE(audit_from_json("{}"));
  CHECK_FALSE(audit_from_json("{\"audit\": 1, \"units\": 7}"));
  CHECK_FALSE(audit_from_json("not json"));
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
