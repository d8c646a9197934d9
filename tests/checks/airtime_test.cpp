#include "checks/airtime.h"

#include "checks/channel_load.h"
#include "fleet/tree.h"

using namespace vergeset;
using checks::Envelope;
using fleet::Tree;

namespace {

/// A unit with a radio on channel 172 and rows of store-and-repeat.
Tree radio_unit(const std::string& model, const std::string& radio, const std::string& rows,
                const std::string& more_tables = {}, const std::string& fleet_lines = {}) {
  return Tree({{"fleet.yaml", fleet::least_fleet + fleet_lines},
               {"units.yaml", "units:\n  LK-1:\n    address: 127.0.118.1\n    model: " + model +
                                  "\n    tables:\n      radio: {rows: {first: {index: 1, " + radio +
                                  "}}}\n      store-and-repeat:\n        rows:\n" + rows + more_tables}});
}

/// Ten times a second and switched on, unless the row says otherwise.
std::string repeat(const std::string& name, const std::string& more) {
  std::string row =
      "          " + name + ": {index: " + std::to_string(name.back() - '0') +
      ", psid: 0x82, start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: \"0012020000\", ";
  if (more.find("interval:") == std::string::npos) row += "interval: 100 ms, ";
  if (more.find("enabled:") == std::string::npos) row += "enabled: yes, ";
  return row + more + "}\n";
}

std::vector<checks::ChannelLoad> loads(const Tree& tree) {
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  return checks::channel_loads(tree.unit("LK-1"), tree.fleet.limits);
}

}  // namespace

// IEEE 802.11-2016 clause 17, half-clocked; ../shared/facts gives these five.
TEST_CASE("a frame takes as long as IEEE 802.11's timing of a 10 MHz channel says") {
  CHECK(checks::airtime_us(100) == 184);
  CHECK(checks::airtime_us(300) == 448);
  CHECK(checks::airtime_us(500) == 712);
  CHECK(checks::airtime_us(1000) == 1384);
  CHECK(checks::airtime_us(1500) == 2048);
}

// Sizes from memory: 30 of MAC, 2 of LLC, 2 of WSMP, the PSID, 1 or 2 of length.
TEST_CASE("headers and envelopes add their octets") {
  CHECK(checks::frame_octets(100, 2, Envelope::none) == 100 + 30 + 2 + 2 + 2 + 1);
  CHECK(checks::frame_octets(130, 4, Envelope::none) == 130 + 30 + 2 + 2 + 4 + 2);
  CHECK(checks::frame_octets(100, 2, Envelope::unsecured) == 103 + 30 + 2 + 2 + 2 + 1);
  // 4 around, 3 within, 20 of header, 150 of signer, 66 of signature.
  CHECK(checks::frame_octets(100, 2, Envelope::sealed) == 100 + 4 + 3 + 20 + 150 + 66 + 30 + 2 + 2 + 2 + 2);
}

TEST_CASE("the messages of a channel are summed, each by its interval") {
  const Tree tree =
      radio_unit("rsu-4.1", "mode: continuous, channel: 172",
                 repeat("a1", "channel: 172, message: MAP, tx-mode: continuous") +
                     repeat("a2", "channel: 172, message: MAP, tx-mode: continuous, interval: 1000 ms"));
  const auto all = loads(tree);
  REQUIRE(all.size() == 1);
  // A signed frame of 5 octets: 5 + 243 + 36 + 2.
  const std::size_t frame = checks::frame_octets(5, 2, Envelope::sealed);
  CHECK(all[0].radio == "first");
  CHECK(all[0].channel == 172);
  CHECK(all[0].rows == 2);
  CHECK(all[0].messages == Approx(11));
  CHECK(all[0].octets == Approx(11.0 * static_cast<double>(frame)));
  CHECK(all[0].share == Approx(11.0 * static_cast<double>(checks::airtime_us(frame)) / 1e6));
}

