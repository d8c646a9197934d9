#include <nlohmann/json.hpp>

#include "catch.h"
#include "program.h"
#include "records/audit_record.h"
#include "records/change_record.h"
#include "records/clock.h"

using namespace vergeset;
using namespace vergeset::tests;
using Json = nlohmann::ordered_json;

namespace {

Json parsed(const Ran& ran) {
  return Json::parse(ran.out);
}

/// `snmpwalk -On` of a unit of NTCIP 1218 v01; objects as in schemas/ntcip1218-v01.yaml.
std::string walk(const std::string& tolerance) {
  const std::string root = ".1.3.6.1.4.1.1206.4.2.18.";
  return root + "6.9.0 = INTEGER: " + tolerance + "\n" +           // rsuGnssMaxDeviation
         root + "13.1.0 = STRING: \"NTCIP 1218 v01\"\n" +          // rsuMibVersion
         root + "13.4.0 = STRING: \"LK-101\"\n" +                  // rsuID
         root + "14.1.0 = STRING: \"192.0.2.10\"\n" +              // rsuNotifyIpAddress
         ".1.3.6.1.2.1.1.5.0 = STRING: \"first line\nsecond\"\n";  // sysName
}

}  // namespace

TEST_CASE("check passes a good fleet and tells its size") {
  const Fleet fleet("check-good");
  const Ran ran = fleet.on({"check"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::Contains("Larkmoor trial: 2 units, 1 group, 3 files; no fault"));
  CHECK_THAT(ran.out, Catch::Contains("NTCIP 1218 v01") && Catch::Contains("1 unit"));
  const Json json = parsed(fleet.on({"check", "--json"}));
  CHECK(json["vergeset"] == 1);
  CHECK(json["command"] == "check");
  CHECK(json["faults"].empty());
  CHECK(json["units_by_model"]["rsu-4.1"] == 1);
}

TEST_CASE("check exits 5 where a finding is an error to the fleet, and lists the rules that it goes by") {
  const Fleet fleet("check-findings");
  fleet.add("fleet.yaml", "severities: {bond: error, not-recorded: ignore}\n");
  const Ran ran = fleet.on({"check"});
  CHECK(ran.status == 5);
  CHECK_THAT(ran.out, Catch::Contains("no bond is recorded (common practice)"));
  CHECK_THAT(ran.out, Catch::Contains("2 errors, 2 warnings\n"));
  const Json json = parsed(fleet.on({"check", "--json"}));
  CHECK(json["findings"][0]["findings"][0]["rule"] == "bond");
  CHECK(json["findings"][0]["findings"][0]["severity"] == "error");
  CHECK_THAT(fleet.on({"check", "--rules"}).out, Catch::Contains("bond") && Catch::Contains("error") &&
                                                     Catch::Contains("cable-run") &&
                                                     Catch::Contains("100 m"));
}

TEST_CASE("check tells every fault of a fleet at once, with its place, and exits 2") {
  const Fleet fleet("check-bad");
  fleet.write("groups/signals.yaml",
              "settings:\n"
              "  position-tolerence: 15 m\n"
              "  notify-address: 999.0.2.10\n");
  const Ran ran = fleet.on({"check"});
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK_THAT(ran.err, Catch::Contains("groups/signals.yaml:2:3:") &&
                          Catch::Contains("did you mean position-tolerance?") &&
                          Catch::Contains("groups/signals.yaml:3:") && Catch::Contains("2 faults"));
  const Ran json = fleet.on({"check", "--json"});
  CHECK(json.status == 2);
  CHECK(parsed(json)["faults"].size() == 2);
  CHECK(parsed(json)["faults"][0]["line"] == 2);
}

TEST_CASE("every command stops at a faulty fleet before anything is sent") {
  const Fleet fleet("all-bad");
  fleet.write("units.yaml", "units: [\n");
  for (const char* command : {"units", "survey", "diff", "apply", "audit"}) {
    INFO(command);
    CHECK(fleet.on({command}).status == 2);
  }
  CHECK(fleet.on({"where", "LK-101"}).status == 2);
  CHECK(fleet.on({"rollback", "1"}).status == 2);
  CHECK_FALSE(std::filesystem::exists(fleet.path("records")));
}

TEST_CASE("a folder that is no fleet is told with what to do") {
  const Ran ran = run({"units", "--fleet", "/nonexistent"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("no fleet.yaml in /nonexistent") && Catch::Contains("--fleet"));
  CHECK(run({"check", "--fleet", "/nonexistent"}).err == ran.err);
}

TEST_CASE("units are listed with address, model and groups, chosen as asked") {
  const Fleet fleet("units");
  const Ran ran = fleet.on({"units"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::Contains("LK-101   127.0.0.1:16101   ntcip1218-v01   signals"));
  CHECK_THAT(ran.out, Catch::Contains("none yet") && Catch::Contains("2 units"));
  CHECK(parsed(fleet.on({"units", "--group", "signals", "--json"}))["units"].size() == 1);
  CHECK(parsed(fleet.on({"units", "LK-10?", "--except", "LK-101", "--json"}))["units"][0]["unit"] ==
        "LK-102");
  CHECK(parsed(fleet.on({"units", "--model", "rsu-4.1", "--json"}))["units"].size() == 1);
  const Ran none = fleet.on({"units", "XY-999"});
  CHECK(none.status == 2);
  CHECK_THAT(none.err, Catch::Contains("no unit is called XY-999; `vergeset units` lists them"));
  fleet.write("units.yaml", "units: {}\n");
  CHECK_THAT(fleet.on({"units"}).err, Catch::Contains("this fleet has no units; add one to units.yaml"));
}

TEST_CASE("the last outcome of a unit is the newer of its change and its audit") {
  const Fleet fleet("last");
  records::FolderDisk disk(fleet.path("records"));
  records::ChangeRecord change;
  change.number = records::take_change_number(disk);
  change.kind = "apply";
  change.begun = "2026-11-20T02:00:00.000Z";
  change.ended = "2026-11-20T02:01:00.000Z";
  change.units = {{"LK-101", "settled", "", 3, 4130}, {"LK-102", "no answer", "silent", 0, 0}};
  disk.write_whole(records::change_path(change.number, "change.yaml"), records::to_yaml(change));
  records::AuditHead head;
  head.fleet = "Larkmoor trial";
  head.begun = "2026-11-21T02:00:00.000Z";
  head.ended = "2026-11-21T02:00:09.000Z";
  records::AuditedUnit drifted;
  drifted.unit = "LK-102";
  drifted.verdict = "drifted";
  records::AuditText audit;
  audit.add(drifted);
  records::keep_audit(disk, head, audit);
  const Json units = parsed(fleet.on({"units", "--json"}))["units"];
  CHECK(units[0]["last"]["outcome"] == "settled");
  CHECK(units[0]["last"]["of"] == "change 0001");
  CHECK(units[1]["last"]["outcome"] == "drifted");
  CHECK(units[1]["last"]["of"] == "audit");
}

TEST_CASE("where tells the file and line of a value, and what it overrode") {
  const Fleet fleet("where");
  const Ran ran = fleet.on({"where", "LK-101", "notify-address"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::Contains("192.0.2.10") && Catch::Contains("groups/signals.yaml:2:") &&
                          Catch::Contains("overrode") && Catch::Contains("fleet.yaml:9:"));
  CHECK(fleet.on({"where", "LK-101", "rsuNotifyIpAddress"}).status == 0);
  CHECK_THAT(fleet.on({"where", "LK-999"}).err, Catch::Contains("; `vergeset units` lists them"));
  const Json json = parsed(fleet.on({"where", "LK-101", "--json"}));
  CHECK(json["settings"].size() == 3);
}

TEST_CASE("where says so when nothing asks for an object, and suggests a name it does not know") {
  const Fleet fleet("where-not");
  const Ran nothing = fleet.on({"where", "LK-101", "rsuSysLogSeverity"});
  CHECK(nothing.status == 0);
  CHECK_THAT(nothing.out, Catch::Contains("no file asks for"));
  const Ran unknown = fleet.on({"where", "LK-101", "notify-adress"});
  CHECK(unknown.status == 2);
  CHECK_THAT(unknown.err, Catch::Contains("did you mean notify-address?"));
  CHECK_THAT(fleet.on({"where", "LK-10l"}).err, Catch::Contains("no unit LK-10l"));
}

TEST_CASE("diff compares a walk with the files without any secret") {
  const Fleet fleet("walk");
  fleet.write("as-asked.walk", walk("15"));
  fleet.write("other.walk", walk("20000"));
  const Ran agrees = fleet.on({"diff", "LK-101", "--walk", fleet.path("as-asked.walk")});
  CHECK(agrees.status == 0);
  CHECK_THAT(agrees.out, Catch::Contains("1 unit: 1 agrees"));
  const Ran differs = fleet.on({"diff", "LK-101", "--walk", fleet.path("other.walk")});
  CHECK(differs.status == 3);
  CHECK_THAT(differs.out, Catch::Contains("position-tolerance   20000 m    15 m"));
  const Json json = parsed(fleet.on({"diff", "LK-101", "--walk", fleet.path("other.walk"), "--json"}));
  CHECK(json["from"] == "walk");
  CHECK(json["units"][0]["differences"][0]["items"][0]["as_found"]["value"] == "20000");
  CHECK_FALSE(std::filesystem::exists(fleet.path("records")));
}

TEST_CASE("a walk of another unit is the wrong unit") {
  const Fleet fleet("wrong-walk");
  fleet.write("other.walk", ".1.0.15628.4.1.6.0 = OID: .1.0.15628.4.1.6.0\n");  // rsuSysObjectID of RSU 4.1
  const Ran ran = fleet.on({"diff", "LK-101", "--walk", fleet.path("other.walk")});
  CHECK(ran.status == 3);
  CHECK_THAT(ran.out, Catch::Contains("wrong unit"));
}

TEST_CASE("a walk that cannot be read is told by file and line") {
  const Fleet fleet("bad-walk");
  fleet.write("bad.walk", walk("15") + "iso.3 = 4\n");
  const Ran ran = fleet.on({"diff", "LK-101", "--walk", fleet.path("bad.walk")});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("bad.walk:7:1:"));
  CHECK(fleet.on({"diff", "--walk", fleet.path("bad.walk")}).status == 2);
  CHECK(fleet.on({"diff", "LK-101", "--walk", fleet.path("none.walk")}).status == 2);
}

TEST_CASE("a secret that is missing stops a command before anything is sent, and is never shown") {
  const Fleet fleet("secret");
  const Ran missing = fleet.on({"audit"}, {"TRIAL_AUTH=correct-horse-9"});
  CHECK(missing.status == 2);
  CHECK_THAT(missing.err, Catch::Contains("credential trial") && Catch::Contains("TRIAL_PRIV"));
  CHECK_THAT(missing.err, !Catch::Contains("correct-horse"));
  const Ran with_short =
      fleet.on({"apply", "--dry-run"}, {"TRIAL_AUTH=short-7", "TRIAL_PRIV=battery-staple-1"});
  CHECK(with_short.status == 2);
  CHECK_THAT(with_short.err, Catch::Contains("TRIAL_AUTH"));
  CHECK_THAT(with_short.err, !Catch::Contains("short-7") && !Catch::Contains("battery"));
}

TEST_CASE("options that contradict each other are bad usage") {
  const Fleet fleet("contradictions");
  CHECK(fleet.on({"apply", "LK-101", "--order", "x.yaml"}).status == 2);
  CHECK(fleet.on({"apply", "--write", "y.yaml", "--order", "x.yaml"}).status == 2);
  CHECK(fleet.on({"diff", "--survey", "--walk", "x"}).status == 2);
}

TEST_CASE("a work order that is no work order is refused before anything is sent") {
  const Fleet fleet("order");
  fleet.write("x.yaml", "work-order: 1\n");
  const Ran ran = fleet.on({"apply", "--order", fleet.path("x.yaml")});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("x.yaml") && Catch::Contains("digest"));
}

TEST_CASE("a folder that is given as a file is told as that") {
  const Fleet fleet("folder");
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"diff", "LK-101", "--walk", "/tmp"}, {"apply", "--order", "/tmp"}}) {
    const Ran ran = fleet.on(words);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Catch::Contains("/tmp is a folder"));
  }
}

