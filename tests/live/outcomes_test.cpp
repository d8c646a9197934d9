#include <fstream>

#include "catch.h"
#include "sim/served_fleet.h"

/// Each outcome and each exit status by its real cause: the built program against simulated units.
namespace {

using served::Ran;
using served::ServedFleet;

class Bench {
 public:
  Bench() {
    describe("");
    REQUIRE(served_.start());
  }

  /// Writes fleet.yaml anew, with more behind it.
  void describe(const std::string& more) const {
    std::ofstream(served_.path("fleet.yaml"))
        << "fleet: Larkmoor test bench\nmode-wait: 2 s\ntimeout: 500 ms\nretries: 2\nwaves: [1, rest]\n"
        << "factory-communities: []\n"
        << "credentials:\n"
        << "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: "
           "SERVED_PRIV}}\n"
        << "settings: {unit-id: \"{unit}\", mode: operate, notify-address: 192.0.2.10}\n"
        << more;
  }
  void describe_row() const {
    describe(
        "tables:\n  store-and-repeat:\n    rows:\n      map: {match: [psid], psid: 0x82, message: MAP, "
        "channel: 172, "
        "interval: 1000 ms, start: 2026-01-01T00:00Z, stop: 2036-01-01T00:00Z, payload: 0012020000, enabled: "
        "yes}\n");
  }

  Ran vergeset(const std::string& words) const {
    return served::run(std::string("NO_COLOR=1 ") + PROGRAM + " " + words + " --fleet '" + served_.path("") +
                       "'");
  }
  Ran vergeset_interrupted(const std::string& words, int after_s, const std::string& signal = "INT") const {
    return served::run(std::string(PROGRAM) + " " + words + " --fleet '" + served_.path("") +
                       "' & pid=$!; sleep " + std::to_string(after_s) + "; kill -" + signal +
                       " $pid; wait $pid; exit $?");
  }
  /// Its output is read up to a line with `last`, then no more.
  void vergeset_unread(const std::string& words, const std::string& last) const {
    served::run(std::string(PROGRAM) + " " + words + " --fleet '" + served_.path("") + "' | grep -q '" +
                last + "'");
  }
  std::string sets(const std::string& unit) const {
    const std::string counters = served_.tell(unit + " counters").text;
    const auto at = counters.find("sets ");
    return counters.substr(at + 5, counters.find('\n', at) - at - 5);
  }
  void tell(const std::string& words) const { REQUIRE(served_.tell(words).status == 0); }
  void stop() { served_.stop(); }
  std::string notify_address_of_101() const {
    return ServedFleet::manager("snmpget", 1, "1.3.6.1.4.1.1206.4.2.18.14.1.0").text;
  }

