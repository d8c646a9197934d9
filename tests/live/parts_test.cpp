#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "catch.h"
#include "records/audit_record.h"
#include "sim/served_fleet.h"

/// A fleet that several hosts share: scripts/audit-in-parts, with GNU parallel, against simulated units.
namespace {

using namespace vergeset;
using Json = nlohmann::ordered_json;
using served::Ran;
using served::ServedFleet;

constexpr int district_size = 24;

std::string name(int unit) {
  return "LK-" + std::to_string(100 + unit);
}

std::string units() {
  std::string text = "units:\n";
  for (int unit = 1; unit <= district_size; ++unit) {
    text += "  " + name(unit) + ": {address: " + served::address(unit) +
            ", port: " + std::to_string(served::port()) +
            ", model: " + (unit % 3 == 0 ? "rsu-4.1" : "ntcip1218-v01") +
            ", site: {latitude: 51.1234567, longitude: -1.2345678, elevation: 41.2}}\n";
  }
  return text;
}

/// As the files ask, but for units that drifted, one that is silent, and one that is another.
class District {
 public:
  District() : served_(units()) {
    std::ofstream(served_.path("fleet.yaml"))
        << "fleet: Larkmoor district\ntimeout: 1 s\nretries: 1\nfactory-communities: []\n"
        << "credentials:\n"
        << "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: "
           "SERVED_PRIV}}\n"
        << "settings: {unit-id: \"{unit}\", mode: operate, notify-address: 192.0.2.10}\n"
        << "tables:\n  store-and-repeat:\n    rows:\n      map: {match: [psid], psid: 0x82, message: MAP, "
           "channel: 172, interval: 1000 ms, start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, "
           "payload: 001202000000000000000000000000000000000000000000000000000000, enabled: yes}\n";
    REQUIRE(served_.start({"--state", "desired"}));
    tell(name(2) + " set rsuNotifyIpAddress 198.51.100.7");
    tell(name(9) + " set rsuSRMTxChannel.1 180");
    tell(name(10) + " set rsuMsgRepeatTxChannel.1 180");
    tell(name(14) + " set rsuID " + name(3));
    tell(name(17) + " drop 100000");
    for (const int unit : {4, 5, 10}) tell(name(unit) + " set rsuMsgRepeatStatus.7 createAndWait");
    std::filesystem::create_directories(served_.path("bin"));
    std::filesystem::create_symlink(PROGRAM, served_.path("bin/vergeset"));
  }