TEST_CASE("no folder is made for a work order") {
  const Fleet fleet("write-nowhere");
  const Ran ran = fleet.on({"apply", "--write", fleet.path("orders/x.yaml")});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Catch::Contains("there is no folder " + fleet.path("orders")));
  CHECK_FALSE(std::filesystem::exists(fleet.path("orders")));
}

TEST_CASE("a change that does not exist is not rolled back or shown") {
  const Fleet fleet("no-change");
  CHECK(fleet.on({"rollback", "42"}).status == 2);
  CHECK(fleet.on({"rollback", "../42"}).status == 2);
  CHECK(fleet.on({"changes", "show", "42"}).status == 2);
  const Ran slip = fleet.on({"changes", "shwo", "42"});
  CHECK(slip.status == 2);
  CHECK_THAT(slip.err, Catch::Contains("did you mean show?"));
  CHECK(fleet.on({"changes"}).out == "no changes in " + fleet.path("records") + "\n");
}

TEST_CASE("changes and logs are read from the records alone") {
  const Fleet fleet("records");
  records::FolderDisk disk(fleet.path("records"));
  records::ChangeRecord change;
  change.number = records::take_change_number(disk);
  change.kind = "apply";
  change.who = "ops@desk";
  change.why = "new address";
  change.begun = "2026-11-20T02:00:00.000Z";
  change.ended = "2026-11-20T02:01:00.000Z";
  change.units = {{"LK-101", "settled", "", 3, 4130}};
  disk.write_whole(records::change_path(change.number, "change.yaml"), records::to_yaml(change));
  disk.append("units/LK-101.log",
              "2026-11-20T02:00:01.123Z  change 0001  GET rsuID.0: 1 values\n"
              "2026-11-20T02:00:02.123Z  change 0001  SET rsuMode.0 = standby\n"
              "2026-11-20T02:00:02.180Z  change 0001  SET done: noError\n",
              false);
  std::filesystem::remove(fleet.path("fleet.yaml"));
  CHECK_THAT(fleet.on({"changes"}).out, Catch::Contains("0001") && Catch::Contains("ops@desk"));
  CHECK_THAT(fleet.on({"changes", "show", "1"}).out,
             Catch::Contains("new address") && Catch::Contains("LK-101"));
  CHECK(parsed(fleet.on({"changes", "show", "0001", "--json"}))["units"][0]["off_air_ms"] == 4130);
  CHECK(parsed(fleet.on({"log", "LK-101", "--json"}))["lines"].size() == 3);
  CHECK(parsed(fleet.on({"log", "LK-101", "--sets", "--json"}))["lines"].size() == 2);
  CHECK_THAT(fleet.on({"log", "LK-101"}).out, Catch::Contains("SET rsuMode.0 = standby"));
  const Ran slip = fleet.on({"log", "LK-1O1"});
  CHECK(slip.status == 2);
  CHECK_THAT(slip.err, Catch::Contains("did you mean LK-101?"));
  CHECK(fleet.on({"log", "../../etc/passwd"}).status == 2);
}

TEST_CASE("a unit without a log is told from a name that is no unit's") {
  const Fleet fleet("no-log");
  const Ran silent = fleet.on({"log", "LK-102"});
  CHECK(silent.status == 0);
  CHECK_THAT(silent.out, Catch::Contains("no log of LK-102 yet"));
  CHECK(parsed(fleet.on({"log", "LK-102", "--json"}))["lines"].empty());
  const Ran slip = fleet.on({"log", "LK-999"});
  CHECK(slip.status == 2);
  CHECK_THAT(slip.err, Catch::Contains("no such unit: LK-999"));
}

TEST_CASE("records stand where they are asked to") {
  const Fleet fleet("elsewhere");
  records::FolderDisk disk(fleet.path("other-place"));
  records::ChangeRecord change;
  change.number = records::take_change_number(disk);
  disk.write_whole(records::change_path(change.number, "change.yaml"), records::to_yaml(change));
  const Json json = parsed(fleet.on({"changes", "--records", fleet.path("other-place"), "--json"}));
  CHECK(json["changes"].size() == 1);
}
