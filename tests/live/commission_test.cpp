#include <fstream>
#include <sstream>

#include "catch.h"
#include "sim/served_fleet.h"

/// `vergeset commission` on simulated units as from their factory, without a terminal.
namespace {

using served::Ran;
using served::ServedFleet;
using Json = nlohmann::json;

const std::string site_record =
    "{pole: p-17, mount-height: 6.1, latitude: 51.1234567, longitude: -1.2345678, elevation: 41.2, "
    "survey-accuracy: 0.05, cable-length: 40, cable-category: Cat 6 outdoor, antennas: 2 C-V2X 6 dBi + GNSS, "
    "serial: LM1, installer: Larkmoor signals desk, installed: 2026-05-01}";

std::string new_units() {
  const auto unit = [](const char* name, int number, const char* model) {
    return std::string("  ") + name + ": {address: " + served::address(number) +
           ", port: " + std::to_string(served::port()) + ", model: " + model + ", site: " + site_record +
           "}\n";
  };
  return "units:\n" + unit("LK-101", 1, "ntcip1218-v01") + unit("LK-201", 2, "rsu-4.1") +
         unit("LK-202", 3, "rsu-4.1");
}

/// Of every check; `instead` stands in the place of what it names.
std::string answers(const std::map<std::string, std::string>& instead = {}) {
  std::map<std::string, std::string> all{{"work-area", "yes"},
                                         {"mounted", "yes"},
                                         {"mount-height", "6.3 m"},
                                         {"serial", "LM1"},
                                         {"mac", "02-00-00-00-00-01"},
                                         {"antennas", "yes"},
                                         {"gnss-sky", "yes"},
                                         {"sealed", "{answer: no, note: one gland is missing}"},
                                         {"cable-length", "41"},
                                         {"surge-protector", "SP-1"},
                                         {"bond", "bar in the cabinet"},
                                         {"bond-resistance", "0.3"},
                                         {"earth-resistance", "8"},
                                         {"injector-voltage", "55"},
                                         {"supply-voltage", "52.5 V"},
                                         {"light", "yes"}};
  for (const auto& [name, answer] : instead) all[name] = answer;
  std::string text = "who: A. Fitter\nall:\n";
  for (const auto& [name, answer] : all) {
    if (!answer.empty()) text += "  " + name + ": " + answer + "\n";
  }
  return text;
}

class NewUnits {
 public:
  NewUnits() : served_(new_units(), 200) {
    ::setenv("FACTORY_AUTH", "out of the box", 1);
    ::setenv("FACTORY_PRIV", "box of the out", 1);
    describe("");
    REQUIRE(served_.start({"--credential", "factory", "--state", "factory"}));
  }

  void describe(const std::string& more) const {
    write("fleet.yaml",
          "fleet: Larkmoor test bench\nmode-wait: 2 s\ntimeout: 500 ms\nretries: 2\nfactory-communities: []\n"
          "credentials:\n"
          "  factory: {user: installer, auth-secret: {env: FACTORY_AUTH}, privacy-secret: {env: "
          "FACTORY_PRIV}}\n"
          "  own: {user: vergeset, keys: store}\n"
          "credential: own\nfactory-credentials: [factory]\nkey-store: {file: keys/test.keys}\n"
          "settings: {unit-id: \"{unit}\", mode: operate, notify-address: 192.0.2.10}\n" +
              more);
  }
  std::string path(const std::string& name) const { return served_.path(name); }
  void write(const std::string& name, const std::string& text) const {
    std::ofstream(served_.path(name)) << text;
  }
  std::string read(const std::string& name) const {
    std::ostringstream text;
    text << std::ifstream(served_.path(name)).rdbuf();
    return text.str();
  }
  Ran vergeset(const std::string& words) const {
    return served::run(std::string("NO_COLOR=1 ") + PROGRAM + " " + words + " --fleet '" + served_.path("") +
                       "' </dev/null");
  }
  Ran tell(const std::string& words) const { return served_.tell(words); }
  /// With an answers file.
  Ran commission(const std::string& words, const std::map<std::string, std::string>& instead = {}) const {
    write("answers.yaml", answers(instead));
    return vergeset("commission " + words + " --yes --watch '61 s' --answers '" +
                    served_.path("answers.yaml") + "'");
  }
  /// Judged by net-snmp's own command: whether the factory's user still gets in.
  bool factory_opens(int unit) const {
    return served::run(
               "snmpget -v3 -l authPriv -u installer -a SHA-256 -A 'out of the box' -x AES -X 'box of "
               "the out' -On -r 1 -t 1 " +
               served::address(unit) + ":" + std::to_string(served::port()) + " 1.3.6.1.2.1.1.4.0")
               .status == 0;
  }
  std::string sets(const std::string& unit) const {
    const std::string counters = served_.tell(unit + " counters").text;
    const auto at = counters.find("sets ");
    return counters.substr(at + 5, counters.find('\n', at) - at - 5);
  }

 private:
  ServedFleet served_;
};

bool has(const Ran& ran, const std::string& text) {
  return ran.text.find(text) != std::string::npos;
}

}  // namespace

