#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const Files keep_good = {{"fleet.yaml", least_fleet}, {"units.yaml", two_units}};

Keep keep_of(const std::string& added) {
  Tree tree({{"fleet.yaml", least_fleet + added}, {"units.yaml", two_units}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  return tree.fleet.keep;
}

}  // namespace

TEST_CASE("records stay for ever, or for as many days as the fleet says") {
  CHECK_FALSE(keep_of("").audits);
  const Keep keep = keep_of("keep: {audits: 92 days, nights: 800 days, snapshots: 8760 h, logs: 365 days}\n");
  CHECK(keep.audits == 92);
  CHECK(keep.nights == 800);
  CHECK(keep.snapshots == 365);
  CHECK(keep.logs == 365);
}

TEST_CASE("a slip in how long records stay is a fault: nothing goes by mistake") {
  const auto wrong = [](const std::string& keep, const std::vector<std::string>& words) {
    check_wrong(keep_good, "fleet.yaml", {least_fleet + keep, words});
  };
  wrong("keep: {@@audit: 92 days}\n", {"expected audits, nights, snapshots or logs", "audits"});
  wrong("keep: {audits: @@92}\n", {"needs a number and a unit", "92 days"});
  wrong("keep: {audits: @@92 m}\n", {"needs a number and a unit"});
  wrong("keep: {audits: @@1 day}\n", {"expected 2 to 36500 days for audits"});
  wrong("keep: @@{audits: 92 days, nights: 30 days}\n", {"keep them as long as those"});
}
