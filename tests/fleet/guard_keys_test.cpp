#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const Files good = {{"fleet.yaml", least_fleet}, {"units.yaml", two_units}};

Fleet with(const std::string& added) {
  Tree tree({{"fleet.yaml", least_fleet + added}, {"units.yaml", two_units}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  return std::move(tree.fleet);
}

}  // namespace

TEST_CASE("audits try public and private, unless the fleet names other communities or none") {
  using Names = std::vector<std::string>;
  CHECK(with("").factory_communities == Names{"public", "private"});
  CHECK(with("factory-communities: [rsu, admin]\n").factory_communities == Names{"rsu", "admin"});
  CHECK(with("factory-communities: []\n").factory_communities.empty());
  check_wrong(good, "fleet.yaml",
              {least_fleet + "factory-communities: @@{public: yes}\n", {"a list of communities"}});
}

TEST_CASE("a second person is asked for where the fleet says so, and a slip in it is a fault") {
  CHECK_FALSE(with("").require_second_person);
  CHECK_FALSE(with("require-second-person: no\n").require_second_person);
  CHECK(with("require-second-person: yes\n").require_second_person);
  check_wrong(good, "fleet.yaml", {least_fleet + "require-second-person: @@maybe\n", {"yes or no", "maybe"}});
}
