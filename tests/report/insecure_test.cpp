#include "report/insecure_text.h"

#include "catch.h"

using namespace vergeset;
using namespace vergeset::report;

namespace {

fleet::Credential credential(const std::string& name, const std::string& auth, const std::string& privacy) {
  fleet::Credential one;
  one.name = name;
  one.auth = auth;
  one.privacy = privacy;
  one.insecure = "units of 2009";
  return one;
}

/// Three units by an old credential, one by a good one.
fleet::Fleet old_fleet() {
  fleet::Fleet fleet;
  fleet.credentials["good"] = credential("good", "SHA-256", "AES-128");
  fleet.credentials["old"] = credential("old", "MD5", "DES");
  for (const auto& [name, by] :
       {std::pair{"LK-101", "old"}, {"LK-102", "good"}, {"LK-103", "old"}, {"LK-104", "old"}}) {
    fleet::Unit unit;
    unit.name = name;
    unit.credential = by;
    fleet.units.push_back(std::move(unit));
  }
  return fleet;
}

}  // namespace

TEST_CASE(
    "units that are spoken to insecurely are listed by credential, with what is insecure and why it is so") {
  const fleet::Fleet fleet = old_fleet();
  CHECK(insecure_text(Screen(), insecure_units(fleet)) ==
        "spoken to insecurely\n"
        "  credential old: MD5 is broken, DES is broken\n"
        "    because: units of 2009\n"
        "    LK-101, LK-103, LK-104\n"
        "\n");
  CHECK(insecure_json(insecure_units(fleet)).dump() ==
        R"([{"credential":"old","weaknesses":["MD5 is broken","DES is broken"],"reason":"units of 2009",)"
        R"("units":["LK-101","LK-103","LK-104"]}])");
}

TEST_CASE("of the units that were asked about alone") {
  const fleet::Fleet fleet = old_fleet();
  const auto some = insecure_units(fleet, {&fleet.units[1], &fleet.units[2]});
  REQUIRE(some.size() == 1);
  CHECK(some.front().units == std::vector<std::string>{"LK-103"});
}

TEST_CASE("where all is secure nothing is said") {
  const fleet::Fleet fleet = old_fleet();
  const auto none = insecure_units(fleet, {&fleet.units[1]});
  CHECK(none.empty());
  CHECK(insecure_text(Screen(), none).empty());
  CHECK(insecure_json(none).dump() == "[]");
}

TEST_CASE("levels without authentication or privacy, communities and old TLS are insecure") {
  const auto told = [](const fleet::Credential& one) { return weaknesses(one); };
  CHECK(told(credential("a", "none", "none")) == std::vector<std::string>{"no authentication", "no privacy"});
  CHECK(told(credential("a", "SHA-256", "none")) == std::vector<std::string>{"no privacy"});
  fleet::Credential community;
  community.kind = fleet::Credential::Kind::community;
  community.version = "1";
  CHECK(told(community).size() == 1);
  fleet::Credential certificate;
  certificate.kind = fleet::Credential::Kind::certificate;
  CHECK(told(certificate).empty());
  certificate.certificate.old_versions = true;
  CHECK(told(certificate) == std::vector<std::string>{"TLS 1.0 is broken"});
}