TEST_CASE("a unit is commissioned from its factory's keys to a sheet, and stops and goes on on the way") {
  const NewUnits units;

  const Ran unanswered = units.commission("LK-101", {{"gnss-sky", ""}});
  INFO(unanswered.text);
  CHECK(unanswered.status == 2);
  CHECK(has(unanswered, "Local codes, the manufacturer's manual and licensed practice go before"));
  CHECK(has(unanswered, "check gnss-sky has no answer"));

  const Ran unsafe = units.commission("LK-201", {{"antennas", "no"}});
  INFO(unsafe.text);
  CHECK(unsafe.status == 5);
  CHECK(has(unsafe, "antennas has to be answered yes before the work goes on"));

  units.describe("firmware: {ntcip1218-v01: [0.0.0-none]}\n");
  const Ran firmware = units.commission("LK-101");
  INFO(firmware.text);
  CHECK(firmware.status == 5);
  CHECK(has(firmware, "is not approved; approved are 0.0.0-none"));
  CHECK(units.factory_opens(1));
  CHECK(units.sets("LK-101") == "0");

  units.describe("");
  const Ran done = units.commission("LK-101");
  INFO(done.text);
  CHECK(done.status == 0);
  CHECK(has(done, "begun on"));
  CHECK(has(done, "1 unit: 1 ready to be signed"));
  CHECK_FALSE(units.factory_opens(1));
  CHECK(units.vergeset("audit LK-101").status == 0);

  const std::string sheet = units.read("records/commissioning/LK-101/0001.txt");
  for (const char* part : {"LK-101", "NTCIP 1218 v01", "user vergeset opens it now", "change 0001",
                           "credential factory", "one gland is missing", "A. Fitter", "notify-address",
                           "192.0.2.10", "52.5 V", "6.3 m", "Signature"}) {
    CHECK_THAT(sheet, Catch::Contains(part, Catch::CaseSensitive::No));
  }
  const std::string page = units.read("records/commissioning/LK-101/0001.html");
  CHECK_THAT(page, Catch::Contains("one gland is missing"));
  for (const std::string& text :
       {sheet, page, done.text, units.read("records/commissioning/LK-101/0001.jsonl")}) {
    CHECK(text.find("out of the box") == std::string::npos);
    CHECK(text.find("box of the out") == std::string::npos);
  }

  const Ran again = units.commission("LK-101 --json");
  INFO(again.text);
  CHECK(again.status == 0);
  const auto from = again.text.find("{\n");
  const Json document = Json::parse(again.text.substr(from, again.text.rfind("\n}") + 2 - from));
  CHECK(document["units"][0]["number"] == 2);
  CHECK(document["units"][0]["accepted"] == true);
  CHECK(document["units"][0]["sheet"] == "commissioning/LK-101/0002");
}

TEST_CASE("a van full of units is prepared at the bench one after the other, and finished at their poles") {
  const NewUnits units;
  const Ran bench = units.commission("LK-101 LK-201 --bench");
  INFO(bench.text);
  CHECK(bench.status == 0);
  CHECK(has(bench, "done at the bench; commission it again at its pole"));
  CHECK(has(bench, "2 units: 0 ready to be signed"));
  CHECK_FALSE(units.factory_opens(1));
  CHECK_FALSE(units.factory_opens(2));
  CHECK(units.read("records/commissioning/LK-201/0001.txt").empty());

  const std::string sets = units.sets("LK-201");
  const Ran pole = units.commission("LK-101 LK-201");
  INFO(pole.text);
  CHECK(pole.status == 0);
  CHECK(has(pole, "2 units: 2 ready to be signed"));
  CHECK(units.sets("LK-201") == sets);
  CHECK_THAT(units.read("records/commissioning/LK-201/0001.txt"), Catch::Contains("RSU 4.1"));
}

TEST_CASE("a unit whose counters stand still is not signed for, and one whose counters move is", "[long]") {
  const NewUnits units;
  units.describe(
      "tables:\n  store-and-repeat:\n    rows:\n      map: {match: [psid], psid: 0x82, message: MAP, "
      "channel: 172, "
      "interval: 1000 ms, start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 0012020000, enabled: "
      "yes}\n");
  const Ran bench = units.commission("LK-201 LK-202 --bench");
  INFO(bench.text);
  REQUIRE(bench.status == 0);
  for (const char* counter :
       {"rsuAltSchMsgSent", "rsuAltCchMsgSent", "rsuContSchMsgSent", "rsuContCchMsgSent"}) {
    REQUIRE(units.tell("LK-202 set " + std::string(counter) + " 7").status == 0);
  }
  const auto at_the_pole = [&](const std::string& unit) {
    return std::string(PROGRAM) + " commission " + unit + " --yes --watch '61 s' --answers '" +
           units.path("answers.yaml") + "' --fleet '" + units.path("") + "' </dev/null";
  };
  const Ran both = served::run(at_the_pole("LK-202") + " > '" + units.path("still") + "' 2>&1 & pid=$!; " +
                               at_the_pole("LK-201") +
                               "; echo status of LK-201: $?; wait $pid; echo status of LK-202: $?");
  INFO(both.text);
  CHECK(has(both, "the counters of its messages moved within 61 s"));
  CHECK(has(both, "status of LK-201: 0\n"));
  CHECK(has(both, "status of LK-202: 5\n"));
  const std::string still = units.read("still");
  CHECK_THAT(still, Catch::Contains("sent 0 of some 6") && Catch::Contains("messages did not pass"));
}

TEST_CASE("an answers file that does not fit is refused whole, with every fault's place") {
  const NewUnits units;
  units.write("bad.yaml",
              "all: {seled: yes, supply-voltage: lots, light: maybe}\nunits: {LK-999: {light: yes}}\n");
  const Ran ran = units.vergeset("commission LK-101 --answers " + units.path("bad.yaml"));
  INFO(ran.text);
  CHECK(ran.status == 2);
  CHECK(has(ran, "bad.yaml:1:7: no check is called seled; did you mean sealed?"));
  CHECK(has(ran, "expected a number of V for supply-voltage, found lots"));
  CHECK(has(ran, "expected yes, no or skip, and a note behind it; found maybe"));
  CHECK(has(ran, "bad.yaml:2:9: no unit is called LK-999"));
  CHECK(has(ran, "4 faults"));
}
