#include <fstream>

#include "catch.h"
#include "sim/served_fleet.h"

/// The fleet that `vergeset new` writes, taken as a newcomer takes it: to a simulated unit.
namespace {

using served::Ran;
using served::ServedFleet;

std::string text_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

/// The first fleet's units.yaml with another address and port, which no other test has.
std::string moved(std::string units) {
  const auto put = [&](const std::string& old, const std::string& other) {
    const std::size_t at = units.find(old);
    REQUIRE(at != std::string::npos);
    units.replace(at, old.size(), other);
  };
  put("address: 127.0.0.1 ", "address: 127.104.6.1 ");
  put("port: 16100 ", "port: " + std::to_string(served::port()) + " ");
  return units;
}

TEST_CASE("a new fleet is checked, applied to a simulated unit, and an audit agrees") {
  ::setenv("FIRST_AUTH", "of larch and lime", 1);
  ::setenv("FIRST_PRIV", "of hazel and holly", 1);
  const vergeset::test::FleetFolder place({});
  const std::string made = place.path() + "/made";
  const auto vergeset = [&](const std::string& words) {
    return served::run(std::string("NO_COLOR=1 ") + PROGRAM + " " + words);
  };
  const Ran written = vergeset("new '" + made + "'");
  INFO(written.text);
  REQUIRE(written.status == 0);
  ServedFleet unit(moved(text_of(made + "/units.yaml")), 100, text_of(made + "/fleet.yaml"));
  std::filesystem::create_directories(unit.path("groups"));
  std::ofstream(unit.path("groups/all.yaml")) << text_of(made + "/groups/all.yaml");
  REQUIRE(unit.start());
  const std::string fleet = " --fleet '" + unit.path("") + "'";

  const Ran checked = vergeset("check" + fleet);
  INFO(checked.text);
  CHECK(checked.status == 0);
  CHECK(vergeset("audit" + fleet).status == 3);
  const Ran applied = vergeset("apply --yes" + fleet);
  INFO(applied.text);
  CHECK(applied.status == 0);
  CHECK(applied.text.find("1 settled") != std::string::npos);
  const Ran audited = vergeset("audit" + fleet);
  INFO(audited.text);
  CHECK(audited.status == 0);
  CHECK(audited.text.find("1 agree") != std::string::npos);
}

}  // namespace
