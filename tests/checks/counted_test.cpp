#include "checks/counted.h"

#include <fmt/format.h>

#include "bench.h"

namespace {

using namespace vergeset;
using test::Bench;
using test::hour_ms;
using test::Texts;

const std::string map_row = R"(tables:
  store-and-repeat:
    rows:
      map:
        match: [psid, message]
        psid: 0x82
        message: MAP
        channel: 183
        interval: 1000 ms
        start: 2026-01-01T00:00Z
        stop: 2036-01-01T00:00Z
        payload: {file: payloads/map.hex}
        enabled: on
)";

/// A unit of NTCIP 1218 that has counted so many messages of its MAP, so many seconds after power on.
struct Night : Bench {
  explicit Night(const std::string& more_fleet = "") : Bench("ntcip1218-v01", map_row + more_fleet) {}

  records::Counted read_at(std::int64_t hours, std::int64_t up_s, std::uint32_t sent,
                           const records::Counted* before = nullptr) {
    now = *records::milliseconds_of("2026-11-25T02:00:00.000Z") + hours * hour_ms;
    say("rsuModeStatus", "operate");
    say("rsuTimeSincePowerOn", std::to_string(up_s));
    say("rsuMessageCountsByPsidId", "0x82", 1);
    say("rsuMessageCountsByChannel", "0", 1);
    say("rsuMessageCountsDirection", "outbound", 1);
    say("rsuMessageCountsByPsidCounts", std::to_string(sent), 1);
    return checks::count(read(), fleet, unit(), before);
  }
  Texts told(const records::Counted& before, const records::Counted& after) {
    return texts_of(checks::health(fleet, unit(), read(), &before, &after));
  }
};

TEST_CASE("counters that move as messages are due, and no restart, are nothing to tell") {
  Night night;
  const auto before = night.read_at(0, 1000, 1000);
  CHECK(before.sent == std::map<std::string, std::uint32_t>{{"rsuMessageCountsByPsidCounts.1", 1000}});
  const auto after = night.read_at(24, 1000 + 86400, 1000 + 86000, &before);
  CHECK(night.told(before, after).empty());
  CHECK(after.restarts.empty());
}

TEST_CASE("a counter that stood still while its message was due is told") {
  Night night;
  const auto before = night.read_at(0, 1000, 1000);
  const auto after = night.read_at(24, 1000 + 86400, 1000, &before);
  CHECK(night.told(before, after) ==
        Texts{"sent 0 of some 86400 messages that were due since 2026-11-25 02:00Z: map"});
}

TEST_CASE("how many of the messages must have been seen is the fleet's to say") {
  Night usual;
  const auto before = usual.read_at(0, 1000, 1000);
  const auto after = usual.read_at(24, 1000 + 86400, 1000 + 40000, &before);
  CHECK(usual.told(before, after).empty());
  Night strict("limits: {messages-sent: 50 %}\n");
  const auto first = strict.read_at(0, 1000, 1000);
  CHECK(strict.told(first, strict.read_at(24, 1000 + 86400, 1000 + 40000, &first)) ==
        Texts{"sent 40000 of some 86400 messages that were due since 2026-11-25 02:00Z: map"});
}

TEST_CASE("a counter that came round at 2^32 has moved") {
  // RFC 2578 7.1.6: a Counter32 begins at 0 again behind 2^32 - 1.
  Night night;
  const auto before = night.read_at(0, 1000, 4294967290U);
  CHECK(night.told(before, night.read_at(24, 1000 + 86400, 86000, &before)).empty());
}

TEST_CASE("a restart between two audits is told, and counters are taken to begin at 0 with it") {
  Night night;
  const auto before = night.read_at(0, 500000, 500000);
  const auto after = night.read_at(24, 7200, 7000, &before);
  CHECK(checks::restarted(before, after));
  CHECK(night.told(before, after) ==
        Texts{"started anew 2026-11-26 00:00Z, after the audit of 2026-11-25 02:00Z"});
  const auto dumb = night.read_at(24, 7200, 0, &before);
  CHECK(night.told(before, dumb).front() ==
        "sent 0 of some 7200 messages that were due since 2026-11-26 00:00Z: map");
}

