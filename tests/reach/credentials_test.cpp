#include <fmt/format.h>

#include "catch.h"
#include "reach/street.h"
#include "rough/child.h"
#include "support/relay.h"

/// The rungs from the engine up, each ended by its real cause: net-snmp's snmpd with other users, secrets and
/// views than the fleet has, and simulated units of another model or name.
namespace {

using Catch::Contains;
using served::Ran;
using street::Bench;
using street::flat;
using vergeset::tests::Relay;
using vergeset::tests::Snmpd;

const std::string user = "createUser vergeset SHA-256 \"of oak and ash\" AES \"of elm and yew\"\n";

Ran reach(const Bench& bench, const std::string& words = {}, const std::string& environment = {}) {
  return served::run(environment + bench.command(words));
}

/// What a climb to this agent comes to.
Ran reach(const Snmpd& agent, const std::string& more = {}, const std::string& model = "plain-agent",
          const std::string& environment = {}) {
  const Bench bench(Bench::unit(agent.host(), agent.port(), more, model));
  return reach(bench, {}, environment);
}

/// It ended on this rung (RFC 3414 3.2 tells the order of those before it), with these words.
void ends(const Ran& ran, const std::string& rung, const std::string& words, int status = 5) {
  INFO(ran.text);
  const std::string text = flat(ran.text);
  CHECK(ran.status == status);
  CHECK_THAT(text, Contains(rung + " ends here"));
  CHECK_THAT(text, Contains("1 unit: 1 ended at " + rung));
  CHECK_THAT(text, Contains(words));
  CHECK_THAT(text, Contains("Next: "));
}

TEST_CASE("an agent that lets the user read and write is climbed to the top, and nothing is written") {
  const Snmpd agent(user + "rwuser vergeset priv\nengineID LK-104", {}, "127.121.0.1");
  const Bench bench(Bench::unit(agent.host(), agent.port()));
  const std::string read = fmt::format(
      "snmpget -v3 -u vergeset -l authPriv -a SHA-256 -A 'of oak and ash' -x AES -X 'of elm and yew' -Oqvn "
      "{}:{} 1.3.6.1.2.1.1.4.0 1.3.6.1.2.1.1.5.0 1.3.6.1.2.1.1.6.0 1.3.6.1.6.3.1.1.6.1.0",
      agent.host(), agent.port());
  const Ran before = served::run(read);
  const Ran ran = reach(bench);
  INFO(ran.text);
  CHECK(ran.status == 0);
  CHECK_THAT(flat(ran.text),
             Contains("vendor 8072, text LK-104") && Contains("may be written (nothing was)") &&
                 Contains("plain SNMP agent, by its sysObjectID") && Contains("1 unit: 1 at the top"));
  // This snmpd refuses a number that is not its own as wrongLength, which comes behind access too.
  CHECK_THAT(bench.log(), Contains("SET refused: wrongLength for snmpSetSerialNo.0"));
  CHECK(before.status == 0);
  CHECK(served::run(read).text == before.text);
}

TEST_CASE("a port where something other than SNMP answers ends at the engine") {
  // An echo of what came: the first of all services (RFC 862), and no Response.
  const vergeset::tests::UdpSocket socket("127.121.0.2");
  std::atomic<bool> ending = false;
  std::thread echo([&] {
    std::array<char, 2048> room{};
    while (!ending) {
      pollfd readable{socket.descriptor(), POLLIN, 0};
      if (poll(&readable, 1, 20) != 1) continue;
      sockaddr_in from{};
      socklen_t size = sizeof from;
      const auto got = recvfrom(socket.descriptor(), room.data(), room.size(), 0,
                                reinterpret_cast<sockaddr*>(&from), &size);
      const std::string words = "no SNMP here";
      if (got > 0) {
        sendto(socket.descriptor(), words.data(), words.size(), 0, reinterpret_cast<sockaddr*>(&from), size);
      }
    }
  });
  const Bench bench(Bench::unit("127.121.0.2", socket.port()));
  const Ran ran = reach(bench);
  ending = true;
  echo.join();
  ends(ran, "engine", "is not SNMPv3");
  CHECK_THAT(flat(ran.text), Contains("SNMP port holds"));
}

TEST_CASE("an engine id that is not the inventory's ends at the engine, and no key is used on a stranger") {
  const Snmpd agent(user + "rwuser vergeset priv", {}, "127.121.0.3");
  const Bench bench(Bench::unit(agent.host(), agent.port(), ", engine-id: 80001f88044c4b"));
  ends(reach(bench), "engine", "the inventory says 80001f88044c4b");
  CHECK_THAT(bench.log(), !Contains("GET") && !Contains("SET"));
}

TEST_CASE("secrets that cannot be read end at the user, each where it was looked for") {
  const Snmpd agent(user + "rwuser vergeset priv", {}, "127.121.0.4");
  const Ran unset = reach(agent, {}, "plain-agent", "env -u SERVED_PRIV ");
  ends(unset, "user", "environment variable SERVED_PRIV is not set");
  CHECK_THAT(flat(unset.text), Contains("engine holds"));
}

TEST_CASE("a user that the agent does not have, other secrets, and lower levels are told apart") {
  {
    const Snmpd agent("createUser other SHA-256 \"of oak and ash\" AES \"of elm and yew\"\nrwuser other priv",
                      {}, "127.121.0.5");
    ends(reach(agent), "user", "the unit does not know user vergeset (usmStatsUnknownUserNames)");
  }
  const Snmpd agent(user + "rwuser vergeset priv", {}, "127.121.0.5");
  const Ran auth = reach(agent, {}, "plain-agent", "SERVED_AUTH='not the oak and ash' ");
  ends(auth, "authentication", "(usmStatsWrongDigests)");
  CHECK_THAT(flat(auth.text), Contains("compare the secret (environment variable SERVED_AUTH)") &&
                                  Contains("user holds the unit knows user vergeset"));
  CHECK_THAT(auth.text, !Contains("not the oak and ash"));
  const Ran privacy = reach(agent, {}, "plain-agent", "SERVED_PRIV='not the elm and yew' ");
  ends(privacy, "privacy", "it answers in the clear only");
  CHECK_THAT(flat(privacy.text), Contains("SERVED_PRIV") && Contains("authentication holds"));
  // RFC 3414 3.2 5: the level that is asked for is not the user's.
  const Snmpd low("createUser vergeset SHA-256 \"of oak and ash\"\nrwuser vergeset auth", {}, "127.121.0.6");
  ends(reach(low), "authentication", "usmStatsUnsupportedSecLevels");
}

TEST_CASE("an engine whose count of boots is at its end lets nobody in, and is told so") {
  // RFC 3414 2.2.2. net-snmp counts one on at its start.
  const Snmpd agent(user + "rwuser vergeset priv\nexactEngineID 0x80001f88044c4b2d313034",
                    "engineBoots 2147483646\noldEngineID 0x80001f88044c4b2d313034", "127.121.0.7");
  ends(reach(agent), "clock", "count of boots has come to its end, 2147483647");
}

TEST_CASE("a unit that starts anew between any two requests refuses a clock that it told before") {
  // RFC 3414 3.2 7 a: another count of boots than the engine's. The relay hands on to the unit as it is after
  // one more start: three agents with one engine id, as three of its lives.
  const std::string same = user + "rwuser vergeset priv\nexactEngineID 0x80001f88044c4b2d313034";
  const std::string known = "\noldEngineID 0x80001f88044c4b2d313034";
  const Snmpd first(same, "engineBoots 5" + known, "127.121.0.8");
  const Snmpd second(same, "engineBoots 6" + known, "127.121.0.9");
  const Snmpd third(same, "engineBoots 7" + known, "127.121.0.10");
  const Relay relay({&first, &second, &third}, [](int n) {
    Relay::Fate fate;
    fate.agent = static_cast<std::size_t>(std::min(n, 2));
    return fate;
  });
  const Bench bench(Bench::unit("127.0.0.1", relay.port()));
  ends(reach(bench), "clock", "refuses its own clock again and again (usmStatsNotInTimeWindows)");
}

TEST_CASE("a unit that answers reads and no SET ends at writing") {
  const Snmpd agent(user + "rwuser vergeset priv", {}, "127.121.0.16");
  // Discovery and a GET pass, and nothing after them.
  const Relay relay({&agent}, [](int n) {
    Relay::Fate fate;
    fate.lost = n > 1;
    return fate;
  });
  const Bench bench(Bench::unit("127.0.0.1", relay.port()));
  ends(reach(bench), "writing", "no answer to a SET of sysContact.0, though reads are answered");
}

TEST_CASE("a user without a group, and one with an empty view, are let in and may read nothing") {
  // RFC 3413 3.2: noGroupName becomes authorizationError; RFC 3416 4.2.1: what a view leaves out is as not
  // there.
  const Snmpd none(user, {}, "127.121.0.10");
  ends(reach(none), "reading", "(authorizationError)");
  const Snmpd empty(user + "view empty included .1.3.6.1.4.1.99999\nrwuser vergeset priv -V empty", {},
                    "127.121.0.11");
  ends(reach(empty), "reading", "shows nothing of what was asked for (noSuchObject)");
}

TEST_CASE("a user that may read and not write ends at writing, and the reason is the agent's") {
  const Snmpd agent(user + "rouser vergeset priv", {}, "127.121.0.12");
  ends(reach(agent), "writing", "user vergeset may not write: noAccess of sys");
}

TEST_CASE("a user that may write settings and not the serial number is told as one that may write") {
  // A write view of the system group alone: snmpSetSerialNo is at 1.3.6.1.6.3.1.1.6.1.
  const Snmpd agent(user +
                        "view all included .1\nview system included .1.3.6.1.2.1.1\n"
                        "group writers usm vergeset\naccess writers \"\" usm priv exact all system none",
                    {}, "127.121.0.13");
  const Ran ran = reach(agent);
  INFO(ran.text);
  CHECK(ran.status == 0);
  CHECK_THAT(flat(ran.text), Contains("may be written (nothing was)"));
}

TEST_CASE(
    "an agent that is none of the inventory's model ends there, and the view is named as the other reason") {
  const Snmpd agent(user + "rwuser vergeset priv", {}, "127.121.0.14");
  const Bench bench(Bench::unit(agent.host(), agent.port(), {}, "rsu-4.1"));
  // No model of the fleet's is this agent's.
  bench.write("models/agent.yaml",
              "model: plain-agent\ntitle: plain SNMP agent\nroot: 1.3.6.1.4.1.8072\n"
              "recognise: {object: sysObjectID, equals: 1.3.6.1.4.1.8072.3.2.99}\nscalars: {}\n");
  const Ran ran = reach(bench);
  ends(ran, "model", "it does not answer as RSU 4.1");
  CHECK_THAT(flat(ran.text), Contains("let the user's read view have 1.0.15628.4.1"));
}

std::string simulated(int number, const std::string& model) {
  return fmt::format("{{address: {}, port: {}, model: {}}}\n", served::address(number), served::port(),
                     model);
}

TEST_CASE(
    "a simulated unit of the other model, and one that carries another's name, end at the last two rungs") {
  served::ServedFleet served;
  REQUIRE(served.start());
  const Bench swapped("  LK-101: " + simulated(1, "rsu-4.1") + "  LK-201: " + simulated(2, "ntcip1218-v01"));
  const Ran models = reach(swapped);
  INFO(models.text);
  CHECK(models.status == 5);
  CHECK_THAT(flat(models.text),
             Contains("LK-101 model it is a NTCIP 1218 v01 unit; the inventory says RSU 4.1") &&
                 Contains("LK-201 model it is a RSU 4.1 unit") && Contains("2 units: 2 ended at model"));
  const auto vergeset = [&](const std::string& words) {
    return served::run("NO_COLOR=1 " + std::string(PROGRAM) + " " + words + " --fleet '" + served.path("") +
                       "'");
  };
  const std::string state = served.tell("'*' state").text;
  const Ran top = vergeset("reach");
  INFO(top.text);
  CHECK(top.status == 0);
  CHECK_THAT(top.text, Contains("2 units: 2 at the top"));
  served.tell("LK-101 set rsuID LK-201");
  const Ran wrong = vergeset("reach LK-101");
  ends(wrong, "unit", "which is unit LK-201");
  served.tell("LK-101 set rsuID RSU");
  const auto settings = [](const std::string& text) {
    // What moves by itself: times and counters.
    std::string kept;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
      if (line.find("rsuNotify") != std::string::npos || line.find("sys") == 0 ||
          line.find("SerialNo") != std::string::npos)
        if (line.find("sysUpTime") == std::string::npos) kept += line + "\n";
    }
    return kept;
  };
  CHECK_FALSE(settings(state).empty());
  CHECK(settings(served.tell("'*' state").text) == settings(state));
}

