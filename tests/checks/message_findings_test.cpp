#include "checks/message_findings.h"

#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <functional>
#include <sstream>

#include "checks/message.h"
#include "fleet/payload_file.h"
#include "fleet/tree.h"

using namespace vergeset;
using checks::Finding;
using fleet::Tree;
using namespace std::chrono_literals;

namespace {

constexpr std::chrono::sys_seconds today = std::chrono::sys_days(std::chrono::year(2026) / 11 / 26);

std::string larkmoor_hex(const std::string& name) {
  std::ifstream in(SOURCE_DIR "/inventories/larkmoor/payloads/" + name + ".hex");
  std::stringstream text;
  text << in.rdbuf();
  Faults faults;
  const auto octets = fleet::parse_payload(text.str(), name, faults);
  REQUIRE(octets);
  return smi::to_hex(*octets);
}

/// The middle of Larkmoor's LK-101 (payloads/intersections.yaml).
const std::string at_101 = "{latitude: 54.9, longitude: -20.029244}";

struct Sent {
  std::string psid = "0x82";
  std::string message = "MAP";
  std::string start = "2026-01-01T00:00Z";
  std::string stop = "2036-01-01T00:00Z";
  std::string payload = "0012020000";
  std::string enabled = "yes";
  std::string site = at_101;
};

std::string unit_lines(const std::string& name, const Sent& sent) {
  return fmt::format(
      "  {}:\n    address: 127.0.118.{}\n    model: ntcip1218-v01\n    site: {}\n    tables:\n"
      "      store-and-repeat:\n        rows:\n          one: {{match: [message], message: {}, psid: {}, "
      "channel: 183, interval: "
      "1000 ms, start: {}, stop: {}, payload: \"{}\", enabled: {}, priority: 5, options: "
      "bypass1609dot2off}}\n",
      name, name.substr(3), sent.site, sent.message, sent.psid, sent.start, sent.stop, sent.payload,
      sent.enabled);
}

struct Checked {
  Tree tree;
  std::vector<checks::UnitFindings> units;

  explicit Checked(const std::string& lines, const std::string& fleet_lines = {},
                   std::chrono::sys_seconds now = today)
      : tree({{"fleet.yaml", fleet::least_fleet + fleet_lines}, {"units.yaml", "units:\n" + lines}}) {
    INFO(tree.report());
    REQUIRE_FALSE(tree.faults.any());
    units = checks::message_findings(tree.fleet, now);
  }

  std::string of(const std::string& name) const {
    std::string lines;
    for (const auto& one : units) {
      if (one.unit->name != name) continue;
      for (const Finding& finding : one.findings) lines += finding.rule + ": " + finding.text + "\n";
    }
    return lines;
  }
};

std::string found(const Sent& sent, const std::string& fleet_lines = {}) {
  return Checked(unit_lines("LK-1", sent), fleet_lines).of("LK-1");
}

/// The payload with another number in the one field of so many bits that makes it say what it is to say:
/// where that is, the decoder tells.
std::string with_number(const std::string& octets, std::size_t bits, int number,
                        const std::function<bool(const j2735::Message&)>& says) {
  for (std::size_t bit = 8 * 3; bit + bits <= octets.size() * 8; ++bit) {
    std::string changed = octets;
    for (std::size_t i = 0; i < bits; ++i) {
      const std::size_t at = bit + i;
      const auto mask = static_cast<unsigned char>(0x80U >> (at % 8));
      const auto octet = static_cast<unsigned char>(changed[at / 8]);
      const bool set = (number >> (bits - 1 - i) & 1) != 0;
      changed[at / 8] = static_cast<char>(set ? octet | mask : octet & ~mask);
    }
    const j2735::Message message = j2735::read_message(changed);
    if (message.flaws.empty() && says(message)) return changed;
  }
  FAIL("no such field");
  return octets;
}

Checked larkmoor_sent(const std::string& name) {
  Sent sent;
  sent.payload = larkmoor_hex(name);
  return Checked(unit_lines("LK-1", sent));
}

}  // namespace

