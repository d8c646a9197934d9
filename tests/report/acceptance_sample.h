#pragma once

#include <fmt/format.h>

#include "report/acceptance.h"

/// Acceptance sheets of units in the invented district of Larkmoor.
namespace vergeset::tests {

inline report::Acceptance ordinary_sheet() {
  using enum fleet::Severity;
  report::Acceptance sheet;
  sheet.fleet = "District of Larkmoor";
  sheet.unit = "LK-104";
  sheet.model = "NTCIP 1218 v01";
  sheet.address = "127.77.0.104:16161";
  sheet.firmware = "4.2.1";
  sheet.number = 2;
  sheet.begun = "2026-11-25T08:12:04.100Z";
  sheet.ended = "2026-11-25T09:47:51.000Z";
  sheet.records = "records/commissioning/LK-104/0002";
  sheet.site = {{"pole", "signal pole 3, north-west corner", ""},
                {"mount-height", "6.5 m", "6.2 m"},
                {"latitude", "47.620500 deg", ""},
                {"longitude", "-122.349300 deg", ""},
                {"elevation", "38.2 m", ""},
                {"survey-accuracy", "0.05 m", ""},
                {"cable-length", "64 m", ""},
                {"cable-category", "6, outdoor", ""},
                {"surge-protector", "SP-60, in the cabinet", ""},
                {"bond", "cabinet bar", ""},
                {"bond-resistance", "", "0.3 ohm"},
                {"serial", "LM4-00187", ""},
                {"mac", "02:00:5e:00:01:04", ""},
                {"installer", "R. Lopez", ""},
                {"injector", "", ""},
                {"drawings", "", ""}};
  const std::string at = "2026-11-25T08:20:00Z";
  sheet.checks = {
      {"traffic control and work area", "yes", "", "r.lopez", at},
      {"mounted as drawn, tight, tethered", "yes", "", "r.lopez", at},
      {"height above ground", "6.2 m", "drawn at 6.5 m, the mast arm is in the way", "r.lopez", at},
      {"antennas connected before power", "yes", "", "r.lopez", at},
      {"GNSS antenna sees the sky", "no", "a tree to the south-east", "r.lopez", at},
      {"resistance of the bond", "0.3 ohm", "", "r.lopez", at},
      {"status light says ready", "yes", "", "r.lopez", "2026-11-25T08:31:00Z"}};
  const std::string by = "m.okafor";
  sheet.stages = {
      {"reach", "passed", "at the top", by, "2026-11-25T08:33:00Z"},
      {"identify", "passed", "engine id and serial number are the unit's", by, "2026-11-25T08:33:00Z"},
      {"firmware", "passed", "4.2.1 is on the fleet's list", by, "2026-11-25T08:34:00Z"},
      {"keys", "passed", "", by, "2026-11-25T08:36:00Z"},
      {"apply", "passed", "settled, 4 steps, 12 s off air", by, "2026-11-25T08:41:00Z"},
      {"health", "passed with findings", "3 satellites", by, "2026-11-25T08:45:00Z"},
      {"position", "passed", "1.8 m from the surveyed one", by, "2026-11-25T08:46:00Z"}};
  sheet.settings = {
      {"notify-address", "0.0.0.0", "192.0.2.10"},
      {"position-tolerance", "20000 m", "15 m"},
      {"store-and-repeat map", "no such row", "psid 8002, 001234ab...(402 octets, sha256 1a2b3c4d)"}};
  sheet.position = {{"latitude", "47.620500 deg", "47.620512 deg"},
                    {"longitude", "-122.349300 deg", "-122.349284 deg"},
                    {"elevation", "38.2 m", "not known"},
                    {"distance", "", "1.8 m, bearing 42 deg"}};
  sheet.keys = {"user ops: both keys changed on 2026-11-25 in change 0041; the factory's user is gone"};
  sheet.findings = {
      {"satellites", warning, "3 satellites; at least 4 are wanted", "NTCIP 1218 v01 rsuGnssStatus"},
      {"bond", notice, "mount-height is 6.2 m at the pole and 6.5 m in the record", "common practice"}};
  sheet.cautions = {
      "Work at height: climb and lift only as trained and equipped for it, with fall protection, and clear "
      "of "
      "power lines.",
      "Messages: wrong MAP or SPaT content misleads drivers and automated vehicles; a licensed engineer "
      "reviews it.",
      "Local codes, the manufacturer's manual and licensed practice go before anything said here."};
  sheet.accepted = true;
  return sheet;
}

/// More of everything than any unit has.
inline report::Acceptance worst_sheet(const std::string& word = "the mast arm is in the way of it") {
  report::Acceptance sheet = ordinary_sheet();
  sheet.accepted = false;
  const auto text = [&](const std::string& name, int i) {
    return fmt::format("{} {}: {}, {}, and {}", name, i, word, word, word);
  };
  sheet.unit = "LK-104 " + word;
  sheet.model = text("model", 1);
  sheet.firmware = text("firmware", 1);
  sheet.site.clear();
  for (int i = 1; i <= 29; ++i) {
    sheet.site.push_back({fmt::format("site-field-number-{}", i), text("field", i), i % 3 == 0 ? word : ""});
  }
  sheet.checks.clear();
  for (int i = 1; i <= 16; ++i) {
    sheet.checks.push_back({text("check", i), "no, " + word, text("note", i), "an.engineer.of.long.name@desk",
                            "2026-11-25T08:20:00Z"});
  }
  sheet.stages.clear();
  for (int i = 1; i <= 10; ++i) {
    sheet.stages.push_back({fmt::format("stage-{}", i), i % 2 == 0 ? "failed" : "passed with findings",
                            text("result", i), "an.engineer.of.long.name@desk", "2026-11-25T08:20:00Z"});
  }
  sheet.settings.clear();
  for (int i = 1; i <= 160; ++i) {
    sheet.settings.push_back(
        {fmt::format("store-and-repeat row-{} payload", i), text("found", i), text("left", i)});
  }
  sheet.findings.clear();
  for (int i = 1; i <= 20; ++i) {
    const auto severity = i % 4 == 0 ? fleet::Severity::error : fleet::Severity::warning;
    sheet.findings.push_back({"rule", severity, text("finding", i), "a standard's section, " + word});
  }
  sheet.position.clear();
  for (int i = 1; i <= 8; ++i)
    sheet.position.push_back({fmt::format("figure {}", i), text("a", i), text("b", i)});
  sheet.keys = {text("keys of user", 1), text("keys of user", 2), text("keys of user", 3)};
  sheet.cautions.assign(6, sheet.cautions.front() + " " + sheet.cautions.front());
  return sheet;
}

/// What a hostile unit or file could say: markup, quotes, controls, letters that turn the direction of
/// writing, octets that are no UTF-8, and a word without end.
inline const std::string& hostile_word() {
  static const std::string word =
      "<script>alert(1)</script><img src=\"http://127.0.0.1/x\" onerror='alert(2)'>&amp;</td></table>"
      "\x1b[2J\xe2\x80\xae\xff\n" +
      std::string(3000, 'W');
  return word;
}

inline report::Acceptance hostile_sheet() {
  report::Acceptance sheet = worst_sheet(hostile_word());
  for (std::string* text :
       {&sheet.fleet, &sheet.unit, &sheet.model, &sheet.address, &sheet.firmware, &sheet.begun, &sheet.ended,
        &sheet.records, &sheet.checks[0].at, &sheet.stages[0].result, &sheet.stages[1].name,
        &sheet.findings[0].source, &sheet.site[0].name}) {
    *text = hostile_word();
  }
  return sheet;
}

}  // namespace vergeset::tests
