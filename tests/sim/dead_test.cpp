#include "sim/dead.h"

#include "catch.h"

using vergeset::sim::dead_units;

namespace {

using Names = std::set<std::string>;

std::vector<std::string> ten() {
  std::vector<std::string> served;
  for (int i = 0; i < 10; ++i) served.push_back("LK-10" + std::to_string(i));
  return served;
}

std::string problem(const std::string& text) {
  const auto dead = dead_units(text, ten());
  return dead ? "none" : dead.problem();
}

}  // namespace

TEST_CASE("a number of dead units is spread evenly over those that are served") {
  CHECK(*dead_units("2", ten()) == Names{"LK-104", "LK-109"});
  CHECK(*dead_units("2", ten()) == *dead_units("2", ten()));
  CHECK(dead_units("10", ten())->size() == 10);
  CHECK(dead_units("0", ten())->empty());
  CHECK(dead_units("", ten())->empty());
}

TEST_CASE("a share of dead units is of those that are served, to the nearest unit") {
  CHECK(*dead_units("20%", ten()) == *dead_units("2", ten()));
  CHECK(dead_units("14.9%", ten())->size() == 1);
  CHECK(dead_units("100%", ten())->size() == 10);
}

TEST_CASE("dead units may be named, with patterns") {
  CHECK(*dead_units("LK-103", ten()) == Names{"LK-103"});
  CHECK(*dead_units("LK-103,*7", ten()) == Names{"LK-103", "LK-107"});
  CHECK(dead_units("LK-10?", ten())->size() == 10);
}

TEST_CASE("a choice of dead units that cannot be says why") {
  CHECK(problem("50") == "50: 10 units are served");
  CHECK(problem("101%") == "101%: a share is 100% at most");
  CHECK(problem("LK-300").starts_with("no unit that is served is called LK-300"));
  CHECK(problem("LK-103,LK-1o4").find("did you mean LK-104?") != std::string::npos);
  CHECK(problem("-1").starts_with("no unit that is served is called -1"));
  CHECK(problem("2.5").starts_with("no unit that is served is called 2.5"));
}
