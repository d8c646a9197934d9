#include "checks/site.h"

#include "fleet/tree.h"

using namespace vergeset;
using checks::Finding;
using fleet::Tree;

namespace {

/// What each unit of this site record needs so that nothing is found.
const std::string sound =
    "pole: p, mount-height: 6, latitude: 54.1, longitude: -20.1, elevation: 5, survey-accuracy: 0.1, "
    "cable-length: 40, cable-category: Cat 6, cable-rating: outdoor, surge-protector: SP-1, bond: cabinet, "
    "supply-voltage: 52, injector: port 3, antennas: 2 C-V2X 6 dBi, serial: A1, "
    "mac: \"02:00:00:00:00:01\", installer: anyone, installed: 2026-05-01";

/// The record, with some fields otherwise than in `sound`; "field:" alone leaves it out.
std::string site(const std::string& instead = {}) {
  std::map<std::string, std::string> fields;
  for (const std::string& list : {sound, instead}) {
    std::istringstream parts(list);
    for (std::string part; std::getline(parts, part, ',');) {
      const auto colon = part.find(':');
      const auto name = part.substr(part.find_first_not_of(' '), colon - part.find_first_not_of(' '));
      fields[name] = part.substr(colon + 1);
    }
  }
  std::string out;
  for (const auto& [name, text] : fields) {
    if (text.find_first_not_of(' ') != std::string::npos)
      out += (out.empty() ? "" : ", ") + name + ":" + text;
  }
  return "{" + out + "}";
}

std::string unit(const std::string& name, const std::string& host, const std::string& record,
                 const std::string& more = {}) {
  return "  " + name + ": {address: " + host + ", model: ntcip1218-v01, site: " + record + more + "}\n";
}

struct CheckedSites {
  Tree tree;
  std::vector<checks::UnitFindings> units;

  explicit CheckedSites(const std::string& unit_lines, const std::string& fleet_lines = {})
      : tree({{"fleet.yaml", fleet::least_fleet + fleet_lines}, {"units.yaml", "units:\n" + unit_lines}}) {
    INFO(tree.report());
    REQUIRE_FALSE(tree.faults.any());
    units = checks::site_findings(tree.fleet);
  }

  /// "cable-run: 130 m of ..." of one unit, one a line.
  std::string of(const std::string& name) const {
    std::string lines;
    for (const auto& one : units) {
      if (one.unit->name != name) continue;
      for (const Finding& finding : one.findings) lines += finding.rule + ": " + finding.text + "\n";
    }
    return lines;
  }
};

/// The rules that one unit breaks whose record is `sound` but for `instead`.
std::string found(const std::string& instead, const std::string& fleet_lines = {}) {
  return CheckedSites(unit("LK-1", "127.0.104.1", site(instead)), fleet_lines).of("LK-1");
}

}  // namespace

TEST_CASE("a sound site record gives no finding") {
  CHECK(found("").empty());
}

// IEEE 802.3 and TIA-568: 100 m at most. Told in the field as 300, which in feet is 91 m (common practice,
// no source).
TEST_CASE("a copper run of more than 100 m is found, in whatever unit it is written") {
  CHECK(found("cable-length: 100").empty());
  CHECK(found("cable-length: 300 ft").empty());
  CHECK(found("cable-length: 100.5") == "cable-run: 100.5 m of cable; Ethernet over copper reaches 100 m\n");
  CHECK(found("cable-length: 400 ft") ==
        "cable-run: 121.92 m of cable; Ethernet over copper reaches 100 m\n");
  CHECK(found("cable-length: 300 m") == "cable-run: 300 m of cable; Ethernet over copper reaches 100 m\n");
  CHECK(found("cable-length: 300, cable-category: single-mode fibre").empty());
}

// Common practice, no source.
TEST_CASE("a missing surge protector or bond is found, whether it is said or passed over") {
  CHECK(found("surge-protector: none") == "surge-protector: there is no surge protector\n");
  CHECK(found("surge-protector: no") == "surge-protector: there is no surge protector\n");
  CHECK(found("surge-protector:") == "surge-protector: no surge protector is recorded\n");
  CHECK(found("bond: none") == "bond: the unit is not bonded to earth\n");
  CHECK(found("bond:") == "bond: no bond is recorded\n");
  CHECK(found("bond:, bond-resistance: 0.4 ohm").empty());
  CHECK(found("bond-resistance: 4000 mohm") == "bond: the bond has 4 ohm; at most 1 ohm are wanted\n");
  CHECK(found("earth-resistance: 30") ==
        "earth: 30 ohm to earth; at most 25 ohm are wanted, and the local code decides\n");
}