 private:
  ServedFleet served_;
};

bool has(const Ran& ran, const std::string& text) {
  return ran.text.find(text) != std::string::npos;
}

TEST_CASE(
    "an audit exits 3 where units drifted and 0 where they agree; apply settles, then has nothing to do") {
  const Bench bench;
  const Ran drifted = bench.vergeset("audit");
  INFO(drifted.text);
  CHECK(drifted.status == 3);
  CHECK(has(drifted, "2 drifted"));
  const Ran settled = bench.vergeset("apply --yes");
  INFO(settled.text);
  CHECK(settled.status == 0);
  CHECK(has(settled, "2 settled"));
  CHECK(has(Ran{0, bench.notify_address_of_101()}, "192.0.2.10"));
  CHECK(bench.vergeset("audit").status == 0);
  const Ran nothing = bench.vergeset("apply --yes");
  CHECK(nothing.status == 0);
  CHECK(has(nothing, "nothing to do"));
}

TEST_CASE("a dry run sends no SET, as the agents count them") {
  const Bench bench;
  CHECK(bench.vergeset("apply --dry-run").status == 0);
  CHECK(bench.sets("LK-101") == "0");
  CHECK(bench.sets("LK-201") == "0");
}

TEST_CASE("a refused SET restores the unit, holds the next wave, and exits 5") {
  const Bench bench;
  const std::string before = bench.notify_address_of_101();
  bench.tell("LK-101 refuse genErr 1");
  const Ran ran = bench.vergeset("apply --yes");
  INFO(ran.text);
  CHECK(ran.status == 5);
  CHECK(has(ran, "1 restored"));
  CHECK(has(ran, "1 held"));
  CHECK(bench.notify_address_of_101() == before);
  CHECK(bench.sets("LK-201") == "0");
}

TEST_CASE(
    "a unit that carries another's rsuID is refused before any SET, and an audit calls it the wrong unit") {
  const Bench bench;
  bench.tell("LK-101 set rsuID LK-201");
  const Ran applied = bench.vergeset("apply --yes LK-101");
  INFO(applied.text);
  CHECK(applied.status == 5);
  CHECK(has(applied, "1 refused"));
  CHECK(bench.sets("LK-101") == "0");
  const Ran audited = bench.vergeset("audit LK-101");
  CHECK(audited.status == 3);
  CHECK(has(audited, "wrong unit"));
}

TEST_CASE("a unit that cannot get back to operate needs attention, exits 5, and is told how to go on",
          "[long]") {
  const Bench bench;
  REQUIRE(bench.vergeset("apply --yes").status == 0);
  bench.describe_row();
  bench.tell("LK-201 stuck standby 50");
  const Ran ran = bench.vergeset("apply --yes LK-201");
  INFO(ran.text);
  CHECK(ran.status == 5);
  CHECK(has(ran, "1 needs attention"));
  CHECK(has(ran, "vergeset rollback 2 LK-201"));
  bench.tell("LK-201 clear");
  const Ran back = bench.vergeset("rollback 2 LK-201 --yes");
  INFO(back.text);
  CHECK(back.status == 0);
  CHECK(has(Ran{0, ServedFleet::manager("snmpget", 2, "1.0.15628.4.1.99.0").text}, "= 4"));
}

TEST_CASE("a unit that is silent is no answer, exits 4, and stops no other", "[long]") {
  const Bench bench;
  bench.tell("LK-101 drop 1000");
  const Ran audited = bench.vergeset("audit");
  INFO(audited.text);
  CHECK(audited.status == 4);
  CHECK(has(audited, "1 no answer"));
  const Ran applied = bench.vergeset("apply --yes");
  CHECK(applied.status == 4);
  CHECK(has(applied, "1 settled"));
}

TEST_CASE("an interrupt lets the unit in hand finish, holds the rest, and exits 6") {
  const Bench bench;
  bench.tell("LK-101 delay 300");
  const Ran stopped = bench.vergeset_interrupted("apply --yes", 3);
  INFO(stopped.text);
  CHECK(stopped.status == 6);
  CHECK(has(stopped, "1 held"));
  CHECK(bench.sets("LK-201") == "0");
}

TEST_CASE("a terminal that is closed in the middle of a change does not end it half way") {
  const Bench bench;
  bench.tell("LK-101 delay 300");
  const Ran stopped = bench.vergeset_interrupted("apply --yes", 3, "HUP");
  INFO(stopped.text);
  CHECK(stopped.status == 6);
  CHECK(has(stopped, "1 settled, 1 held"));
}

TEST_CASE("a change whose output nobody reads any more goes on to its end") {
  const Bench bench;
  bench.vergeset_unread("apply --yes", "wave 1 of 2");
  const Ran audited = bench.vergeset("audit");
  INFO(audited.text);
  CHECK(has(audited, "2 agree"));
}

TEST_CASE("no terminal and no --yes: nothing is sent where a unit would leave operate, and the exit is 2") {
  const Bench bench;
  REQUIRE(bench.vergeset("apply --yes").status == 0);
  const std::string before = bench.sets("LK-201");
  bench.describe_row();
  const Ran ran = bench.vergeset("apply </dev/null");
  INFO(ran.text);
  CHECK(ran.status == 2);
  CHECK(has(ran, "--yes"));
  CHECK(bench.sets("LK-201") == before);
}

TEST_CASE(
    "records that cannot be written stop a change before anything is asked of a unit, and the exit is 2") {
  const Bench bench;
  const Ran ran = bench.vergeset("apply --yes --records /dev/null/records");
  INFO(ran.text);
  CHECK(ran.status == 2);
  CHECK(has(ran, "/dev/null is no folder"));
  CHECK(bench.sets("LK-101") == "0");
  CHECK(bench.sets("LK-201") == "0");
}

TEST_CASE("bad files and bad usage send nothing and exit 2") {
  const Bench bench;
  bench.describe("settings: {}\n");
  CHECK(bench.vergeset("apply --yes").status == 2);
  bench.describe("");
  CHECK(bench.vergeset("aply --yes").status == 2);
  CHECK(bench.sets("LK-101") == "0");
}

TEST_CASE("a maintenance window that is closed refuses, and exits 5") {
  const Bench bench;
  // A window of one minute, twelve hours from now: closed whenever the test runs.
  const Ran hour = served::run("TZ=UTC date -d '+12 hours' '+%a %H:%M'");
  const std::string from = hour.text.substr(0, 9);
  const std::string hh = from.substr(4, 2);
  bench.describe("window: [\"" + from + "-" + hh + ":59\"]\ntimezone: Etc/UTC\n");
  if (from.substr(7, 2) == "59") return;
  const Ran ran = bench.vergeset("apply --yes");
  INFO(ran.text);
  CHECK(ran.status == 5);
  CHECK(bench.sets("LK-101") == "0");
  CHECK(bench.vergeset("apply --yes --outside-window").status == 0);
}

TEST_CASE("a work order refuses a unit that changed since it was written, and carries out the others") {
  const Bench bench;
  const std::string order = "/tmp/vergeset-order-" + std::to_string(::getpid()) + ".yaml";
  REQUIRE(bench.vergeset("apply --write " + order).status == 0);
  bench.tell("LK-201 set rsuID somebody");
  const Ran ran = bench.vergeset("apply --yes --order " + order);
  ::unlink(order.c_str());
  INFO(ran.text);
  CHECK(ran.status == 5);
  CHECK(has(ran, "1 settled"));
  CHECK(has(ran, "1 refused"));
  CHECK(bench.sets("LK-201") == "0");
}

TEST_CASE("a rollback does not overwrite what another hand changed since, unless forced") {
  const Bench bench;
  REQUIRE(bench.vergeset("apply --yes").status == 0);
  bench.tell("LK-101 set rsuNotifyIpAddress 198.51.100.7");
  const Ran refused = bench.vergeset("rollback 1 LK-101 --yes");
  INFO(refused.text);
  CHECK(refused.status == 5);
  CHECK(has(Ran{0, bench.notify_address_of_101()}, "198.51.100.7"));
  const Ran forced = bench.vergeset("rollback 1 LK-101 --yes --force");
  INFO(forced.text);
  CHECK(forced.status == 0);
  CHECK_FALSE(has(Ran{0, bench.notify_address_of_101()}, "198.51.100.7"));
}

}  // namespace
