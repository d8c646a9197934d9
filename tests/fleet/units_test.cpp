#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const Files good = {{"fleet.yaml", least_fleet},
                    {"units.yaml", two_units},
                    {"groups/signals.yaml", ""},
                    {"groups/all.yaml", ""},
                    {"groups/corridor-7.yaml", ""}};

void check_units(const std::string& units, const std::vector<std::string>& words) {
  check_wrong(good, "units.yaml", {"units:\n" + units + "\n", words});
}

/// One unit with one more key.
void check_unit(const std::string& added, const std::vector<std::string>& words) {
  check_units("  LK-101: {address: 127.0.0.1, model: rsu-4.1, " + added + "}", words);
}

}  // namespace

TEST_CASE("a unit of YAML has all that its entry says") {
  Files files = good;
  files["units.yaml"] =
      "units:\n"
      "  LK-104:\n"
      "    address: 2001:DB8::0:1\n"
      "    port: 16104\n"
      "    model: ntcip1218-v01\n"
      "    groups: [all, [signals, corridor-7]]\n"
      "    engine-id: 80001F8804aabbccdd\n"
      "    site:\n"
      "      place: Mill Lane at Weir Road\n"
      "      latitude: 51.1234567\n"
      "      longitude: -1.2345678\n"
      "      elevation: 41.2\n"
      "    values: {lane: 3}\n";
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const Unit& unit = tree.unit("LK-104");
  CHECK(unit.host == "2001:db8::1");
  CHECK(unit.port == 16104);
  CHECK(unit.groups == std::vector<std::vector<std::string>>{{"all"}, {"signals", "corridor-7"}});
  CHECK(unit.in_group("corridor-7"));
  CHECK_FALSE(unit.in_group("schools"));
  CHECK(unit.engine_id == "80001f8804aabbccdd");
  CHECK(unit.site.fields.at("place") == "Mill Lane at Weir Road");
  CHECK(unit.site.latitude == Approx(51.1234567));
  CHECK(unit.site.longitude == Approx(-1.2345678));
  CHECK(unit.values.at("lane") == "3");
  CHECK(unit.place == Place{"units.yaml", 2, 3});
  CHECK(tree.fleet.files == std::vector<std::string>{"fleet.yaml", "groups/all.yaml",
                                                     "groups/corridor-7.yaml", "groups/signals.yaml",
                                                     "units.yaml"});
}

TEST_CASE("a unit needs an address and a model that is known") {
  check_units("  @@LK-101: {model: rsu-4.1}", {"LK-101 has no address"});
  check_units("  @@LK-101: {address: 127.0.0.1}", {"LK-101 has no model", "ntcip1218-v01, rsu-4.1"});
  check_units("  LK-101: {address: 127.0.0.1, model: @@rsu4.1}",
              {"no model is called rsu4.1", "did you mean rsu-4.1"});
}

TEST_CASE("an address is IPv4, IPv6 or a host name") {
  for (const std::string good_host :
       {"127.0.101.1", "\"::1\"", "rsu-7.larkmoor.example", "fe80::1%eth0", "RSU"}) {
    Files files = good;
    files["units.yaml"] = "units:\n  LK-1: {address: " + good_host + ", model: rsu-4.1}\n";
    const Tree tree(files);
    INFO(good_host << tree.report());
    CHECK_FALSE(tree.faults.any());
  }
  check_units("  LK-101: {address: @@300.0.0.1, model: rsu-4.1}", {"IPv4", "300.0.0.1"});
  check_units("  LK-101: {address: @@127.0.1, model: rsu-4.1}", {"IPv4", "127.0.1"});
  check_units("  LK-101: {address: @@\"1:2:3\", model: rsu-4.1}", {"IPv6", "1:2:3"});
  check_units("  LK-101: {address: @@\"127.0.0.1:161\", model: rsu-4.1}", {"the port goes under port:"});
  check_units("  LK-101: {address: @@-lane, model: rsu-4.1}", {"host name", "-lane"});
  check_units("  LK-101: {address: @@mill_lane, model: rsu-4.1}", {"host name", "mill_lane"});
  check_units("  LK-101: {address: @@\"\", model: rsu-4.1}", {"empty"});
}

TEST_CASE("ports, credentials, groups and engine ids are checked where they stand") {
  check_unit("port: @@0", {"1 to 65535", "found 0"});
  check_unit("port: @@161a", {"1 to 65535", "161a"});
  check_unit("credential: @@larkmor", {"no credential is called larkmor", "did you mean larkmoor"});
  check_unit("groups: [all, @@signal]", {"no group is called signal; did you mean signals?"});
  check_unit("groups: [all, [signals, @@all]]", {"names group all twice"});
  check_unit("groups: @@{all: yes}", {"a list of groups"});
  check_unit("engine-id: @@8000", {"5 to 32 octets", "8000"});
  check_unit("engine-id: @@0000000000", {"engine id"});
  check_unit("engine-id: @@80001f88xx", {"engine id", "80001f88xx"});
  check_unit("@@adress: 1", {"adress", "did you mean address"});
}

TEST_CASE("a unit stands once, under a name that can be a file's") {
  check_units("  @@LK/101: {address: 127.0.0.1, model: rsu-4.1}", {"letters, digits", "found LK/101"});
  check_units("  @@..: {address: 127.0.0.1, model: rsu-4.1}", {"found .."});
  check_units("  @@\"LK 101\": {address: 127.0.0.1, model: rsu-4.1}", {"found LK 101"});
  check_units(
      "  LK-101: {address: 127.0.0.1, model: rsu-4.1}\n"
      "  @@LK-101: {address: 127.0.0.2, model: rsu-4.1}",
      {"LK-101", "second time"});
}

