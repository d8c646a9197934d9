#include <yaml-cpp/yaml.h>

#include <cstdlib>
#include <nlohmann/json.hpp>
#include <regex>

#include "catch.h"
#include "program.h"
#include "records/audit_record.h"
#include "records/change_record.h"
#include "records/clock.h"

using namespace vergeset;
using namespace vergeset::tests;
using Json = nlohmann::ordered_json;

namespace {

/// Two units that give no answer, soon: LK-101 is in part 2 of 4, LK-102 in part 3, nobody in 1 and 4.
class District {
 public:
  explicit District(const std::string& name) : fleet("gather-" + name), path(fleet.folder()) {
    describe("notify-address: 192.0.2.9");
  }

  void describe(const std::string& setting, const std::string& name = "Larkmoor trial") const {
    fleet.write("fleet.yaml", "fleet: " + name +
                                  "\ntimeout: 100 ms\nretries: 0\n"
                                  "credentials:\n"
                                  "  trial: {user: vergeset, auth-secret: {env: TRIAL_AUTH}, privacy-secret: "
                                  "{env: TRIAL_PRIV}}\n"
                                  "settings: {" +
                                  setting + "}\n");
  }

  Ran on(const std::vector<std::string>& words) const {
    return fleet.on(words, {"TRIAL_AUTH=of oak and ash", "TRIAL_PRIV=of elm and yew"});
  }

  /// The path of the record that this audit keeps.
  std::string audited(std::vector<std::string> words) const {
    words.insert(words.begin(), "audit");
    words.push_back("--json");
    const Ran ran = on(words);
    INFO(ran.err);
    REQUIRE((ran.status == 0 || ran.status == 4));
    return path + "/records/" + Json::parse(ran.out)["record"].get<std::string>();
  }
  /// All parts of four.
  std::vector<std::string> parts() const {
    std::vector<std::string> kept;
    for (const char* part : {"1/4", "2/4", "3/4", "4/4"}) kept.push_back(audited({"--part", part}));
    return kept;
  }

  /// Into records of its own, so that what was kept is seen.
  Ran gather(std::vector<std::string> paths) const {
    paths.insert(paths.begin(), "gather");
    paths.push_back("--records");
    paths.push_back(path + "/all");
    return on(paths);
  }
  std::vector<std::string> gathered() const {
    return records::all_audits(records::FolderDisk(path + "/all"));
  }
  records::AuditRecord last_gathered() const {
    return records::find_audit(records::FolderDisk(path + "/all"), gathered().back()).value();
  }

