#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

/// One unit with the given groups and more.
std::string unit_in(const std::string& groups, const std::string& more = "") {
  return "units:\n  LK-101: {address: 127.0.0.1, model: rsu-4.1, groups: " + groups +
         (more.empty() ? "" : ", " + more) + "}\n";
}

std::int64_t port(const Tree& tree) {
  const DesiredValue* const value = tree.value("LK-101", "rsuNotifyPort");
  return value == nullptr ? -1 : value->value.number;
}

const std::string asks_in_two = "[[a, b]]";

}  // namespace

TEST_CASE("a stronger layer overrides a weaker one, and what it overrode is kept") {
  Files files = {{"fleet.yaml", least_fleet + "settings: {notify-port: 1}\n"},
                 {"groups/all.yaml", "settings: {notify-port: 2}\n"},
                 {"groups/signals.yaml", "settings: {notify-port: 3}\n"},
                 {"units.yaml", unit_in("[all, signals]", "settings: {notify-port: 4}")}};
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const DesiredValue& value = *tree.value("LK-101", "rsuNotifyPort");
  CHECK(value.value == smi::Value::integer(4));
  CHECK(value.asked.layer == "unit LK-101");
  REQUIRE(value.overrode.size() == 3);
  CHECK(value.overrode[0].layer == "group signals");
  CHECK(value.overrode[0].text == "3");
  CHECK(value.overrode[0].place == Place{"groups/signals.yaml", 1, 25});
  CHECK(value.overrode[1].layer == "group all");
  CHECK(value.overrode[2].layer == "fleet");

  files["units.yaml"] = unit_in("[all, signals]");
  CHECK(port(Tree(files)) == 3);
  files["units.yaml"] = unit_in("[signals, all]");
  CHECK(port(Tree(files)) == 2);
  files["units.yaml"] = unit_in("[]");
  CHECK(port(Tree(files)) == 1);
}

TEST_CASE("an overridden value may be wrong for this unit") {
  const Tree tree({{"fleet.yaml", least_fleet + "settings: {reference-latitude: \"{site.latitude}\"}\n"},
                   {"units.yaml", unit_in("[]", "settings: {reference-latitude: 51.5 deg}")}});
  INFO(tree.report());
  CHECK_FALSE(tree.faults.any());
}

TEST_CASE("within one layer, only for the model is stronger") {
  const Tree tree({{"fleet.yaml", least_fleet + "only: {rsu-4.1: {settings: {notify-port: 5}}}\n"
                                                "settings: {notify-port: 1}\n"},
                   {"units.yaml", unit_in("[]")}});
  CHECK(port(tree) == 5);
  const Tree group({{"fleet.yaml", least_fleet + "only: {rsu-4.1: {settings: {notify-port: 5}}}\n"},
                    {"groups/a.yaml", "settings: {notify-port: 6}\n"},
                    {"units.yaml", unit_in("a")}});
  CHECK(port(group) == 6);
}