// Common practice, no source.
TEST_CASE("indoor cable on a run outdoors is found, and on one indoors it is not") {
  CHECK(found("cable-rating: indoor") ==
        "cable-outdoors: the cable is made for indoors and lies outdoors: sun and water end it\n");
  CHECK(found("cable-rating:, cable-category: Cat 5e indoor").rfind("cable-outdoors: ", 0) == 0);
  CHECK(found("cable-rating: indoor, cable-route: indoor").empty());
  CHECK(found("cable-rating: direct burial").empty());
}

// RSU 4.1 requirement 278 as the US DOT's FAQ quotes it: 37 V to 57 V at the unit over Ethernet.
TEST_CASE("a voltage outside 37 V to 57 V is found at unit and injector") {
  CHECK(found("supply-voltage: 37").empty());
  CHECK(found("supply-voltage: 57 V").empty());
  CHECK(found("supply-voltage: 36.9") == "supply-voltage: 36.9 V at the unit; 37 V to 57 V are wanted\n");
  CHECK(found("injector-voltage: 57100 mV") ==
        "supply-voltage: 57.1 V at the injector; 37 V to 57 V are wanted\n");
  CHECK(found("supply-voltage: -48").rfind("supply-voltage: -48 V", 0) == 0);
}

// RFC 950: hosts of one subnet share its prefix; all zeros and all ones are no host's. RFC 3021: /31 has
// neither. RFC 4291 for IPv6.
TEST_CASE("an address outside its subnet, or its gateway's, is found") {
  const auto at = [](const std::string& host, const std::string& network, const std::string& gateway) {
    std::string record = site();
    record.insert(1, "network: \"" + network + "\", gateway: \"" + gateway + "\", ");
    return CheckedSites(unit("LK-1", "\"" + host + "\"", record)).of("LK-1");
  };
  CHECK(at("192.0.2.77", "192.0.2.64/26", "192.0.2.65").empty());
  CHECK(at("192.0.2.128", "192.0.2.64/26", "192.0.2.65") ==
        "subnet: address 192.0.2.128 is not in its subnet 192.0.2.64/26\n");
  CHECK(at("192.0.2.64", "192.0.2.64/26", "192.0.2.65") ==
        "subnet: address 192.0.2.64 is no host's in its subnet 192.0.2.64/26\n");
  CHECK(at("192.0.2.127", "192.0.2.64/26", "192.0.2.65") ==
        "subnet: address 192.0.2.127 is no host's in its subnet 192.0.2.64/26\n");
  CHECK(at("192.0.2.65", "192.0.2.64/31", "192.0.2.64").empty());
  CHECK(at("192.0.2.65", "192.0.2.64/26", "192.0.2.65") ==
        "gateway: address 192.0.2.65 is its gateway's too\n");
  CHECK(at("192.0.2.77", "192.0.2.64/26", "192.0.2.1") ==
        "gateway: gateway 192.0.2.1 is not in the subnet 192.0.2.64/26\n");
  CHECK(at("2001:db8:77::5", "2001:db8:77::/64", "2001:db8:77::1").empty());
  CHECK(at("2001:db8:78::5", "2001:db8:77::/64", "fe80::1").find("is not in its subnet") !=
        std::string::npos);
}

TEST_CASE("units that share what each should have alone are found, and each is told of the other") {
  const std::string ids = ", settings: {unit-id: RSU-7}";
  const CheckedSites checked(
      unit("LK-1", "127.0.104.1", site("latitude: 54.5"), ids) +
      unit("LK-2", "127.0.104.2", site("latitude: 54.5000002, mac: 02-00-00-00-00-01, serial: A2"), ids) +
      unit("LK-3", "127.0.104.3", site("mac: \"02:00:00:00:00:03\"")));
  CHECK(checked.of("LK-1") ==
        "same-unit-id: unit-id RSU-7 is that of LK-2 too\n"
        "same-mac: hardware address 02:00:00:00:00:01 is that of LK-2 too\n"
        "same-serial: serial number A1 is that of LK-3 too\n"
        "same-position: surveyed 0.0 m from where LK-2 stands\n");
  CHECK(checked.of("LK-2") ==
        "same-unit-id: unit-id RSU-7 is that of LK-1 too\n"
        "same-mac: hardware address 02:00:00:00:00:01 is that of LK-1 too\n"
        "same-position: surveyed 0.0 m from where LK-1 stands\n");
  CHECK(checked.of("LK-3") == "same-serial: serial number A1 is that of LK-1 too\n");
}

