#include <atomic>
#include <cstdlib>

#include "catch.h"
#include "rough/road.h"

/// The built program over real sockets and a road that loses, delays, repeats, reorders and narrows.
namespace {

using rough::Child;
using rough::Road;

constexpr int units = 200;

/// A round trip takes 0.2 to 0.6 s on this road, and what its 64 kbit/s take.
constexpr const char* desired =
    "timeout: 700 ms\n"
    "settings: {unit-id: \"{unit}\", mode: operate, notify-address: 192.0.2.10, notify-port: 10162, "
    "system-location: Larkmoor valley}\n"
    "tables:\n  store-and-repeat:\n    rows:\n"
    "      map: {match: [psid], psid: 0x82, message: MAP, channel: 172, interval: 1000 ms, start: "
    "2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 0012020000, enabled: yes}\n";

std::string seed() {
  const char* const given = std::getenv("ROUGH_SEED");
  return given != nullptr ? given : "1";
}

/// rsuID, the mode that was reached, and the payload of the first stored message, as the object definitions
/// of NTCIP 1218 v01 and of the RSU 4.1 specification number them; 3 and 4 stand for operate there.
struct Objects {
  const char* oids;
  const char* operate;
};
const Objects ntcip{
    "1.3.6.1.4.1.1206.4.2.18.13.4.0 1.3.6.1.4.1.1206.4.2.18.16.3.0 "
    "1.3.6.1.4.1.1206.4.2.18.3.2.1.7.1",
    "3"};
const Objects older{"1.0.15628.4.1.17.4.0 1.0.15628.4.1.99.0 1.0.15628.4.1.4.1.9.1", "4"};

TEST_CASE("200 units settle, all of them, where a fifth of all datagrams is lost each way", "[long]") {
  Road road(units,
            {"--loss", "20", "--delay", "100", "--spread", "200", "--duplicate", "5", "--reorder", "10",
             "--rate", "64", "--seed", seed()},
            desired);
  REQUIRE(road.open());
  const Child::End applied = road.vergeset({"apply", "--yes"});
  const std::string passed = road.close();
  const std::string figures =
      fmt::format("seed {}: {} units in {:.1f} s; {}", seed(), units, applied.seconds, passed);
  std::ofstream(BINARY_DIR "/rough-road.txt", std::ios::app) << figures;
  INFO(figures);
  INFO(applied.text);
  CHECK(applied.status == 0);
  CHECK_THAT(applied.text, Catch::Contains("200 units: 200 settled"));
  for (int unit = 1; unit <= units; ++unit) {
    const Objects& of = unit % 4 == 0 ? older : ntcip;
    CHECK(road.get(unit, of.oids) ==
          fmt::format("\"{}\"\n{}\n\"00 12 02 00 00 \"\n", Road::name(unit), of.operate));
  }
}

TEST_CASE("a road that loses large datagrams is read in smaller ones, and a whole change goes over it",
          "[long]") {
  // A GETBULK of ours is answered by up to 1,400 octets.
  std::string rows = "tables:\n  store-and-repeat:\n    rows:\n";
  for (int row = 1; row <= 12; ++row) {
    rows += fmt::format(
        "      notice-{0}: {{match: [psid, message], psid: {1}, message: TIM, channel: 183, interval: 1000 "
        "ms, start: "
        "2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 001f{2}, enabled: yes}}\n",
        row, 1000 + row, std::string(400, 'a'));
  }
  const std::string settings =
      "timeout: 300 ms\nretries: 1\nsettings: {unit-id: \"{unit}\", mode: operate, notify-address: "
      "192.0.2.10}\n";
  Road road(1, {"--largest", "700"}, settings + rows);
  REQUIRE(road.open());
  const Child::End applied = road.vergeset({"apply", "--yes"});
  INFO(applied.text);
  CHECK(applied.status == 0);
  CHECK_THAT(applied.text, Catch::Contains("1 unit: 1 settled"));
  const Child::End audited = road.vergeset({"audit"});
  INFO(audited.text << road.log_of(1));
  CHECK(audited.status == 0);
  const Child::End whole = road.vergeset({"survey", "--whole"});
  INFO(whole.text);
  CHECK(whole.status == 0);
  std::ofstream(BINARY_DIR "/rough-road.txt", std::ios::app)
      << fmt::format("at most 700 octets: apply {:.1f} s, audit {:.1f} s, survey {:.1f} s; {}",
                     applied.seconds, audited.seconds, whole.seconds, road.close());
}

TEST_CASE("what is lost because one value alone is too large for the road is told by its table") {
  const std::string settings =
      "timeout: 300 ms\nretries: 1\nsettings: {unit-id: \"{unit}\"}\ntables:\n  store-and-repeat:\n    "
      "rows:\n";
  const auto row = [](std::size_t octets) {
    return fmt::format(
        "      notice: {{match: [psid], psid: 1001, message: TIM, channel: 183, interval: 1000 ms, start: "
        "2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 001f{}, enabled: yes}}\n",
        std::string(2 * octets, 'a'));
  };
  Road road(1, {"--largest", "900"}, settings + row(10));
  REQUIRE(road.open());
  const Child::End small = road.vergeset({"apply", "--yes"});
  INFO(small.text);
  REQUIRE(small.status == 0);
  REQUIRE_THAT(road.tell("LK-001 set rsuMsgRepeatPayload.1 " + std::string(2400, 'f')).text,
               Catch::Contains("ok"));
  const Child::End audited = road.vergeset({"audit"});
  INFO(audited.text);
  CHECK(audited.status == 4);
  CHECK_THAT(audited.text, Catch::Contains("no answer") && Catch::Contains("rsuMsgRepeatStatusTable"));
}

}  // namespace