  std::string text_of(const std::string& file) const {
    std::ifstream in(file, std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  }
  /// A copy of a record with something else in place of `found`.
  std::string with(const std::string& record, const std::string& found, const std::string& instead,
                   const std::string& name = "edited.json") const {
    std::string text = text_of(record);
    REQUIRE(text.find(found) != std::string::npos);
    text.replace(text.find(found), found.size(), instead);
    fleet.write(name, text);
    return fleet.path(name);
  }

  /// Refused, with both words in the message, and nothing kept.
  void refuses(const std::vector<std::string>& paths, const std::string& one,
               const std::string& other) const {
    const std::size_t before = gathered().size();
    const Ran ran = gather(paths);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_THAT(ran.err, Catch::Contains(one) && Catch::Contains(other));
    CHECK(gathered().size() == before);
  }

  Fleet fleet;
  std::string path;
};

}  // namespace

TEST_CASE("gathered parts show what one audit of all shows, and are kept as one") {
  const District district("all");
  const std::vector<std::string> parts = district.parts();
  const Ran whole = district.on({"audit"});
  const Ran gathered = district.gather(parts);
  CHECK(gathered.out == whole.out);
  CHECK(gathered.status == whole.status);
  CHECK(gathered.err.empty());
  const records::AuditRecord record = district.last_gathered();
  CHECK(record.head.part == "whole");
  CHECK(record.units.size() == 2);
  const auto head = [&](const std::string& part) {
    return records::audit_from_json(district.text_of(part))->head;
  };
  CHECK(record.head.begun == head(parts.front()).begun);
  CHECK(record.head.ended == head(parts.back()).ended);
  CHECK(record.head.files == head(parts.front()).files);
}

TEST_CASE("an audit of all that is gathered has the units of the audit's own document, octet by octet") {
  const District district("whole");
  const Ran audit = district.on({"audit", "--json"});
  const Json document = Json::parse(audit.out);
  const Json again = Json::parse(
      district.gather({district.path + "/records/" + document["record"].get<std::string>(), "--json"}).out);
  CHECK(again["command"] == "gather");
  CHECK(again["fleet"] == document["fleet"]);
  CHECK(again["missing"].empty());
  CHECK(again["parts"][0]["part"] == "whole");
  CHECK(again["units"].dump() == document["units"].dump());
}

TEST_CASE("of a folder the newest audit of each part is gathered, whatever else is kept there") {
  const District district("folder");
  district.audited({});
  district.audited({"--part", "1/2"});
  const std::string old = district.audited({"--part", "2/4"});
  const std::vector<std::string> parts = district.parts();
  const std::string records = district.path + "/records";
  const Json document = Json::parse(district.gather({records, "--json"}).out);
  REQUIRE(document["parts"].size() == 4);
  CHECK(document["parts"][1]["audit"] == parts[1]);
  CHECK(document["parts"][1]["audit"] != old);
  CHECK(document["missing"].empty());
}

TEST_CASE("what began before --since is not gathered, and its part is missing") {
  const District district("since");
  const std::vector<std::string> parts = district.parts();
  const std::string third = records::audit_from_json(district.text_of(parts[2]))->head.begun;
  const std::string records = district.path + "/records";
  const Ran ran = district.gather({records, "--since", third});
  CHECK(ran.status == 4);
  CHECK_THAT(ran.out, Catch::Contains("part 2/4 is missing, with 1 unit: LK-101\n"));
  const Ran named = district.gather({parts[1], parts[2], "--since", third});
  CHECK(named.out == ran.out);
  CHECK_THAT(named.err, Catch::Contains("note: " + parts[1] + " is left out"));
  CHECK_THAT(district.gather({records, "--since", "2999-01-01"}).err,
             Catch::Contains("there is no audit to gather"));
  for (const char* time : {"yesterday", "2026-11-25T2", "2026-02-30", "2026-11-25T02:00:00.0000"}) {
    INFO(time);
    CHECK(district.gather({records, "--since", time}).status == 2);
  }
}

TEST_CASE("missing parts are named with their units, and count as units without an answer") {
  const District district("missing");
  const std::vector<std::string> parts = district.parts();
  const std::string agrees = district.with(parts[1], "\"no answer\"", "\"agrees\"");
  const Ran ran = district.gather({agrees});
  CHECK(ran.status == 4);
  CHECK_THAT(ran.out, Catch::EndsWith("1 unit: 1 agrees\npart 3/4 is missing, with 1 unit: LK-102\n"));
  CHECK(district.last_gathered().head.part == "2 of 4");
  const Json document = Json::parse(district.gather({agrees, "--json"}).out);
  CHECK(document["missing"] == Json::parse(R"([{"part": "3/4", "audited": false, "units": ["LK-102"]}])"));
  district.refuses({district.path + "/all/" + district.gathered().back()}, "was gathered from parts 2 of 4",
                   "give the audits of the parts");
}

TEST_CASE("a part whose audit holds not all of its units is told apart from one that is missing") {
  const District district("short");
  const std::string part = district.audited({"--part", "2/4"});
  std::string text = district.text_of(part);
  text = std::regex_replace(text, std::regex("\n  \\{\"unit\".*\\}"), "");
  district.fleet.write("short.json", text);
  const Ran ran = district.gather({district.fleet.path("short.json"), district.audited({"--part", "3/4"})});
  CHECK(ran.status == 4);
  CHECK_THAT(ran.out, Catch::EndsWith("the audit of part 2/4 lacks 1 unit: LK-101\n"));
}

TEST_CASE("a part that is given twice is taken from the newer audit, which is said") {
  const District district("twice");
  const std::string first = district.audited({"--part", "2/4"});
  const std::string second = district.audited({"--part", "2/4"});
  const std::string rest = district.audited({"--part", "3/4"});
  const Ran ran = district.gather({second, first, rest});
  CHECK(ran.status == 4);
  CHECK_THAT(ran.err, Catch::StartsWith("note: part 2/4 is there twice; taken is " + second + ",") &&
                          Catch::Contains("and not " + first + ","));
}

TEST_CASE("a part that nobody falls into is nothing to do for any command") {
  const District district("empty");
  for (const char* command : {"units", "survey", "diff", "audit", "apply"}) {
    const Ran ran = district.on({command, "--part", "1/4"});
    INFO(command << ran.err);
    CHECK(ran.status == 0);
    CHECK(ran.err.empty());
  }
  CHECK_THAT(district.on({"audit", "--part", "1/4"}).out, Catch::Contains("0 units"));
  CHECK_FALSE(std::filesystem::exists(district.path + "/records/changes"));
  CHECK(records::all_audits(records::FolderDisk(district.path + "/records")).size() == 2);
}

TEST_CASE("a part that cannot be is bad usage, told before anything is asked") {
  const District district("usage");
  for (const char* part : {"0/4", "5/4", "x", "1/1001"}) {
    const Ran ran = district.on({"audit", "--part", part});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Catch::StartsWith("vergeset: --part: expected ") && Catch::Contains(part));
  }
  CHECK_FALSE(std::filesystem::exists(district.path + "/records"));
}