TEST_CASE("two units behind one address and port, or of one engine id, are told") {
  check_units(
      "  LK-101: {address: 127.0.0.1, model: rsu-4.1}\n"
      "  LK-102: {address: @@127.0.0.1, model: rsu-4.1}",
      {"LK-102", "same address and port as unit LK-101", "units.yaml:2:3"});
  check_units(
      "  LK-101: {address: 2001:db8::1, model: rsu-4.1}\n"
      "  LK-102: {address: @@2001:DB8:0::1, model: rsu-4.1}",
      {"same address and port"});
  check_units(
      "  LK-101: {address: 127.0.0.1, model: rsu-4.1, engine-id: 80001f8804aa}\n"
      "  LK-102: {address: 127.0.0.2, model: rsu-4.1, engine-id: @@0x80001F8804AA}",
      {"LK-102", "same engine id as unit LK-101", "units.yaml:2:3"});
  Files files = good;
  files["units.yaml"] =
      "units:\n  LK-101: {address: 127.0.0.1, port: 1001, model: rsu-4.1}\n"
      "  LK-102: {address: 127.0.0.1, port: 1002, model: rsu-4.1}\n";
  CHECK_FALSE(Tree(files).faults.any());
}

TEST_CASE("a site record holds known fields of a possible size") {
  check_unit("site: {@@latitud: 51}", {"no field latitud", "did you mean latitude"});
  check_unit("site: {latitude: @@91}", {"-90 to 90 deg", "found 91"});
  check_unit("site: {longitude: @@west}", {"a number of deg for longitude", "west"});
  check_unit("site: {elevation: @@41 s}", {"a number of m for elevation", "41 s"});
  check_unit("site: {installed: @@1 May}", {"2026-05-01", "1 May"});
  check_unit("site: {installed: @@2026-02-30}", {"2026-05-01", "2026-02-30"});
  check_unit("site: {mac: @@02-00}", {"hardware address"});
  check_unit("site: @@here", {"a map of site fields"});
}

TEST_CASE("every site field has a meaning and the design's are there") {
  std::vector<std::string> names;
  for (const auto& [name, meaning] : site_fields()) {
    names.push_back(name);
    CHECK_FALSE(meaning.empty());
  }
  for (const std::string name : {"place", "latitude", "longitude", "elevation", "surge-protector", "bond"}) {
    CHECK(std::find(names.begin(), names.end(), name) != names.end());
  }
  CHECK(names.size() == 29);
}

TEST_CASE("a groups file that would be passed over, or has a bad name, is told") {
  Files files = good;
  files["groups/schools.yml"] = "settings: {mode: operate}\n";
  files["groups/two words.yaml"] = "";
  files["groups/._all.yaml"] = "left by a file manager";
  files["models/.#own.yaml"] = "left by an editor";
  const Tree tree(files);
  CHECK(tree.faults.sorted().size() == 2);
  CHECK(says(tree.report(),
             {"groups/schools.yml: is passed over", "groups/two words.yaml: ", "found two words"}));
}

TEST_CASE("a units file or folder that would be passed over is told, not left out without a word") {
  const auto report = [](Files files, const std::string& name, const std::string& target) {
    files.erase(name);
    Tree tree(files);
    if (!target.empty()) std::filesystem::create_symlink(target, tree.folder.path() + "/" + name);
    Faults faults;
    load_fleet(tree.folder.path(), schemas, faults);
    std::string text;
    for (const Fault& fault : faults.sorted()) text += fault.str() + "\n";
    return text;
  };
  Files both = good;
  both["units.csv"] = "unit,address,model\nLK-109,127.0.0.9,rsu-4.1\n";
  CHECK(report(both, "units.yaml", "nowhere.yaml") == "units.yaml: is missing\n");
  CHECK(report(good, "units.yaml", "units.yaml") == "units.yaml: is missing\n");
  both["units.yml"] = two_units;
  CHECK(report(both, "", "") == "units.yml: is passed over; let its name end in .yaml\n");
  const Files bare = {{"fleet.yaml", least_fleet}, {"units.yaml", two_units}};
  CHECK(report(bare, "groups", "groups").rfind("groups: is no folder that can be read: ", 0) == 0);
  CHECK(report(bare, "models", "units.yaml").rfind("models: is no folder that can be read: ", 0) == 0);
  CHECK(report(bare, "fleet.yaml", "nowhere.yaml") == "fleet.yaml: is missing\n");
  CHECK(report(good, "units.csv", "/proc/self/mem") == "units.csv: cannot be read; check who may read it\n");
}

TEST_CASE("a fleet's own model is used, and its file is among those read") {
  Files files = good;
  files["models/larkmoor-rsu.yaml"] = "model: larkmoor-rsu\nbased-on: rsu-4.1\ntitle: Larkmoor's own\n";
  files["units.yaml"] =
      "units:\n  LK-101: {address: 127.0.0.1, model: larkmoor-rsu, settings: {mode: operate}}\n";
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.unit("LK-101").model->name == "larkmoor-rsu");
  REQUIRE(tree.value("LK-101", "rsuMode") != nullptr);
  CHECK(tree.value("LK-101", "rsuMode")->value == smi::Value::integer(4));
  CHECK(std::count(tree.fleet.files.begin(), tree.fleet.files.end(), "models/larkmoor-rsu.yaml") == 1);
}

TEST_CASE("a part of an entry that is of the wrong kind is told, and no more") {
  check_units("  LK-101: @@127.0.0.1", {"a map with address:, model: and more is expected"});
  check_unit("settings: @@[mode]", {"settings"});
  check_unit("tables: @@x", {"tables"});
  check_unit("traits: @@x", {"a map of objects and tables"});
  check_unit("only: @@x", {"models"});
  check_unit("values: @@x", {"values"});
}