TEST_CASE("a common name and the standard's own are one setting") {
  const Tree tree({{"fleet.yaml", least_fleet + "settings: {notify-port: 1}\n"},
                   {"groups/a.yaml", "settings: {rsuNotifyPort: 2}\n"},
                   {"units.yaml", unit_in("a")}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.unit("LK-101").desired.values.size() == 1);
  CHECK(port(tree) == 2);
  CHECK(tree.value("LK-101", "rsuNotifyPort")->name == "rsuNotifyPort");

  check_wrong({{"fleet.yaml", least_fleet}, {"units.yaml", unit_in("a")}}, "groups/a.yaml",
              {"settings:\n  notify-port: 1\n  @@rsuNotifyPort: 1\n",
               {"rsuNotifyPort is asked for a second time", "notify-port at groups/a.yaml:2:3"}});
}

TEST_CASE("equals that ask for different values are a fault naming both places") {
  const Files files = {{"fleet.yaml", least_fleet + "settings: {position-tolerance: 9 m}\n"},
                       {"groups/a.yaml", "settings: {position-tolerance: 15 m}\n"},
                       {"units.yaml", unit_in(asks_in_two)}};
  check_wrong(
      files, "groups/b.yaml",
      {"settings: {position-tolerance: @@16 m}\n",
       {"position-tolerance is 16 m in group b and 15 m in groups/a.yaml:1:32", "settle it", "LK-101"}});
}

TEST_CASE("equals that ask for the same in other words agree") {
  const Tree tree(
      {{"fleet.yaml", least_fleet},
       {"groups/a.yaml", "settings: {position-tolerance: 15 m, notify-address: 192.0.2.10}\n"},
       {"groups/b.yaml", "settings: {rsuGpsMaxDeviation: 1500, notify-address: \"::ffff:192.0.2.10\"}\n"},
       {"units.yaml", unit_in(asks_in_two)}});
  INFO(tree.report());
  CHECK_FALSE(tree.faults.any());
}

TEST_CASE("a later group or the unit settles what equals dispute, a weaker layer does not") {
  Files files = {{"fleet.yaml", least_fleet + "settings: {notify-port: 9}\n"},
                 {"groups/a.yaml", "settings: {notify-port: 1}\n"},
                 {"groups/b.yaml", "settings: {notify-port: 2}\n"},
                 {"groups/c.yaml", "settings: {notify-port: 3}\n"},
                 {"units.yaml", unit_in("[[a, b], c]")}};
  CHECK(port(Tree(files)) == 3);
  CHECK_FALSE(Tree(files).faults.any());
  files["units.yaml"] = unit_in(asks_in_two, "settings: {notify-port: 4}");
  CHECK(port(Tree(files)) == 4);
  CHECK_FALSE(Tree(files).faults.any());
  files["units.yaml"] = unit_in("[c, [a, b]]");
  CHECK(Tree(files).faults.sorted().size() == 1);
}

TEST_CASE("only in one of two equals does not win over the other") {
  const Files files = {
      {"fleet.yaml", least_fleet},
      {"groups/a.yaml", "settings: {notify-port: 1}\nonly: {rsu-4.1: {settings: {notify-port: 2}}}\n"},
      {"units.yaml", unit_in(asks_in_two)}};
  check_wrong(files, "groups/b.yaml",
              {"settings: {notify-port: @@1}\n", {"notify-port is 1", "2 in groups/a.yaml:2:42"}});
}

TEST_CASE("traits are overridden for a vendor's quirk, a table's for its columns too") {
  const Tree tree({{"fleet.yaml", least_fleet + "traits:\n  rsuSRMStatusTable: {needs-standby: no}\n"
                                                "  rsuSRMPayload: {needs-standby: yes}\n"
                                                "  rsuNotifyPort: {cuts-off: yes}\n"
                                                "  rsuMsgRepeatStatusTable: {needs-standby: yes}\n"},
                   {"groups/a.yaml", "traits: {rsuNotifyPort: {ignored: yes}, rsuMode: {cuts-off: no}}\n"},
                   {"units.yaml", unit_in("a")}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const Unit& unit = tree.unit("LK-101");
  const auto traits = [&](const char* name) { return unit.desired.traits_of(*unit.model->object(name)); };
  CHECK(unit.model->table("rsuSRMStatusTable")->needs_standby);  // else the check below proves nothing
  CHECK_FALSE(unit.desired.needs_standby(*unit.model->table("rsuSRMStatusTable")));
  CHECK_FALSE(traits("rsuSRMPsid").needs_standby);
  CHECK(traits("rsuSRMPayload").needs_standby);
  CHECK(traits("rsuNotifyPort").cuts_off);
  CHECK(traits("rsuNotifyPort").ignored);
  CHECK_FALSE(traits("rsuID").ignored);
  CHECK(unit.desired.needs_standby(*unit.model->table("rsuIFMStatusTable")) ==
        unit.model->table("rsuIFMStatusTable")->needs_standby);
}

TEST_CASE("traits that are unknown, misplaced or disputed are told") {
  const Files files = {
      {"fleet.yaml", least_fleet}, {"groups/b.yaml", ""}, {"units.yaml", unit_in(asks_in_two)}};
  check_wrong(files, "groups/a.yaml",
              {"traits: {@@rsuNotifyPrt: {ignored: yes}}\n", {"did you mean rsuNotifyPort"}});
  check_wrong(files, "groups/a.yaml",
              {"traits: {@@notify-port: {ignored: yes}}\n", {"standard's own names"}});
  check_wrong(files, "groups/a.yaml",
              {"traits: {rsuNotifyPort: {@@ignore: yes}}\n", {"did you mean ignored"}});
  check_wrong(files, "groups/a.yaml",
              {"traits: {rsuNotifyPort: {ignored: @@perhaps}}\n", {"yes or no", "perhaps"}});
  Files two = files;
  two["groups/a.yaml"] = "traits: {rsuNotifyPort: {ignored: yes}}\n";
  check_wrong(two, "groups/b.yaml",
              {"traits: {rsuNotifyPort: {ignored: @@no}}\n",
               {"ignored of rsuNotifyPort is no", "yes in groups/a.yaml"}});
}
