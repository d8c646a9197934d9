#include <nlohmann/json.hpp>

#include "catch.h"
#include "program.h"

using namespace vergeset::tests;

/// `diff --walk` of what technicians have on disk: empty, cut short, of another subtree, garbage.
namespace {

const std::string root = ".1.3.6.1.4.1.1206.4.2.18.";
const std::string mib_version = root + "13.1.0 = STRING: \"NTCIP 1218 v01\"\n";

Ran diff(const Fleet& fleet, const std::string& walk) {
  fleet.write("a.walk", walk);
  return fleet.on({"diff", "LK-101", "--walk", fleet.path("a.walk")});
}

}  // namespace

TEST_CASE("a walk that identifies no model says nothing of the unit, and is told with what to do") {
  const Fleet fleet("walk-bare");
  for (const char* walk : {"", ".1.3.6.1.2.1.1.5.0 = STRING: \"x\"\n"}) {
    const Ran ran = diff(fleet, walk);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Catch::Contains("the walk does not hold rsuMibVersion.0") &&
                            Catch::Contains("Walk .1.3.6.1 with snmpwalk -On"));
  }
}

TEST_CASE("what is not in a walk is told as that, and a table that it does not reach is not empty") {
  const Fleet fleet("walk-part");
  fleet.write(
      "groups/signals.yaml",
      "settings: {notify-address: 192.0.2.10, position-tolerance: 15 m}\n"
      "tables: {store-and-repeat: {rows: {map: {match: [psid], psid: 0x82, message: MAP, channel: 172, "
      "interval: 1000 ms, start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 0012020000, "
      "enabled: yes}}}}\n");
  const Ran ran = diff(fleet, mib_version + root + "14.1.0 = STRING: \"192.0.2.10\"\n");
  INFO(ran.out << ran.err);
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::Contains("position-tolerance: not in this walk") &&
                          Catch::Contains("store-and-repeat") && !Catch::Contains("new row") &&
                          !Catch::Contains("does not offer") &&
                          Catch::Contains("from " + fleet.path("a.walk")));
}

// SAE J2735 MsgCount. The published MAP with the least of every value (UPER sample messages of a
// connected-vehicle certification body, 2017), with 1 and 3 for its intersection's revision.
TEST_CASE("diff tells of a MAP whose revision is before that of the one the unit carries") {
  const auto map = [](const std::string& revision) {
    return "48" + std::string(14, '0') + revision + std::string(44, '0');
  };
  const Fleet fleet("walk-revision");
  fleet.write(
      "groups/signals.yaml",
      "tables: {store-and-repeat: {rows: {map: {match: [psid], psid: 0x82, message: MAP, channel: 172, "
      "interval: 1000 ms, start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: \"00121f" +
          map("02") + "\", enabled: yes}}}}\n");
  std::string octets;
  const std::string carried = "00121f" + map("06");
  for (std::size_t i = 0; i < carried.size(); i += 2) octets += carried.substr(i, 2) + " ";
  const std::string row = root + "3.2.1.";
  const Ran ran =
      diff(fleet, row + "2.1 = Hex-STRING: 80 02 \n" + row + "4.1 = INTEGER: 1000\n" + row +
                      "7.1 = Hex-STRING: " + octets + "\n" + row + "9.1 = INTEGER: 1\n" + mib_version);
  INFO(ran.out << ran.err);
  CHECK_THAT(ran.out, Catch::Contains("has revision 1, and the unit carries 3"));
}

TEST_CASE("of a garbage walk the first faults are told, and how many more there are") {
  const Fleet fleet("walk-garbage");
  std::string walk;
  for (int i = 0; i < 500; ++i) walk += "garbage\n";
  const Ran ran = diff(fleet, walk);
  CHECK(ran.status == 2);
  CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') < 30);
  CHECK_THAT(ran.err, Catch::Contains("a.walk:20:1:") && !Catch::Contains("a.walk:21:1:") &&
                          Catch::Contains("and 480 more"));
}