TEST_CASE("of many units each takes a line, the document has all rungs, and the highest exit status holds") {
  const Snmpd agent(user + "rouser vergeset priv", {}, "127.121.0.15");
  const auto unit = [&](const std::string& name, int port) {
    return "  " + name + fmt::format(": {{address: 127.121.0.15, port: {}, model: plain-agent}}\n", port);
  };
  const std::uint16_t closed = vergeset::tests::free_port("127.121.0.15");
  const Bench bench(unit("LK-104", agent.port()) + unit("LK-105", closed));
  const Ran both = reach(bench);
  INFO(both.text);
  CHECK(both.status == 5);
  CHECK_THAT(both.text, Contains("2 units: 1 ended at SNMP port, 1 ended at writing"));
  const Ran dead = reach(bench, "LK-105");
  ends(dead, "SNMP port", fmt::format("UDP port {} is closed", closed), 4);
  CHECK_THAT(reach(bench, "--full").text, Contains("authentication   holds"));
  const Ran json = served::run(bench.command("--json") + " | python3 -c '" + R"(
import json, sys
document = json.load(sys.stdin)
units = {unit["unit"]: unit for unit in document["units"]}
assert document["command"] == "reach"
assert units["LK-104"]["ends_at"] == "writing" and units["LK-104"]["engine"]["vendor"] == 8072
assert units["LK-105"]["ends_at"] == "SNMP port" and units["LK-105"]["engine"] is None
assert [rung["rung"] for rung in units["LK-105"]["rungs"]] == ["address", "ping", "SNMP port"]
print("as described")')");
  INFO(json.text);
  CHECK_THAT(json.text, Contains("as described"));
}

}  // namespace