TEST_CASE("units 2 m apart stand at two places, until the fleet says otherwise") {
  const std::string two = unit("LK-1", "127.0.104.1", site("serial: A1")) +
                          unit("LK-2", "127.0.104.2", site("latitude: 54.100018, serial: A2, mac:"));
  CHECK(CheckedSites(two).of("LK-1").empty());
  CHECK(CheckedSites(two, "limits: {apart: 3 m}\n").of("LK-1") ==
        "same-position: surveyed 2.0 m from where LK-2 stands\n");
}

TEST_CASE("transmit power is held against the antennas and the licence") {
  const auto with = [](const std::string& antennas, const std::string& power,
                       const std::string& fleet_lines) {
    const std::string rows =
        ", only: {ntcip1218-v01: {tables: {radio: {rows: {first: {index: 1, power: " + power + "}}}}}}";
    return CheckedSites(unit("LK-1", "127.0.104.1", site("antennas: " + antennas), rows), fleet_lines)
        .of("LK-1");
  };
  const std::string licence = "limits: {transmit-power: 33 dBm}\n";
  CHECK(with("2 C-V2X 6 dBi + GNSS", "23 dBm", "").empty());
  CHECK(with("2 C-V2X + GNSS 28 dBi", "23 dBm", "").find("antenna-gain: radio first power is set") == 0);
  CHECK(with("GNSS", "23 dBm", "").find("and no antenna is recorded") != std::string::npos);
  CHECK(with("", "-128 dBm", "").find("antenna-gain") == std::string::npos);
  CHECK(with("C-V2X 12 dBi", "21 dBm", licence).empty());
  CHECK(with("C-V2X 12 dBi", "22 dBm", licence) ==
        "transmit-power: radio first power: 22 dBm + 12 dBi are 34 dBm EIRP; the licence allows 33 dBm\n");
  CHECK(with("C-V2X 12 dBi 1.5 dB", "22 dBm", licence).empty());
  CHECK(
      with("C-V2X 6 dBi + DSRC 12dBi 0.5dB 40 deg", "22 dBm", licence) ==
      "transmit-power: radio first power: 22 dBm + 12 dBi - 0.5 dB are 33.5 dBm EIRP; the licence allows 33 "
      "dBm\n");
}

TEST_CASE("a fleet says how much a rule matters, and the worst comes first") {
  const CheckedSites checked(
      unit("LK-1", "127.0.104.1", site("bond: none, cable-length: 130, surge-protector: no")),
      "severities: {bond: error, surge-protector: ignore, cable-run: notice}\n");
  REQUIRE(checked.units.size() == 1);
  const std::vector<Finding>& all = checked.units.front().findings;
  REQUIRE(all.size() == 2);
  CHECK(all[0].rule == "bond");
  CHECK(all[0].severity == fleet::Severity::error);
  CHECK(all[1].rule == "cable-run");
  CHECK(all[1].source == "IEEE 802.3, TIA-568");
  CHECK(checks::worst(all) == fleet::Severity::error);
}

TEST_CASE("limits and severities that are none are faults with their place") {
  const Tree tree(
      {{"fleet.yaml", fleet::least_fleet +
                          "limits: {cable-runs: 90 m, satellites: 4 m, supply-low: 40, bond: 2 km}\n"
                          "severities: {bonds: error, bond: dire}\n"},
       {"units.yaml", fleet::two_units}});
  const std::string report = tree.report();
  CHECK_THAT(report,
             Catch::Contains("fleet.yaml:4:10: no limit is called cable-runs; did you mean cable-run"));
  CHECK_THAT(report, Catch::Contains("satellites needs a number, as in 4; found 4 m"));
  CHECK_THAT(report, Catch::Contains("supply-low needs a number and a unit, as in 37 V; found 40"));
  CHECK_THAT(report, Catch::Contains("bond: 2 km: "));
  CHECK_THAT(report, Catch::Contains("fleet.yaml:5:14: no rule is called bonds; did you mean bond"));
  CHECK_THAT(report, Catch::Contains("expected a severity: ignore, notice, warning or error; found dire"));
}
