#include "report/reach_text.h"

#include <sstream>

#include "catch.h"
#include "report/json.h"

using namespace vergeset;
using change::Climbed;
using change::Hold;
using change::Rung;
using State = Hold::State;

namespace {

struct Street {
  Street() {
    model.title = "RSU 4.1";
    for (const char* name : {"LK-101", "LK-102"}) {
      fleet::Unit unit;
      unit.name = name;
      unit.host = "10.77.1.4";
      unit.model = &model;
      units.push_back(unit);
    }
  }
  std::vector<Climbed> climbed() const {
    Climbed top;
    top.unit = &units[0];
    top.holds = {{Rung::address, State::holds, "10.77.1.4 is on eth0's own subnet 10.77.1.0/24", ""},
                 {Rung::unit, State::holds, "nothing speaks against LK-101", ""}};
    Climbed ended;
    ended.unit = &units[1];
    ended.holds = {{Rung::address, State::holds, "10.77.1.4 is on eth0's own subnet 10.77.1.0/24", ""},
                   {Rung::ping, State::passed, "not asked", "allow it"},
                   {Rung::port, State::ends, "UDP port 161 is \x1b[2Jclosed", "switch SNMP on at the unit"}};
    return {top, ended};
  }
  schema::Model model;
  std::vector<fleet::Unit> units;
};

const report::Screen screen{80, false, true, false};

}  // namespace

TEST_CASE("one unit is shown with every rung, and what to do where the climb ended") {
  const Street street;
  const auto climbed = street.climbed();
  CHECK(report::reach_text(screen, {climbed[1]}, false) ==
        "LK-102   RSU 4.1   10.77.1.4:161\n"
        "  rung                      what was found\n"
        "  address     holds         10.77.1.4 is on eth0's own subnet 10.77.1.0/24\n"
        "  ping        passed over   not asked\n"
        "  SNMP port   ends here     UDP port 161 is \\x1b[2Jclosed\n"
        "  Next: switch SNMP on at the unit\n"
        "\n"
        "1 unit: 1 ended at SNMP port\n");
}

TEST_CASE("many units take a line each, with what to do below") {
  const Street street;
  CHECK(report::reach_text(screen, street.climbed(), false) ==
        "unit     ends at     what was found\n"
        "LK-101               at the top\n"
        "LK-102   SNMP port   UDP port 161 is \\x1b[2Jclosed\n"
        "2 units: 1 at the top, 1 ended at SNMP port\n"
        "Next: vergeset reach LK-102 shows its rungs and what to do\n");
  const std::string full = report::reach_text(screen, street.climbed(), true);
  CHECK_THAT(full, Catch::Contains("LK-101   RSU 4.1") && Catch::Contains("passed over   not asked"));
}

TEST_CASE("the document of a climb has its rungs, the way, the ping and the engine") {
  const Street street;
  auto climbed = street.climbed();
  climbed[0].echo.emplace();
  climbed[0].echo->kind = snmp::Echo::Kind::answered;
  climbed[0].echo->round_trip = std::chrono::microseconds(1500);
  climbed[0].engine = {std::string("\x80\x00\x02\xb8\x05\x01", 6), 3, 60};
  climbed[0].way.kind = snmp::Way::Kind::by_router;
  const report::Json json = report::reach_json(climbed);
  CHECK(json[0]["at_top"] == true);
  CHECK(json[0]["ends_at"] == nullptr);
  CHECK(json[0]["ping_ms"] == 1.5);
  CHECK(json[0]["engine"]["vendor"] == 696);
  CHECK(json[0]["engine"]["id"] == "800002b80501");
  CHECK(json[0]["way"]["kind"] == "by router");
  CHECK(json[1]["ends_at"] == "SNMP port");
  CHECK(json[1]["engine"] == nullptr);
  CHECK(json[1]["ping_ms"] == nullptr);
  CHECK(json[1]["rungs"][2]["state"] == "ends here");
  CHECK(json[1]["rungs"][2]["next"] == "switch SNMP on at the unit");
}