TEST_CASE("a MAP of its own place under its own PSID gives no finding") {
  CHECK(larkmoor_sent("LK-101-map").of("LK-1").empty());
  Sent alone;
  alone.psid = "0x204097";  // IEEE 1609.12, from memory
  alone.payload = larkmoor_hex("LK-101-map");
  CHECK(found(alone).empty());
}

// IEEE 1609.12, from memory; TIM 0x83 is RSU 4.1 MIB, RsuPsidTC (8003).
TEST_CASE("a PSID that the message does not belong to is found, with the ones it belongs to") {
  Sent sent;
  sent.psid = "0x83";
  CHECK(
      found(sent) ==
      "message-psid: store-and-repeat one: a MAP is sent under PSID 0x83; it belongs to 0x82 or 0x204097\n");
  const Checked placed(unit_lines("LK-1", sent));
  CHECK(placed.units.at(0).findings.at(0).place.str() == "units.yaml:9:55");
}

TEST_CASE("a MAP of another place is found, with how far away it is") {
  Sent sent;
  sent.payload = larkmoor_hex("LK-102-map");
  const std::string text = found(sent);
  CHECK_THAT(
      text, Catch::StartsWith("message-place: store-and-repeat one: intersection 4102 \"Harbour Road at Quay "
                              "Street\" is 399 m from the unit's site; 200 m are allowed\n"));
  CHECK(found(sent, "limits: {message-place: 400 m}\n").empty());
}

TEST_CASE("one intersection at two sites is found at both, and two units of one site may share it") {
  Sent here;
  here.payload = larkmoor_hex("LK-101-map");
  Sent there = here;
  there.site = "{latitude: 54.9001, longitude: -20.0244}";
  const Checked far(unit_lines("LK-1", here) + unit_lines("LK-2", there));
  CHECK(far.of("LK-1") ==
        "same-intersection: store-and-repeat one: intersection 4101 \"Harbour Road at Ferry Street\" is "
        "sent by LK-2, 311 m away too\n");
  CHECK_THAT(far.of("LK-2"), Catch::Contains("is sent by LK-1, 311 m away too"));
  there.site = "{latitude: 54.9001, longitude: -20.0292}";
  const Checked near(unit_lines("LK-1", here) + unit_lines("LK-2", there));
  CHECK(near.units.empty());
}

TEST_CASE("a payload that is cut, or has more than its message, is found and told apart") {
  Sent sent;
  const std::string whole = larkmoor_hex("LK-101-map");
  sent.payload = whole.substr(0, 400);
  CHECK_THAT(found(sent),
             Catch::StartsWith("payload-truncated: store-and-repeat one: payload: its frame says 356 octets, "
                               "196 are there; it ends in intersection 1 of 1: lane"));
  sent.payload = whole + "0000";
  CHECK(found(sent) == "payload-trailing: store-and-repeat one: payload: 2 octets behind the message\n");
}

TEST_CASE("a delivery that is over, upside down or soon at its end is found") {
  Sent sent;
  sent.stop = "2026-11-25T12:00Z";
  CHECK(found(sent) == "delivery-over: store-and-repeat one: is sent no longer since 2026-11-25T12:00Z\n");
  sent.stop = "2025-11-25T12:00Z";
  CHECK(found(sent) ==
        "delivery-order: store-and-repeat one: is to end at 2025-11-25T12:00Z, and to begin at "
        "2026-01-01T00:00Z\n");
  sent.stop = "2026-12-20T00:00Z";
  CHECK(found(sent) ==
        "delivery-ends: store-and-repeat one: is sent until 2026-12-20T00:00Z, for 24 days more\n");
  CHECK(found(sent, "limits: {delivery-ends: 20 days}\n").empty());
  sent.stop = "2026-11-27T06:00Z";
  CHECK_THAT(found(sent), Catch::Contains("for 30 h more"));
  sent.enabled = "no";
  CHECK(found(sent).empty());
}