  /// In this fleet's folder, standard output alone; what went to standard error is in `aside`.
  Ran run(const std::string& command) const {
    return served::run("cd '" + served_.path("") + "' && PATH=\"$PWD/bin:$PATH\" " + command + " 2>aside");
  }
  std::string aside() const { return text_of("aside"); }
  Ran in_parts(const std::string& words) const { return run(SOURCE_DIR "/scripts/audit-in-parts " + words); }
  /// The units of the last document or record, without when each was read.
  static std::string units_of(const std::string& document) {
    Json json = Json::parse(document);
    for (Json& unit : json["units"]) {
      // When it was read, and what moves by itself meanwhile.
      for (const char* name : {"taken", "position", "ends", "up_s", "counted"}) unit.erase(name);
    }
    return json["units"].dump();
  }
  std::string text_of(const std::string& file) const {
    std::ifstream in(served_.path(file), std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  }
  std::string last_record(const std::string& folder) const {
    const std::vector<std::string> kept = records::all_audits(records::FolderDisk(served_.path(folder)));
    REQUIRE_FALSE(kept.empty());
    return text_of(folder + "/" + kept.back());
  }
  void write(const std::string& file, const std::string& text) const {
    std::ofstream(served_.path(file)) << text;
    std::filesystem::permissions(served_.path(file), std::filesystem::perms::owner_all);
  }

 private:
  void tell(const std::string& words) const {
    const Ran told = served_.tell(words);
    INFO(words << ": " << told.text);
    REQUIRE(told.status == 0);
    REQUIRE(told.text.find("error") == std::string::npos);
  }

  ServedFleet served_;
};

TEST_CASE("four parts under GNU parallel come to the octets of one audit of all", "[long]") {
  const District district;
  const Ran whole = district.run("vergeset audit --records whole");
  INFO(whole.text);
  REQUIRE_THAT(whole.text, Catch::EndsWith("24 units: 19 agree, 3 drifted, 1 wrong unit, 1 no answer\n"));
  REQUIRE_THAT(whole.text, Catch::Contains("store-and-repeat row 7: kept\n    LK-104, LK-105\n"));
  CHECK(whole.status == 4);
  const Ran parts = district.in_parts("--parts 4 --records parts -- --quiet");
  INFO(district.aside());
  CHECK(parts.status == whole.status);
  CHECK(parts.text == whole.text);
  CHECK(district.aside().empty());

  const Ran document = district.run("vergeset audit --records whole --json");
  const Ran gathered = district.run("vergeset gather parts --records all --json");
  CHECK(Json::parse(gathered.text)["parts"].size() == 4);
  CHECK(District::units_of(gathered.text) == District::units_of(document.text));
  CHECK(District::units_of(district.last_record("all")) == District::units_of(district.last_record("whole")));
}

/// Stands in for ssh: the words behind the host are joined and given to a shell, as ssh does it (ssh(1)). One
/// of the hosts cannot be reached, which is status 255.
constexpr const char* no_ssh =
    "#!/bin/sh\n"
    "[ \"$1 $2\" = '-o BatchMode=yes' ] || exit 9\n"
    "[ \"$3\" != down.larkmoor.example ] || { echo 'no route to host' >&2; exit 255; }\n"
    "shift 3\n"
    "exec sh -c \"$*\"\n";

TEST_CASE("hosts take a part each, and a host that cannot be reached makes its part a missing one",
          "[long]") {
  const District district;
  district.write("bin/ssh", no_ssh);
  district.write("hosts", "# of the district\nnorth.larkmoor.example\n\n:\ndown.larkmoor.example\n");
  const Ran whole = district.run("vergeset audit --records whole 'LK-1*'");
  const std::string words = " --records \"it's where/records are\" -- 'LK-1*'";
  const Ran missing = district.in_parts("--hosts hosts" + words);
  INFO(missing.text << district.aside());
  CHECK(missing.status == 4);
  CHECK_THAT(missing.text, Catch::Contains("part 3/3 is missing, with "));
  CHECK_THAT(district.aside(), Catch::Contains("part 3, down.larkmoor.example\tno route to host"));
  district.write("hosts", "north.larkmoor.example\n:\nsouth.larkmoor.example\n");
  const Ran all = district.in_parts("--hosts hosts" + words);
  INFO(district.aside());
  CHECK(all.status == whole.status);
  CHECK(all.text == whole.text);
}

TEST_CASE("a change and its rollback can go part by part, and a part without units is nothing to do") {
  ServedFleet served;
  std::ofstream(served.path("fleet.yaml"), std::ios::app) << "waves: [rest]\n";
  REQUIRE(served.start());
  const auto vergeset = [&](const std::string& words) {
    return served::run(std::string(PROGRAM) + " " + words + " --fleet '" + served.path("") + "'");
  };
  REQUIRE(vergeset("audit").status == 3);
  const std::vector<std::string> six = {"1/6", "2/6", "3/6", "4/6", "5/6", "6/6"};
  int empty = 0;
  for (const std::string& part : six) {
    const Ran ran = vergeset("apply --yes --part " + part);
    INFO(part << ": " << ran.text);
    CHECK(ran.status == 0);
    if (ran.text.find("0 units") != std::string::npos) ++empty;
  }
  CHECK(empty == 4);  // LK-201 is in part 2, LK-101 in part 6: change 1 is of LK-201
  CHECK(vergeset("audit").status == 0);
  for (const std::string& part : six) {
    const Ran ran = vergeset("rollback 1 --yes --part " + part);
    INFO(part << ": " << ran.text);
    CHECK(ran.status == 0);
  }
  CHECK_THAT(vergeset("audit").text, Catch::EndsWith("2 units: 1 agree, 1 drifted\n"));
}

}  // namespace
