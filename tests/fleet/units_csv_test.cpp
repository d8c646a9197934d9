#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const Files good = {{"fleet.yaml", least_fleet + "settings: {location-description: \"{site.place}\"}\n"},
                    {"groups/all.yaml", ""},
                    {"groups/signals.yaml", ""},
                    {"groups/corridor-7.yaml", ""}};

void check_csv(const std::string& marked, const std::vector<std::string>& words) {
  check_wrong(good, "units.csv", {marked, words});
}

}  // namespace

TEST_CASE("a spreadsheet gives the same units as YAML") {
  Files files = good;
  files["units.csv"] =
      "\xef\xbb\xbf# kept by the district\r\n"
      "model,unit,address,port,groups,site.place,site.latitude,values.lane,engine-id,\r\n"
      "\r\n"
      "rsu-4.1,LK-102,127.0.102.1,,all; signals + corridor-7,\"Weir Road, north\",51.5,3,80001f8804,\r\n"
      "ntcip1218-v01,LK-101,127.0.101.1,16101,,Mill Lane,,,,\r\n"
      ",,,,,,,,,\r\n";
  const Tree tree(files);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  REQUIRE(tree.fleet.units.size() == 2);
  const Unit& unit = tree.unit("LK-102");
  CHECK(unit.port == 161);
  CHECK(unit.groups == std::vector<std::vector<std::string>>{{"all"}, {"signals", "corridor-7"}});
  CHECK(unit.site.latitude == 51.5);
  CHECK(unit.values.at("lane") == "3");
  CHECK(unit.engine_id == "80001f8804");
  CHECK(unit.place == Place{"units.csv", 4, 9});
  CHECK(tree.value("LK-102", "rsuLocationDesc")->value == smi::Value::of_octets("Weir Road, north"));
  CHECK(tree.unit("LK-101").port == 16101);
  CHECK_FALSE(tree.unit("LK-101").site.latitude.has_value());
}

TEST_CASE("YAML and CSV together make one fleet, and a unit stands in one of them") {
  Files files = good;
  files["units.yaml"] = "units:\n  LK-101: {address: 127.0.0.1, model: rsu-4.1, site: {place: x}}\n";
  files["units.csv"] = "unit,address,model,site.place\nLK-102,127.0.0.2,rsu-4.1,y\n";
  CHECK(Tree(files).fleet.units.size() == 2);
  CHECK_FALSE(Tree(files).faults.any());

  check_wrong(
      files, "units.csv",
      {"unit,address,model,site.place\n@@LK-101,127.0.0.2,rsu-4.1,y\n", {"LK-101", "units.yaml:2:3"}});
}

TEST_CASE("the header of a spreadsheet is checked cell by cell") {
  check_csv("unit,address,@@modell,model,site.place\nLK-1,127.0.0.1,,rsu-4.1,x\n",
            {"modell", "did you mean model"});
  check_csv("unit,address,model,site.place,@@site.plaice\nLK-1,127.0.0.1,rsu-4.1,x,\n",
            {"site.plaice", "did you mean site.place"});
  check_csv("unit,address,model,site.place,@@model\n", {"model", "second time"});
  check_csv("@@address,model\n127.0.0.1,rsu-4.1\n", {"no column unit"});
  check_csv("@@Unit,address,model\nLK-1,127.0.0.1,rsu-4.1\n", {"Unit; did you mean unit?"});
}

TEST_CASE("cells parted by semicolons are told") {
  check_csv("@@unit;address;model\nLK-1;127.0.0.1;rsu-4.1\n", {"cells are parted by commas", "unit;address"});
  check_csv("@@unit\taddress\tmodel\nLK-1\t127.0.0.1\trsu-4.1\n", {"cells are parted by commas"});
}

TEST_CASE("a spreadsheet that is no text, or whose header is broken, is one fault") {
  check_csv("\"unit\"@@s,address\nLK-1,127.0.0.1\n", {"behind the closing quote"});
  Files files = good;
  std::string wide;  // UTF-16, as some spreadsheets save "Unicode text"
  for (const char c : std::string("unit,address,model\nLK-1,127.0.0.1,rsu-4.1\n")) wide += {c, '\0'};
  files["units.csv"] = wide;
  CHECK(Tree(files).report() ==
        "units.csv: is no text, for it holds octets 00; save the spreadsheet as CSV in UTF-8\n");
}

TEST_CASE("an empty spreadsheet is told") {
  Files files = good;
  files["units.csv"] = "# nothing\n";
  CHECK(says(Tree(files).report(), {"units.csv: holds no header line"}));
}

TEST_CASE("a line of a spreadsheet is checked cell by cell") {
  const std::string head = "unit,address,model,groups,site.place,values.lane\n";
  check_csv(head + "@@LK-1,127.0.0.1,rsu-4.1\n", {"expected 6 cells", "found 3"});
  check_csv(head + "@@LK-1,127.0.0.1,rsu-4.1,,x,1,2\n", {"expected 6 cells", "found 7"});
  check_csv(head + "@@,127.0.0.1,rsu-4.1,,x,1\n", {"names no unit"});
  check_csv(head + "LK-1,@@127.0.0,rsu-4.1,,x,1\n", {"IPv4", "127.0.0"});
  check_csv(head + "LK-1,127.0.0.1,@@rsu-41,,x,1\n", {"rsu-41", "did you mean rsu-4.1"});
  check_csv(head + "LK-1,127.0.0.1,rsu-4.1,@@all; signal,x,1\n", {"no group is called signal"});
  check_csv(head + "LK-1,127.0.0.1,rsu-4.1,@@all;;signals,x,1\n",
            {"all; signals + corridor-7", "all;;signals"});
  check_csv(head + "LK-1,127.0.0.1,rsu-4.1,all,x,@@{lane}\n", {"lane", "may not hold { or }"});
  check_csv("unit,address,model,site.place,\nLK-1,127.0.0.1,rsu-4.1,x,@@stray\n",
            {"under no header", "stray"});
  check_csv("unit,address,model,site.place,@@values.unit\nLK-1,127.0.0.1,rsu-4.1,x,7\n",
            {"already the unit's own"});
}