TEST_CASE("audits that are no parts of one audit are refused, and the two are named") {
  const District district("apart");
  const std::string second = district.audited({"--part", "2/4"});
  const std::string of_two = district.audited({"--part", "2/2"});
  const std::string whole = district.audited({});
  const std::string of_group = district.audited({"--group", "signals", "--part", "3/4"});
  district.refuses({second, of_two}, second + " is part 2/4", of_two + " is part 2/2");
  district.refuses({whole, second}, whole + " is an audit of all units", second + " is part 2/4");
  district.refuses({second, of_group}, second + " and " + of_group, "different choices of units");
  const std::string other_fleet = district.with(second, "Larkmoor trial", "Larkmoor north");
  district.refuses({second, other_fleet}, "of the fleet \"Larkmoor trial\"", "\"Larkmoor north\"");
  district.describe("notify-address: 192.0.2.99");
  const std::string later = district.audited({"--part", "3/4"});
  district.refuses({second, later}, second + " and " + later, "different files");
}

TEST_CASE("words of a choice in another order are the same choice") {
  const District district("order");
  const std::string second = district.audited({"LK-101", "LK-102", "--part", "2/4"});
  const std::string third = district.audited({"LK-102", "LK-101", "--part", "3/4"});
  const Ran ran = district.gather({second, third});
  INFO(ran.err);
  CHECK(ran.status == 4);
  CHECK_THAT(ran.out, Catch::EndsWith("2 units: 2 no answer\n"));
}

TEST_CASE("audits of a fleet or of files that are not the ones here are refused") {
  const District district("elsewhere");
  const std::string part = district.audited({"--part", "2/4"});
  district.describe("notify-address: 192.0.2.99");
  district.refuses({part}, part + " was audited against other files", "as they were then");
  district.describe("notify-address: 192.0.2.9", "Larkmoor north");
  district.refuses({part}, "of the fleet \"Larkmoor trial\"", "of \"Larkmoor north\"");
}

