#include <nlohmann/json.hpp>

#include "catch.h"
#include "program.h"
#include "records/change_record.h"
#include "records/lock.h"
#include "records/survey_record.h"

using namespace vergeset;
using namespace vergeset::tests;

/// Records that are in use, damaged, missing, or not where they are said to be.
namespace {

const std::vector<std::string> secrets = {"TRIAL_AUTH=of oak and ash", "TRIAL_PRIV=of elm and yew"};

records::Kept text(const char* name, smi::Oid oid, const std::string& octets) {
  return {name, std::move(oid), smi::Value::of_octets(octets)};
}

/// A change that touched these units: their notification address (rsuNotifyIpAddress).
void keep_change(const Fleet& fleet, const std::vector<std::string>& units) {
  records::FolderDisk disk(fleet.path("records"));
  records::ChangeRecord change;
  change.number = records::take_change_number(disk);
  change.ended = change.begun = "2026-11-20T02:00:00.000Z";
  for (const std::string& unit : units) {
    change.units.push_back({unit, "settled", "", 1, 0});
    records::Snapshot snapshot;
    snapshot.unit = unit;
    snapshot.model = "ntcip1218-v01";
    snapshot.values = {
        text("rsuNotifyIpAddress.0", smi::Oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18, 14, 1, 0}, "0.0.0.0")};
    disk.write_whole(records::change_path(change.number, unit + ".snapshot.yaml"), to_yaml(snapshot));
  }
  disk.write_whole(records::change_path(change.number, "change.yaml"), records::to_yaml(change));
}

}  // namespace

TEST_CASE("while a change is under way a second one is refused, and what changes nothing is not") {
  const Fleet fleet("locked");
  keep_change(fleet, {"LK-101"});
  const auto lock =
      records::Lock::take(fleet.path("records"), {"ops@desk", "apply", "2026-11-25T02:00Z", 4711});
  REQUIRE(lock);
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"apply", "--yes"}, {"rollback", "1", "--yes"}}) {
    const Ran ran = fleet.on(words, secrets);
    CHECK(ran.status == 2);
    CHECK_THAT(
        ran.err,
        Catch::Contains("a change is under way: ops@desk (apply, since 2026-11-25T02:00Z, process 4711)"));
  }
  CHECK_THAT(fleet.on({"apply", "--dry-run"}).err, !Catch::Contains("under way"));
  CHECK(fleet.on({"changes"}).status == 0);
}

TEST_CASE("records that cannot be written are told before any secret is read") {
  const Fleet fleet("unwritable");
  for (const char* command : {"apply", "audit", "survey", "diff"}) {
    const Ran ran = fleet.on({command, "--records", fleet.path("fleet.yaml")});
    INFO(command << ran.err);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Catch::Contains("fleet.yaml is no folder") && Catch::Contains("--records"));
  }
}

TEST_CASE("records that were named and are not there are told, not taken for none") {
  const Fleet fleet("elsewhere-not");
  for (const std::string& where : {fleet.path("fleet.yaml"), fleet.path("nowhere")}) {
    for (const std::vector<std::string>& words :
         {std::vector<std::string>{"changes"}, {"changes", "show", "1"}, {"log", "LK-101"}, {"units"}}) {
      std::vector<std::string> all = words;
      all.insert(all.end(), {"--records", where});
      const Ran ran = fleet.on(all);
      CHECK(ran.status == 2);
      CHECK_THAT(ran.err, Catch::Contains("no folder") && Catch::Contains(where));
    }
  }
}

TEST_CASE("a survey that is missing or damaged is one unit's, and the others are compared") {
  const Fleet fleet("surveys");
  records::FolderDisk disk(fleet.path("records"));
  records::Survey survey{"LK-101", "ntcip1218-v01", "2026-11-25T02:00:00.000Z", "80001f8804", false, {}};
  const auto object = [](std::initializer_list<std::uint32_t> end) {
    smi::Oid oid{1, 3, 6, 1, 4, 1, 1206, 4, 2, 18};
    for (const std::uint32_t one : end) oid = oid.child(one);
    return oid;
  };
  survey.instances = {text("rsuMibVersion.0", object({13, 1, 0}), "NTCIP 1218 v01"),
                      text("rsuNotifyIpAddress.0", object({14, 1, 0}), "198.51.100.66")};
  disk.write_whole(records::survey_path("LK-101"), records::to_yaml(survey));
  const Ran ran = fleet.on({"diff", "--survey"});
  INFO(ran.out << ran.err);
  CHECK(ran.status == 4);
  CHECK_THAT(ran.out, Catch::Contains("as surveyed 2026-11-25T02:00Z   1 difference") &&
                          Catch::Contains("198.51.100.66") && Catch::Contains("vergeset survey LK-102") &&
                          Catch::Contains("1 drifted, 1 no answer"));
  disk.write_whole(records::survey_path("LK-102"), "survey: [\n");
  CHECK_THAT(fleet.on({"diff", "LK-102", "--survey"}).out,
             Catch::Contains(fleet.path("records/surveys/LK-102.yaml")));
}

TEST_CASE("a change whose record is damaged is told by its file, and is not said to be none") {
  const Fleet fleet("damaged");
  keep_change(fleet, {"LK-101"});
  const std::string record = "records/changes/0001/change.yaml";
  fleet.write(record, "change: [\n");
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"changes", "show", "1"}, {"rollback", "1"}}) {
    const Ran ran = fleet.on(words);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Catch::Contains(fleet.path(record)) && Catch::Contains("put it back from a copy"));
  }
  CHECK_THAT(fleet.on({"changes"}).err, Catch::Contains("note: " + fleet.path(record)));
}

TEST_CASE("a damaged snapshot is told by its file and with the way to go on without it") {
  const Fleet fleet("damaged-snapshot");
  keep_change(fleet, {"LK-101"});
  fleet.write("records/changes/0001/LK-101.snapshot.yaml", "unit: [\n");
  const Ran ran = fleet.on({"rollback", "1"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains(fleet.path("records/changes/0001/LK-101.snapshot.yaml")) &&
                          Catch::Contains("--except LK-101"));
}

TEST_CASE("a unit that is gone from the files keeps no other from being rolled back") {
  const Fleet fleet("gone");
  keep_change(fleet, {"LK-100", "LK-101"});
  const std::string note = "note: no longer in this fleet's files, and left as they are: LK-100\n";
  // Without secrets the way ends where units would be reached.
  const Ran all = fleet.on({"rollback", "1", "--dry-run"});
  CHECK_THAT(all.err, Catch::Contains(note) && Catch::Contains("TRIAL_AUTH"));
  const Ran other = fleet.on({"rollback", "1", "LK-101", "--dry-run"});
  CHECK_THAT(other.err, !Catch::Contains("LK-100") && Catch::Contains("TRIAL_AUTH"));
  const Ran spared = fleet.on({"rollback", "1", "--except", "LK-100", "--dry-run"});
  CHECK_THAT(spared.err, !Catch::Contains("LK-100") && Catch::Contains("TRIAL_AUTH"));
  const Ran named = fleet.on({"rollback", "1", "LK-100", "--dry-run"});
  CHECK(named.status == 2);
  CHECK_THAT(named.err, Catch::Contains("touched LK-100, which is no longer in this fleet's files"));
}
