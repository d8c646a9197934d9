#include <algorithm>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "catch.h"
#include "sim/served_fleet.h"

/// A fleet is drafted from units on the network, put in place as it says, and audited.
namespace {

using Json = nlohmann::ordered_json;
using served::Ran;
using served::ServedFleet;
namespace fs = std::filesystem;

std::string text_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return std::string(std::istreambuf_iterator<char>(in), {});
}

std::string with(std::string text, const std::string& what, const std::string& by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size())
    text.replace(at, what.size(), by);
  return text;
}

const std::string larkmoor = SOURCE_DIR "/inventories/larkmoor";

std::string head() {
  return "fleet: Larkmoor district\ntimeout: 1 s\nretries: 1\nfactory-communities: []\nport: " +
         std::to_string(served::port()) +
         "\ncredentials:\n  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: "
         "{env: "
         "SERVED_PRIV}}\n";
}

/// At the addresses of these tests.
std::string moved(const std::string& inventory) {
  return with(inventory, "127.77.1.", "127.104.1.");
}

/// The forty units of Larkmoor, as their files ask.
class Larkmoor {
 public:
  /// `said_wrong`: a unit of NTCIP 1218 that the bare list says is of RSU 4.1.
  explicit Larkmoor(int said_wrong = 0)
      : served_(moved(text_of(larkmoor + "/units.yaml")), 100, whole_fleet()) {
    fs::copy(larkmoor + "/groups", served_.path("groups"));
    fs::copy(larkmoor + "/payloads", served_.path("payloads"));
    std::ofstream(served_.path("units.csv")) << moved(text_of(larkmoor + "/units.csv"));
    REQUIRE(served_.start({"--state", "desired"}));
    fs::create_directories(served_.path("bare"));
    std::ofstream(served_.path("bare/fleet.yaml")) << head();
    std::ofstream csv(served_.path("bare/units.csv"));
    csv << "# as the contractor left them\nunit,model,address\n";
    constexpr int last = 42;
    for (int unit = 1; unit <= last; ++unit) {
      // Two numbers were never given.
      if (unit != 13 && unit != 29)
        csv << name(unit) << "," << (unit == said_wrong ? "rsu-4.1" : model(unit)) << ","
            << served::address(unit) << "\n";
    }
  }

  static std::string name(int unit) { return "LK-" + std::to_string(100 + unit); }
  void tell(const std::string& words) const {
    const Ran told = served_.tell(words);
    INFO(words << ": " << told.text);
    REQUIRE(told.status == 0);
    REQUIRE(told.text.find("error") == std::string::npos);
  }
  Ran run(const std::string& words) const {
    return served::run("cd '" + served_.path("bare") + "' && " PROGRAM " " + words + " --quiet");
  }
  std::string path(const std::string& file) const { return served_.path(file); }

 private:
  static std::string whole_fleet() {
    const std::string whole = text_of(larkmoor + "/fleet.yaml");
    return head() + whole.substr(whole.find("\nvalues:"));
  }
  /// As units.csv and units.yaml of Larkmoor say.
  std::string model(int unit) const {
    const std::string all = text_of(served_.path("units.csv"));
    const std::size_t at = all.find("\n" + name(unit) + ",");
    if (at == std::string::npos) return unit == 31 ? "rsu-4.1" : "ntcip1218-v01";
    const std::size_t from = all.find(',', at) + 1;
    return all.substr(from, all.find(',', from) - from);
  }

  ServedFleet served_;
};

}  // namespace

TEST_CASE("a fleet that was drafted from forty units agrees with all of them", "[long]") {
  const Larkmoor units;
  const Ran drafted = units.run("draft --out ../drafted");
  INFO(drafted.text);
  REQUIRE(drafted.status == 0);
  CHECK_THAT(drafted.text, Catch::Contains("40 of 40 units written to ../drafted") &&
                               Catch::Contains("all 40 agree") && Catch::Contains("cp -R ../drafted/. ./") &&
                               Catch::Contains("rm ./units.csv"));
  const Ran audit = units.run("audit --fleet ../drafted");
  INFO(audit.text);
  CHECK(audit.status == 0);
  CHECK_THAT(audit.text, Catch::EndsWith("40 units: 40 agree\n"));

  // As it says, in place of the bare fleet, whose records and keys stay.
  REQUIRE(served::run("cd '" + units.path("bare") + "' && cp -R ../drafted/. ./ && rm ./units.csv").status ==
          0);
  CHECK(units.run("audit").status == 0);
  units.tell("LK-104 set rsuMsgRepeatTxChannel.1 180");
  CHECK(units.run("audit").status == 3);
  const Ran again = units.run("draft --out ../drafted");
  CHECK(again.status == 2);
  CHECK_THAT(again.text, Catch::Contains("../drafted is there already"));
}

TEST_CASE("units that are silent or others are left out and told, and keep their entries", "[long]") {
  const Larkmoor units(10);
  units.tell("LK-117 drop 100000");
  const Ran survey = units.run("survey --whole 'LK-11*'");
  INFO(survey.text);
  CHECK(survey.status == 4);
  const Ran drafted = units.run("draft 'LK-11*' --survey --as harbour --out ../drafted --json");
  INFO(drafted.text);
  CHECK(drafted.status == 4);
  const Json document = Json::parse(drafted.text);
  CHECK(document["written"] == true);
  std::map<std::string, std::string> results;
  for (const Json& unit : document["units"]) results[unit["unit"]] = unit["result"];
  CHECK(results.at("LK-116") == "described");
  CHECK(results.at("LK-117") == "no answer");
  CHECK(results.at("LK-110") == "no answer");  // no survey is kept of a wrong unit
  const std::string csv = text_of(units.path("drafted/units.csv"));
  CHECK_THAT(csv, Catch::Contains("# as the contractor left them") && Catch::Contains("LK-117,") &&
                      Catch::Contains("LK-110,") && Catch::Contains("LK-101,") &&
                      !Catch::Contains("LK-116,"));
  CHECK(units.run("audit --fleet ../drafted 'LK-11*' --except LK-117 --except LK-110").status == 0);
  const Ran wrong = units.run("draft LK-116 LK-110 --out ../live");
  CHECK(wrong.status == 3);
  CHECK_THAT(wrong.text, Catch::Contains("LK-110   wrong unit: ") && Catch::Contains("1 of 2 units written"));
  const Ran none = units.run("draft LK-117 --survey --out ../nothing");
  CHECK(none.status == 4);
  CHECK_THAT(none.text, Catch::Contains("nothing was written"));
  CHECK_FALSE(fs::exists(units.path("nothing")));
}
