#include <algorithm>

#include "catch.h"
#include "change/swaps.h"
#include "checks/health.h"
#include "district.h"

namespace {

using namespace vergeset;
using test::District;
using test::operating;
using test::two_units;

std::vector<std::string> texts(const change::Audited& unit, const std::string& rule) {
  std::vector<std::string> out;
  for (const checks::Finding& one : unit.health)
    if (one.rule == rule) out.push_back(one.text);
  return out;
}

std::vector<const fleet::Unit*> all_units(const District& district) {
  std::vector<const fleet::Unit*> units;
  for (const fleet::Unit& unit : district.fleet.units) units.push_back(&unit);
  return units;
}

snmp::Task<void> wait(District& district, std::chrono::milliseconds time) {
  co_await district.network.sleep(time);
}
void pass(District& district, std::chrono::hours time) {
  std::vector<snmp::Task<void>> tasks;
  tasks.push_back(wait(district, time));
  district.network.run(std::move(tasks), 1);
}

change::Before counted(const std::vector<change::Audited>& units) {
  change::Before before;
  for (const change::Audited& unit : units) before[unit.unit->name] = unit.counted;
  return before;
}

/// Five units a hundred metres apart, northwards from 54.9 N, 20 W.
std::map<std::string, std::string> a_street(const std::string& more_fleet = "") {
  auto files = two_units(more_fleet);
  files["units.yaml"] = "units:\n";
  for (int i = 0; i < 5; ++i) {
    files["units.yaml"] += fmt::format(
        "  LK-10{}: {{address: 127.77.0.{}, model: {}, site: {{latitude: {:.7f}, longitude: -20.0}}}}\n",
        i + 1, i + 1, i % 2 == 0 ? "ntcip1218-v01" : "rsu-4.1", 54.9 + i * 0.0009);
  }
  return files;
}

/// Puts the receiver of a unit where another should be, some metres east of it.
void stands_at(District& district, const std::string& name, const std::string& site) {
  const double latitude = *district.unit(site).site.latitude;
  if (district.unit(name).model->object("rsuGnssLat") != nullptr) {
    district.put(name, "rsuGnssStatus", 0, "9");
    district.put(name, "rsuGnssLat", 0, fmt::format("{:.0f}", latitude * 1e7));
    district.put(name, "rsuGnssLon", 0, "-199999500");
    return;
  }
  district.put(name, "rsuGpsStatus", 0, "9");
  district.put(name, "rsuGpsOutputString", 0,
               sim::gga_sentence(sim::Spot{latitude, -19.99995, 12}, 9, district.network.now_ms()));
}

TEST_CASE("an audit names units that stand on each other's sites, in longer cycles too") {
  District district(a_street());
  operating(district);
  for (const auto& [name, site] : {std::pair("LK-101", "LK-102"),
                                   {"LK-102", "LK-104"},
                                   {"LK-104", "LK-101"},
                                   {"LK-103", "LK-103"},
                                   {"LK-105", "LK-103"}}) {
    stands_at(district, name, site);
  }
  const auto audited = district.audit();
  for (const std::size_t swapped : {0U, 1U, 3U}) {
    CHECK(
        texts(audited[swapped], "swapped") ==
        std::vector<std::string>{"swapped: LK-101 on the site of LK-102, LK-102 on that of LK-104, LK-104 on "
                                 "that of LK-101"});
  }
  CHECK(texts(audited[2], "swapped").empty());
  CHECK(texts(audited[2], "position-off").empty());
  CHECK(texts(audited[4], "other-site") == std::vector<std::string>{"it finds itself on the site of LK-103"});
  CHECK(audited[4].position.away.value() == Approx(200).margin(5));
  CHECK(audited[4].position.bearing.value() == Approx(179).margin(2));
}

TEST_CASE("units that are the wrong ones by their position are named as swapped all the same") {
  District district(a_street("position-within: 50 m\n"));
  operating(district);
  stands_at(district, "LK-101", "LK-105");
  stands_at(district, "LK-105", "LK-101");
  const auto audited = district.audit();
  CHECK(audited[0].verdict == change::Verdict::wrong_unit);
  CHECK_THAT(audited[0].what, Catch::Contains("401 m north"));
  CHECK(texts(audited[0], "swapped").size() == 1);
  CHECK(texts(audited[4], "swapped").size() == 1);
}

TEST_CASE("a unit that is the wrong one by too few satellites is not: its position does not count") {
  District district(a_street("position-within: 50 m\n"));
  operating(district);
  stands_at(district, "LK-101", "LK-105");
  district.put("LK-101", "rsuGnssStatus", 0, "3");
  const auto audited = district.audit();
  CHECK(audited[0].verdict != change::Verdict::wrong_unit);
  CHECK_THAT(audited[0].position.unknown, Catch::StartsWith("3 satellites"));
}

TEST_CASE("what a sick service says of itself is read in one request more, and of a well one not at all") {
  District district(two_units());
  operating(district);
  const auto before = district.audit();
  CHECK(texts(before[0], "service-status").empty());
  district.put("LK-101", "rsuServiceStatus", 4, "critical");
  district.put("LK-101", "rsuServiceStatusDesc", 4, "card is read-only");
  const auto after = district.audit();
  REQUIRE(texts(after[0], "service-status").size() == 1);
  CHECK_THAT(texts(after[0], "service-status").front(),
             Catch::Contains("storage calls its status critical: card is read-only"));
  CHECK(after[0].traffic.requests == before[0].traffic.requests + 1);
}

TEST_CASE("health is told after a change too, where something was changed and where nothing was") {
  District district(two_units());
  district.put("LK-101", "rsuServiceStatus", 2, "warning");
  for (int i = 0; i < 2; ++i) {
    const change::ChangeResult result = district.apply();
    const auto& health = result.units[0].health;
    CHECK(std::ranges::any_of(health, [](const checks::Finding& one) {
      return one.rule == "service-status" && one.text.find("GNSS calls its status warning") == 0;
    }));
  }
}

TEST_CASE("a healthy simulated unit at its site has nothing to tell, night after night") {
  District district(a_street());
  for (const fleet::Unit& unit : district.fleet.units) {
    const sim::Spot site{*unit.site.latitude, *unit.site.longitude, 12};
    const sim::Nature nature{unit.model, unit.name, site, 1500};
    sim::Store store(nature, &unit.desired, district.network.now_ms());
    store.apply(unit.desired, district.network.now_ms());
    district.sim(unit.name) = sim::SimUnit(std::move(store));
  }
  operating(district);
  change::Before before;
  for (int night = 0; night < 3; ++night) {
    const auto audited = change::audit(district.world, all_units(district), "audit", 16, before);
    for (const change::Audited& unit : audited) {
      CAPTURE(unit.unit->name, unit.what);
      CHECK(unit.verdict == change::Verdict::agrees);
      for (const checks::Finding& one : unit.health) FAIL_CHECK(one.rule << ": " << one.text);
      CHECK(unit.counted.up.value() == night * 86400);
      CHECK(unit.position.away.value() < 6);
    }
    before = counted(audited);
    pass(district, std::chrono::hours(24));
  }
}

TEST_CASE("a unit that starts anew between audits is told, and what was counted is kept where it is silent") {
  District district(two_units());
  operating(district);
  pass(district, std::chrono::hours(24));
  change::Before before = counted(district.audit());
  pass(district, std::chrono::hours(20));
  district.sim("LK-101").reboot({}, district.network.now_ms());
  district.sim("LK-102").trouble.drop = 1000;
  pass(district, std::chrono::hours(4));
  const auto audited = change::audit(district.world, all_units(district), "audit", 16, before);
  CHECK(texts(audited[0], "restarted").size() == 1);
  CHECK(audited[0].counted.restarts.size() == 1);
  CHECK(audited[1].verdict == change::Verdict::no_answer);
  CHECK(audited[1].counted == before.at("LK-102"));
}

TEST_CASE("a unit of RSU 4.1 that operates and whose counters stand still is told by the next audit") {
  District district(two_units());
  REQUIRE(district.apply().units[1].outcome == change::Outcome::settled);
  pass(district, std::chrono::hours(1));
  const change::Before before = counted(district.audit());
  for (const bool stuck : {false, true}) {
    if (stuck)
      district.put("LK-102", "rsuContCchMsgSent", 0,
                   std::to_string(district.read("LK-102", "rsuContCchMsgSent").number));
    const change::Before last = stuck ? counted(district.audit()) : before;
    pass(district, std::chrono::hours(24));
    const auto audited = change::audit(district.world, all_units(district), "audit", 16, last);
    CHECK(texts(audited[1], "messages-sent").size() == (stuck ? 1 : 0));
  }
}

}  // namespace
