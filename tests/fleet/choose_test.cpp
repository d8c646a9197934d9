#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const Tree& district() {
  static const Tree tree({{"fleet.yaml", least_fleet},
                          {"groups/signals.yaml", ""},
                          {"groups/schools.yaml", ""},
                          {"groups/empty.yaml", ""},
                          {"units.yaml",
                           "units:\n"
                           "  LK-101: {address: 127.0.0.1, model: rsu-4.1, groups: signals}\n"
                           "  LK-102: {address: 127.0.0.2, model: rsu-4.1, groups: schools}\n"
                           "  LK-113: {address: 127.0.0.3, model: ntcip1218-v01, groups: signals}\n"
                           "  WR-1: {address: 127.0.0.4, model: ntcip1218-v01}\n"}});
  return tree;
}

std::string picked(const Choice& choice) {
  const auto units = choose(district().fleet, choice);
  if (!units) return "problem: " + units.problem();
  std::string text;
  for (const Unit* unit : *units) text += (text.empty() ? "" : " ") + unit->name;
  return text;
}

}  // namespace

TEST_CASE("nothing said chooses all units, by name") {
  CHECK(picked({}) == "LK-101 LK-102 LK-113 WR-1");
}

TEST_CASE("names and patterns choose what they fit") {
  CHECK(picked({{"WR-1", "LK-101"}, {}, {}, {}}) == "LK-101 WR-1");
  CHECK(picked({{"LK-*"}, {}, {}, {}}) == "LK-101 LK-102 LK-113");
  CHECK(picked({{"LK-10?"}, {}, {}, {}}) == "LK-101 LK-102");
  CHECK(picked({{"*1"}, {}, {}, {}}) == "LK-101 WR-1");
  CHECK(picked({{"*-1*3*"}, {}, {}, {}}) == "LK-113");
  CHECK(picked({{"**"}, {}, {}, {}}) == "LK-101 LK-102 LK-113 WR-1");
}

TEST_CASE("groups, models and exceptions narrow the choice") {
  CHECK(picked({{}, {"signals"}, {}, {}}) == "LK-101 LK-113");
  CHECK(picked({{}, {"signals", "schools"}, {}, {}}) == "LK-101 LK-102 LK-113");
  CHECK(picked({{}, {"signals"}, {"rsu-4.1"}, {}}) == "LK-101");
  CHECK(picked({{"LK-*"}, {}, {"rsu-4.1"}, {"LK-102"}}) == "LK-101");
  CHECK(picked({{}, {}, {}, {"LK-*"}}) == "WR-1");
}

TEST_CASE("a word that fits nothing is a problem, with a suggestion") {
  CHECK(picked({{"LK-1O1"}, {}, {}, {}}) == "problem: no unit is called LK-1O1; did you mean LK-101?");
  CHECK(says(picked({{"XX*"}, {}, {}, {}}), {"no unit is called XX*"}));
  CHECK(says(picked({{}, {"signal"}, {}, {}}), {"no group is called signal; did you mean signals?"}));
  CHECK(says(picked({{}, {"empty"}, {}, {}}), {"no unit has group empty"}));
  CHECK(says(picked({{}, {}, {"rsu-4.2"}, {}}), {"no model is called rsu-4.2; did you mean rsu-4.1?"}));
  CHECK(says(picked({{}, {}, {}, {"LK-1O2"}}), {"LK-1O2"}));
  CHECK(says(picked({{"XX"}, {"signal"}, {}, {}}), {"XX", "\n", "signal"}));
  CHECK(says(picked({{"WR-1"}, {"signals"}, {}, {}}), {"no unit is left"}));
}

TEST_CASE("a pattern of many stars ends soon") {
  std::string stars;
  for (int i = 0; i < 200; ++i) stars += "*1";
  CHECK(says(picked({{stars + "x"}, {}, {}, {}}), {"no unit is called"}));
}