// SAE J2735: 32000 minutes are until told otherwise.
TEST_CASE("traveller information that outlives its delivery is found, and one that is over") {
  Sent sent;
  sent.psid = "0x83";
  sent.message = "TIM";
  // Larkmoor's works of the causeway: from 2026-10-12T06:00Z until told otherwise.
  sent.payload = larkmoor_hex("work-zone-causeway");
  sent.stop = "2027-09-30T18:00Z";
  CHECK(found(sent) ==
        "message-for-ever: store-and-repeat one: holds until told otherwise, and is sent until "
        "2027-09-30T18:00Z only\n");
  // The same for 20,000 minutes, which end at 2026-10-26T03:20Z.
  const std::string octets = *smi::from_hex(sent.payload);
  j2735::Traveller wanted = *j2735::read_message(octets).traveller();
  wanted.frames.at(0).duration = 20'000;
  sent.payload = smi::to_hex(with_number(octets, 15, 20'000, [&](const j2735::Message& message) {
    return message.traveller() != nullptr && *message.traveller() == wanted;
  }));
  CHECK(found(sent) ==
        "message-over: store-and-repeat one: holds no longer since 2026-10-26T03:20Z, and is still sent\n");
  sent.stop = "2026-10-20T00:00Z";
  CHECK(found(sent) ==
        "delivery-over: store-and-repeat one: is sent no longer since 2026-10-20T00:00Z\n"
        "message-outlives: store-and-repeat one: holds until 2026-10-26T03:20Z, and is sent until "
        "2026-10-20T00:00Z only\n");
}

// SAE J2735 MsgCount: 0 to 127, and 0 again behind 127.
TEST_CASE("a MAP whose revision goes back, or stays though it is another, is found") {
  const std::string octets = *smi::from_hex(larkmoor_hex("LK-101-map"));
  const j2735::Map before = *j2735::read_message(octets).map();
  const auto with_revision = [&](int revision) {
    return with_number(octets, 7, revision, [&](const j2735::Message& message) {
      if (message.map() == nullptr) return false;
      j2735::Map wanted = before;
      wanted.intersections.at(0).revision = revision;
      return *message.map() == wanted;
    });
  };
  const auto rules = [&](const std::string& desired, const std::string& carried) {
    const fleet::Severities usual;
    checks::Findings findings(usual);
    checks::judge_revision(desired, carried, "store-and-repeat map", {}, findings);
    std::string text;
    for (const Finding& finding : findings.take()) text += finding.rule + ": " + finding.text + "\n";
    return text;
  };
  CHECK(rules(octets, octets).empty());
  CHECK(rules(with_revision(2), octets).empty());
  CHECK(rules(with_revision(0), with_revision(127)).empty());
  CHECK(rules(octets, with_revision(3)) ==
        "revision-back: store-and-repeat map: intersection 4101 \"Harbour Road at Ferry Street\" has "
        "revision 1, and the "
        "unit carries 3: vehicles keep the later one\n");
  CHECK_THAT(rules(with_revision(127), with_revision(0)), Catch::StartsWith("revision-back: "));
  std::string other = octets;
  other.back() = static_cast<char>(other.back() ^ 0x40);
  CHECK_THAT(rules(other, octets), Catch::StartsWith("revision-same: "));
  CHECK(rules(*smi::from_hex(larkmoor_hex("LK-102-map")), octets).empty());
  CHECK(rules("no MAP", octets).empty());
}

TEST_CASE("Larkmoor's messages give no finding above notice") {
  Faults faults;
  const fleet::Fleet larkmoor = fleet::load_fleet(SOURCE_DIR "/inventories/larkmoor", fleet::schemas, faults);
  REQUIRE_FALSE(faults.any());
  const auto all = checks::message_findings(larkmoor, today);
  for (const auto& unit : all) {
    for (const Finding& finding : unit.findings) {
      INFO(unit.unit->name << " " << finding.rule << ": " << finding.text);
      CHECK(finding.severity == fleet::Severity::notice);
    }
  }
}
