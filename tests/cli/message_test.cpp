#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "catch.h"
#include "program.h"

using namespace vergeset::tests;
using Json = nlohmann::json;

namespace {

const std::string payloads = SOURCE_DIR "/inventories/larkmoor/payloads/";

/// Published UPER sample messages of a connected-vehicle certification body, 2017.
const std::string speed_limit = "001f200000008000000001f4000000220000025fc180b914f6241019300188c4644420";

}  // namespace

TEST_CASE("message says what a file or hex digits say, without a fleet") {
  const Ran map = run({"message", payloads + "LK-101-map.hex"});
  CHECK(map.status == 0);
  CHECK(map.err.empty());
  CHECK_THAT(map.out, Catch::StartsWith("MAP, 360 octets, whole\n"));
  CHECK_THAT(map.out, Catch::Contains("intersection 4101 \"Harbour Road at Ferry Street\""));
  const Ran tim = run({"message", speed_limit});
  CHECK(tim.status == 0);
  CHECK_THAT(tim.out, Catch::StartsWith("traveller information (TIM), 35 octets, whole\n"));
}

TEST_CASE("message ends with 2 where the payload is not whole, and tells what was read of it") {
  const Ran cut = run({"message", speed_limit.substr(0, 40)});
  CHECK(cut.status == 2);
  CHECK_THAT(cut.out, Catch::Contains("truncated: its frame says 32 octets, 17 are there"));
  const Ran neither = run({"message", "no-such-file.hex"});
  CHECK(neither.status == 2);
  CHECK_THAT(neither.err, Catch::Contains("no-such-file.hex is neither a file nor hex digits"));
  const Ran odd = run({"message", "001"});
  CHECK(odd.status == 2);
  CHECK_THAT(odd.err, Catch::Contains("an odd number of hex digits"));
  CHECK(run({"message"}).status == 2);
}

TEST_CASE("message tells machines the same, in the standard's own units") {
  const Ran ran = run({"message", payloads + "LK-101-map.hex", "--json"});
  CHECK(ran.status == 0);
  const Json json = Json::parse(ran.out);
  CHECK(json["command"] == "message");
  CHECK(json["kind"] == "MAP");
  CHECK(json["flaws"].empty());
  const Json& at = json["content"]["intersections"][0];
  CHECK(at["id"]["id"] == 4101);
  CHECK(at["reference_point"]["latitude_1e7"] == 549000000);
  CHECK(at["lanes"].size() == 10);
  CHECK(at["lanes"][0]["connections"][0]["lane"] == 5);
}

TEST_CASE("message draws a MAP's lanes into a file or to standard output, and nothing else") {
  const std::string path =
      (std::filesystem::temp_directory_path() / ("lanes-" + std::to_string(getpid()) + ".svg")).string();
  const Ran ran = run({"message", payloads + "LK-101-map.hex", "--svg", path});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Catch::StartsWith("MAP, "));
  std::ifstream file(path);
  const std::string drawing{std::istreambuf_iterator<char>(file), {}};
  std::filesystem::remove(path);
  CHECK_THAT(drawing, Catch::StartsWith("<svg ") && Catch::EndsWith("</svg>\n"));
  CHECK(run({"message", payloads + "LK-101-map.hex", "--svg", "-"}).out == drawing);
  const Ran none = run({"message", speed_limit, "--svg", "-"});
  CHECK(none.status == 2);
  CHECK_THAT(none.err, Catch::Contains("--svg draws the lanes of a MAP"));
  CHECK(run({"message", payloads + "LK-101-map.hex", "--svg", "/no/such/folder/x.svg"}).status == 2);
}

TEST_CASE("check tells how much of each channel a unit's messages take") {
  const Ran ran = run({"check", "--load", "--fleet", SOURCE_DIR "/inventories/larkmoor"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out,
             Catch::Contains("octets a second") && Catch::Contains("172") && Catch::Contains("C-V2X"));
  const Json json = Json::parse(run({"check", "--json", "--fleet", SOURCE_DIR "/inventories/larkmoor"}).out);
  CHECK(json["channels"].size() > 20);
}