TEST_CASE("a clock that is some seconds off is no restart, and a shorter time since power on is one") {
  const records::Counted before{0, 1000, {}, {}};
  CHECK_FALSE(checks::restarted(before, {24 * hour_ms, 1000 + 86400 - 100, {}, {}}));
  CHECK(checks::restarted(before, {24 * hour_ms, 80000, {}, {}}));
  CHECK(checks::restarted(before, {hour_ms / 60, 30, {}, {}}));
  CHECK_FALSE(checks::restarted(before, {hour_ms / 60, 1060, {}, {}}));
  CHECK_FALSE(checks::restarted({}, {hour_ms, 5, {}, {}}));
  CHECK_FALSE(checks::restarted(before, {hour_ms, std::nullopt, {}, {}}));
}

TEST_CASE("a unit that starts anew night after night is told by the audits that are kept") {
  Night night;
  records::Counted last = night.read_at(0, 500000, 0);
  for (int day = 1; day <= 3; ++day) last = night.read_at(day * 24, 3600, 3600, &last);
  CHECK(last.restarts.size() == 3);
  CHECK(night.told(last, last) == Texts{"started anew 3 times in the last 7 days, last 2026-11-28 01:00Z"});
  // Nights without are forgotten in a week.
  for (int day = 4; day <= 11; ++day) {
    const auto before = last;
    last =
        night.read_at(day * 24, 3600 + (day - 3) * 86400, static_cast<std::uint32_t>(day) * 86400, &before);
    CHECK(night.told(before, last).size() == (day <= 7 ? 1 : 0));
  }
  CHECK(last.restarts.empty());
}

TEST_CASE("how many restarts are too many, and within which time, is the fleet's to say") {
  Night night("limits: {restarts: 1, restarts-within: 2 days}\n");
  const auto before = night.read_at(0, 500000, 0);
  const auto after = night.read_at(24, 3600, 3600, &before);
  CHECK(night.told(before, after) == Texts{"started anew 1 time in the last 2 days, last 2026-11-26 01:00Z"});
}

TEST_CASE("messages that are not due are not missed") {
  Night standby;
  const auto before = standby.read_at(0, 1000, 1000);
  auto after = standby.read_at(24, 1000 + 86400, 1000, &before);
  standby.say("rsuModeStatus", "standby");
  CHECK(standby.told(before, after).empty());
  CHECK(checks::count(standby.read(), standby.fleet, standby.unit(), &before).sent.empty());
  // A counter that was not kept, since nothing was due then, says nothing.
  after = standby.read_at(24, 1000 + 86400, 1000, &before);
  CHECK(standby.told({before.taken, before.up, {}, {}}, after).empty());
  // Two readings of one minute say nothing either.
  after.taken = before.taken + 59000;
  CHECK(standby.told(before, after).empty());
}

TEST_CASE("a counter of other messages, of another channel or of what comes in is not looked at") {
  for (const auto& [object, text] : {std::pair("rsuMessageCountsByPsidId", "0x83"),
                                     {"rsuMessageCountsByChannel", "172"},
                                     {"rsuMessageCountsDirection", "inbound"}}) {
    Night night;
    night.read_at(0, 1000, 1000);
    night.say(object, text, 1);
    CHECK(checks::count(night.read(), night.fleet, night.unit(), nullptr).sent.empty());
  }
  Night every;
  every.read_at(0, 1000, 1000);
  every.say_octets("rsuMessageCountsByPsidId", "", 1);  // NTCIP 1218: empty counts every PSID
  CHECK(checks::count(every.read(), every.fleet, every.unit(), nullptr).sent.size() == 1);
}

TEST_CASE("RSU 4.1 counts what each kind of channel sent: together they must move") {
  Bench bench("rsu-4.1", map_row);
  const char* const counters[] = {"rsuAltSchMsgSent", "rsuAltCchMsgSent", "rsuContSchMsgSent",
                                  "rsuContCchMsgSent"};
  bench.say("rsuMode", "operate");
  bench.say("rsuTimeSincePowerOn", "1000");
  for (const char* name : counters) bench.say(name, "7");
  const auto before = checks::count(bench.read(), bench.fleet, bench.unit(), nullptr);
  CHECK(before.sent.size() == 4);
  bench.now += 24 * hour_ms;
  bench.say("rsuTimeSincePowerOn", "87400");
  auto after = checks::count(bench.read(), bench.fleet, bench.unit(), &before);
  CHECK(Bench::texts_of(checks::health(bench.fleet, bench.unit(), bench.read(), &before, &after)) ==
        Texts{"sent 0 of some 86400 messages that were due since 2026-11-25 02:00Z: map"});
  bench.say("rsuContCchMsgSent", "80000");
  after = checks::count(bench.read(), bench.fleet, bench.unit(), &before);
  CHECK(checks::health(bench.fleet, bench.unit(), bench.read(), &before, &after).empty());
}

}  // namespace
