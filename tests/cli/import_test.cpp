#include <nlohmann/json.hpp>

#include "catch.h"
#include "program.h"

using namespace vergeset::tests;

namespace {

constexpr const char* sheet =
    "Larkmoor units\n"
    "Device Name,IP,Lat,Long (deg),Pole #,Cable ft,Install Date,Owner\n"
    "RSU 1,192.0.2.1,54.9,20.03 W,7,120,6/10/2024,city\n"
    "RSU 2,192.0.2.2,54.9,-20.03,8,31 m,soon,city\n"
    "RSU 3,192.0.2,54.9,-20.03,9,,,city\n";

std::string text_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

TEST_CASE("import tells what becomes of each column and what did not fit, and writes what fits") {
  const Fleet fleet("import-plain");
  fleet.write("rsus.csv", sheet);
  const Ran asked = fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1"});
  INFO(asked.out << asked.err);
  CHECK(asked.status == 2);
  CHECK_THAT(asked.out, Catch::Contains("header on line 2") && Catch::Contains("from ft to m") &&
                            Catch::Contains("not used") && Catch::Contains("6/10/2024") &&
                            Catch::Contains("--dates day-first or"));
  CHECK_THAT(asked.err, Catch::Contains("nothing was written"));
  CHECK_FALSE(std::filesystem::exists(fleet.path("units.csv")));

  const std::vector<std::string> decided{"import",  fleet.path("rsus.csv"), "--model", "4.1",
                                         "--dates", "month-first"};
  std::vector<std::string> dry = decided;
  dry.push_back("--dry-run");
  CHECK(fleet.on(dry).status == 2);
  CHECK_FALSE(std::filesystem::exists(fleet.path("units.csv")));

  const Ran done = fleet.on(decided);
  INFO(done.out << done.err);
  CHECK(done.status == 2);  // a row and a cell did not fit
  CHECK_THAT(done.out, Catch::Contains("Rows that are left out:") && Catch::Contains("expected an IPv4") &&
                           Catch::Contains("Cells that are left empty:") && Catch::Contains("soon") &&
                           Catch::Contains("2 new units, written to"));
  CHECK_THAT(text_of(fleet.path("units.csv")),
             Catch::Contains("RSU-1,192.0.2.1,rsu-4.1,7,54.9,-20.03,36.576,2024-06-10\n"));
  const Ran checked = fleet.on({"check"});
  INFO(checked.err);
  CHECK(checked.status == 0);
  CHECK_THAT(checked.out, Catch::Contains("4 units"));
}

TEST_CASE("import never overwrites, and tells of units that the fleet has already") {
  const Fleet fleet("import-twice");
  fleet.write("rsus.csv", "Name,IP\nRSU-1,192.0.2.1\n");
  REQUIRE(fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1"}).status == 0);
  const std::string before = text_of(fleet.path("units.csv"));

  const Ran again = fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1"});
  INFO(again.out << again.err);
  CHECK(again.status == 0);
  CHECK_THAT(again.out, Catch::Contains("1 the same, 0 otherwise") && Catch::Contains("no new unit"));

  fleet.write("rsus.csv", "Name,IP\nRSU-1,192.0.2.7\nRSU-2,192.0.2.2\n");
  const Ran more = fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1"});
  INFO(more.out << more.err);
  CHECK(more.status == 2);
  CHECK_THAT(more.out, Catch::Contains("0 the same, 1 otherwise") && Catch::Contains("192.0.2.7"));
  CHECK_THAT(more.err,
             Catch::Contains("is there already and is never overwritten") && Catch::Contains("--out"));
  CHECK(text_of(fleet.path("units.csv")) == before);

  const Ran aside =
      fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1", "--out", fleet.path("more.csv")});
  CHECK(aside.status == 2);
  CHECK_THAT(text_of(fleet.path("more.csv")), Catch::Contains("RSU-2,192.0.2.2,rsu-4.1\n"));
  CHECK(fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1", "--out", fleet.path("more.csv")})
            .status == 2);
}

TEST_CASE("import into no fleet needs a file to write, and into one that would have faults writes nothing") {
  const Fleet fleet("import-nowhere");
  fleet.write("rsus.csv", "Name,IP\nRSU-1,192.0.2.1\n");
  const std::string nowhere = fleet.path("groups");
  const Ran refused = run({"import", fleet.path("rsus.csv"), "--fleet", nowhere, "--model", "rsu-4.1"});
  CHECK(refused.status == 2);
  CHECK_THAT(refused.err, Catch::Contains("--out FILE"));
  const Ran alone = run({"import", fleet.path("rsus.csv"), "--fleet", nowhere, "--model", "rsu-4.1", "--out",
                         fleet.path("alone.csv")});
  CHECK(alone.status == 0);
  CHECK(std::filesystem::exists(fleet.path("alone.csv")));

  fleet.write("groups/signals.yaml", "settings: {location-description: \"{site.place}\"}\n");
  fleet.write("units.yaml", "units: {}\n");
  const Ran faulty =
      fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1", "--groups", "signals"});
  INFO(faulty.out << faulty.err);
  CHECK(faulty.status == 2);
  CHECK_THAT(faulty.err, Catch::Contains("the fleet would have these faults"));
  CHECK_FALSE(std::filesystem::exists(fleet.path("units.csv")));
}

TEST_CASE("every slip in what is asked of import is told, and nothing is written") {
  const Fleet fleet("import-slips");
  fleet.write("rsus.csv", "Name,IP\nRSU-1,192.0.2.1\n");
  fleet.write("book.xlsx", "PK\x03\x04more");
  const auto slip = [&](std::vector<std::string> words, const std::string& told) {
    words.insert(words.begin(), "import");
    const Ran ran = fleet.on(words);
    INFO(ran.out << ran.err);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Catch::Contains(told));
  };
  const std::string file = fleet.path("rsus.csv");
  slip({file, "--dates", "american"}, "expected day-first or month-first, found american");
  slip({file, "--decimal", "dot"}, "expected comma or point");
  slip({file, "--delimiter", "x"}, "expected comma, semicolon, tab or bar");
  slip({file, "--column", "IP"}, "THEIR NAME=FIELD");
  slip({file, "--column", "IP=adress"}, "did you mean address?");
  slip({file, "--column", "Ip4=address"}, "has no column Ip4");
  slip({file, "--model", "rsu-4.2"}, "did you mean rsu-4.1?");
  slip({fleet.path("none.csv")}, "cannot read");
  slip({fleet.path("book.xlsx")}, "save the sheet as CSV");
  CHECK_FALSE(std::filesystem::exists(fleet.path("units.csv")));
}

TEST_CASE("many cells that do not fit in the same way are told by their lines, and in JSON each") {
  const Fleet fleet("import-many");
  std::string text = "Name,IP,Install Date\n";
  for (int i = 1; i <= 100; ++i) {
    text += "RSU-" + std::to_string(i) + ",192.0.2." + std::to_string(i) + ",soon\n";
  }
  fleet.write("rsus.csv", text);
  const Ran told = fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1", "--dry-run"});
  INFO(told.out << told.err);
  CHECK_THAT(told.out, Catch::Contains("and on 90 lines more: 12-101"));
  const Ran json = fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1", "--dry-run", "--json"});
  CHECK(json.status == 2);
  const auto document = nlohmann::json::parse(json.out);
  CHECK(document["misfits"].size() == 100);
  CHECK(document["units"].size() == 100);
  CHECK(document["written"].is_null());
  CHECK(document["columns"][2]["field"] == "site.installed");
}

TEST_CASE("what a spreadsheet says cannot rewrite a terminal") {
  const Fleet fleet("import-hostile");
  fleet.write("rsus.csv", "Name,IP,\x1b[2JEvil\nRSU-1\x1b[31m,192.0.2.1,x\nRSU-2,\x1b]0;x\x07,y\n");
  const Ran ran = fleet.on({"import", fleet.path("rsus.csv"), "--model", "rsu-4.1"});
  CHECK((ran.out + ran.err).find('\x1b') == std::string::npos);
  CHECK((ran.out + ran.err).find('\x07') == std::string::npos);
}