// NTCIP 1218 rsuMsgRepeatOptions, from memory: bit 0 handles by IEEE 1609.2, bit 1 unsecured.
TEST_CASE("a message that the unit does not sign takes less of the channel") {
  const auto octets = [](const std::string& options) {
    return loads(radio_unit("ntcip1218-v01", "mode: continuous, channel: 172",
                            repeat("a1", "channel: 172, priority: 5, options: " + options)))
        .at(0)
        .octets;
  };
  CHECK(octets("bypass1609dot2off") > octets("stopAfterLongCommLoss"));
  CHECK(octets("stopAfterLongCommLoss") ==
        Approx(10.0 * static_cast<double>(checks::frame_octets(5, 2, Envelope::none))));
}

// IEEE 1609.4, from memory: 46 of 100 ms.
TEST_CASE("a channel that its radio is on by turns has less than half of the time") {
  const std::string rows = repeat("a1", "channel: 176, message: MAP, tx-mode: alternating");
  const auto turns =
      loads(radio_unit("rsu-4.1", "mode: alternating, channel: 172, second-channel: 176", rows));
  const auto always = loads(radio_unit("rsu-4.1", "mode: continuous, channel: 176", rows));
  CHECK(turns.at(0).share == Approx(always.at(0).share / 0.46));
}

TEST_CASE("a row that is switched off takes nothing, and one of a channel without a radio is told") {
  const Tree tree =
      radio_unit("rsu-4.1", "mode: continuous, channel: 172",
                 repeat("a1", "channel: 178, message: MAP, tx-mode: continuous") +
                     repeat("a2", "channel: 172, message: MAP, tx-mode: continuous, enabled: no"));
  const auto all = loads(tree);
  REQUIRE(all.size() == 1);
  CHECK(all[0].radio.empty());
  CHECK(all[0].channel == 178);
  checks::Findings findings(tree.fleet.severities);
  checks::judge_channel_load(tree.unit("LK-1"), tree.fleet.limits, findings);
  const auto told = findings.take();
  REQUIRE(told.size() == 1);
  CHECK(told[0].rule == "channel-without-radio");
}

// NTCIP 1218's note on rsuRadioCh1: 183 is the usual C-V2X channel in the USA.
TEST_CASE("of C-V2X octets and messages are told, and no time") {
  const Tree tree = radio_unit("ntcip1218-v01", "mode: continuous, channel: 183",
                               repeat("a1", "channel: 183, priority: 5, interval: 1 ms"));
  const auto all = loads(tree);
  REQUIRE(all.size() == 1);
  CHECK(all[0].cellular);
  CHECK(all[0].share == 0);
  CHECK(all[0].messages == Approx(1000));
  CHECK_THAT(checks::load_text(all[0]), Catch::Contains("up to the scheduler of C-V2X"));
  checks::Findings findings(tree.fleet.severities);
  checks::judge_channel_load(tree.unit("LK-1"), tree.fleet.limits, findings);
  CHECK(findings.take().empty());
}

TEST_CASE("what is forwarded at once is counted as the limits say, and a load above its limit is found") {
  const Tree tree =
      radio_unit("rsu-4.1", "mode: continuous, channel: 172",
                 repeat("a1", "channel: 172, message: MAP, tx-mode: continuous"),
                 "      immediate-forward: {rows: {s: {index: 1, psid: 0x82, message: SPAT, tx-mode: "
                 "continuous, channel: "
                 "172, enabled: yes}}}\n",
                 "limits: {channel-load: 5 %, forward-rate: 100, forward-octets: 500 octets}\n");
  const auto all = loads(tree);
  REQUIRE(all.size() == 1);
  CHECK(all[0].assumed == 1);
  CHECK(all[0].messages == Approx(110));
  checks::Findings findings(tree.fleet.severities);
  checks::judge_channel_load(tree.unit("LK-1"), tree.fleet.limits, findings);
  const auto told = findings.take();
  REQUIRE(told.size() == 1);
  CHECK(told[0].rule == "channel-load");
  CHECK_THAT(told[0].text, Catch::StartsWith("radio first, channel 172: ") &&
                               Catch::Contains("5 % are wanted at most") &&
                               Catch::Contains("1 of them forwarded"));
  CHECK(told[0].place.line > 0);
}