TEST_CASE("broken and foreign files are told and nothing of the others is merged") {
  const District district("broken");
  const std::string good = district.audited({"--part", "2/4"});
  const std::string text = district.text_of(good);
  district.fleet.write("half.json", text.substr(0, text.size() / 2));
  const std::string half = district.fleet.path("half.json");
  district.refuses({good, half}, half, "no audit record");
  district.refuses({good, district.fleet.path("fleet.yaml")}, "fleet.yaml", "no audit record");
  district.refuses({good, "/nonexistent.json"}, "cannot read /nonexistent.json", "No such file");
  const std::string stranger = district.with(good, "\"LK-101\"", "\"LK-102\"");
  district.refuses({stranger}, stranger + " holds LK-102", "not of its part");
  const std::string unknown = district.with(good, "\"LK-101\"", "\"LK-901\"");
  district.refuses({unknown}, unknown + " holds LK-901", "not of its part");
  const std::string before = district.with(good, "\"part\": \"2/4\"", "\"part\": \"\"");
  district.refuses({before}, before + " was kept by an earlier vergeset", "audit again");
  const std::string bad_part = district.with(good, "\"part\": \"2/4\"", "\"part\": \"9/4\"");
  district.refuses({bad_part}, bad_part, "expected a part from 1 to 4");
}

TEST_CASE("a folder without audits is noted, and alone it is nothing to gather") {
  const District district("bare");
  const std::string part = district.audited({"--part", "2/4"});
  std::filesystem::create_directories(district.path + "/bare");
  CHECK_THAT(district.gather({part, district.path + "/bare"}).err,
             Catch::Contains("note: no audit to gather in " + district.path + "/bare/audits"));
  district.refuses({district.path + "/bare"}, "note: no audit to gather", "there is no audit to gather");
}

TEST_CASE("the digest of the files is that of what sha256sum prints of them, sorted by name") {
  const District district("digest");
  const std::string record = district.audited({"--part", "2/4"});
  std::string lines;
  for (const char* file : {"fleet.yaml", "groups/signals.yaml", "units.yaml"}) {
    lines += records::sha256(district.text_of(district.fleet.path(file))) + "  " + file + "\n";
  }
  CHECK(records::audit_from_json(district.text_of(record))->head.files == records::sha256(lines));
}

namespace {

YAML::Node job_spec() {
  return YAML::LoadFile(SOURCE_DIR "/scripts/audit-job.yaml")["spec"];
}

/// The exit status of a pod's command, and the words that it gives vergeset, which exits with `status`.
Ran pod(const Fleet& fleet, int index, int status) {
  const YAML::Node container = job_spec()["template"]["spec"]["containers"][0];
  fleet.write("pod.sh", container["args"][0].as<std::string>());
  fleet.write("vergeset",
              "#!/bin/sh\necho \"$@\" >'" + fleet.path("words") + "'\nexit " + std::to_string(status) + "\n");
  std::filesystem::permissions(fleet.path("vergeset"), std::filesystem::perms::owner_all);
  const std::string command = "PATH='" + fleet.folder() +
                              "':$PATH JOB_COMPLETION_INDEX=" + std::to_string(index) + " /bin/sh '" +
                              fleet.path("pod.sh") + "'";
  const int ended = std::system(command.c_str());
  std::ifstream in(fleet.path("words"));
  Ran ran;
  std::getline(in, ran.out);
  ran.status = WIFEXITED(ended) ? WEXITSTATUS(ended) : -1;
  return ran;
}

}  // namespace

TEST_CASE("the Job of scripts/audit-job.yaml starts a pod a part, and takes drift and silence for results") {
  const YAML::Node spec = job_spec();
  const auto parts = spec["completions"].as<int>();
  CHECK(spec["parallelism"].as<int>() == parts);
  const Fleet fleet("job");
  for (int index = 0; index < parts; ++index) {  // of an indexed Job they count from 0
    const Ran ran = pod(fleet, index, 0);
    CHECK(ran.status == 0);
    CHECK(ran.out == "audit --fleet /fleet --records /records --part " + std::to_string(index + 1) + "/" +
                         std::to_string(parts));
  }
  CHECK(pod(fleet, 0, 3).status == 0);
  CHECK(pod(fleet, 0, 4).status == 0);
  CHECK(pod(fleet, 0, 1).status == 1);
  CHECK(pod(fleet, 0, 2).status == 2);
}
