#include "catch.h"
#include "program.h"

using namespace vergeset::tests;

/// `draft` from walks that technicians have on disk.
namespace {

const std::string root = ".1.3.6.1.4.1.1206.4.2.18.";
const std::string walk = root + "6.9.0 = INTEGER: 40\n" + root + "13.1.0 = STRING: \"NTCIP 1218 v01\"\n" +
                         root + "13.4.0 = STRING: \"LK-101\"\n" + root + "14.1.0 = STRING: \"192.0.2.44\"\n";

Ran draft(const Fleet& fleet, const std::vector<std::string>& more) {
  fleet.write("a.walk", walk);
  std::vector<std::string> words{"draft", "LK-101", "--walk", fleet.path("a.walk")};
  words.insert(words.end(), more.begin(), more.end());
  return fleet.on(words);
}

std::string text_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return std::string(std::istreambuf_iterator<char>(in), {});
}

}  // namespace

TEST_CASE("a unit is drafted from a walk, beside what its fleet asks already, and agrees with the walk") {
  const Fleet fleet("draft-walk");
  const Ran ran = draft(fleet, {"--out", fleet.path("new/"), "--as", "harbour"});
  INFO(ran.out << ran.err);
  REQUIRE(ran.status == 0);
  CHECK_THAT(ran.out, Catch::Contains("1 of 1 unit written") && Catch::Contains("it agrees") &&
                          Catch::Contains("cp -R " + fleet.path("new")));
  CHECK(text_of(fleet.path("new/groups/signals.yaml")) == text_of(fleet.path("groups/signals.yaml")));
  const std::string units = text_of(fleet.path("new/units.yaml"));
  INFO(units);
  CHECK_THAT(units, Catch::Contains("groups: [signals, harbour]") &&
                        Catch::Contains("position-tolerance: 40 m") &&
                        Catch::Contains("notify-address: 192.0.2.44") && !Catch::Contains("unit-id") &&
                        Catch::Contains("  LK-102: {address: 127.0.0.1, port: 16102, model: rsu-4.1}\n"));
  const Ran diff = run({"diff", "LK-101", "--walk", fleet.path("a.walk"), "--fleet", fleet.path("new")});
  INFO(diff.out << diff.err);
  CHECK(diff.status == 0);
}

TEST_CASE("a draft that cannot be is refused before anything is read or written") {
  const Fleet fleet("draft-refused");
  const auto refused = [&](const std::vector<std::string>& more, const std::string& why) {
    const Ran ran = draft(fleet, more);
    INFO(ran.out << ran.err);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Catch::Contains(why));
  };
  refused({}, "--out");
  refused({"--out", ""}, "--out needs");
  refused({"--out", fleet.folder()}, "is there already");
  refused({"--out", fleet.path("no/new")}, "is no folder; make it first");
  refused({"--out", fleet.path("new"), "--as", "signals"}, "the fleet has a group signals");
  refused({"--out", fleet.path("new"), "--as", "../x"}, "a group's name has letters");
  refused({"--out", fleet.path("new"), "--survey"}, "do not go together");
  CHECK_FALSE(std::filesystem::exists(fleet.path("new")));
  CHECK(std::distance(std::filesystem::directory_iterator(fleet.folder()), {}) == 4);
}
