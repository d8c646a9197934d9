#include <sys/socket.h>
#include <sys/stat.h>

#include <algorithm>
#include <fstream>
#include <functional>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>

#include "catch.h"
#include "live/listening.h"
#include "sim/served_fleet.h"
#include "support/snmpd.h"

/// `vergeset listen` as built, with net-snmp's snmptrap and snmpinform as the units.
namespace {

using namespace std::chrono_literals;
using served::Ran;
using vergeset::test::FleetFolder;
using vergeset::tests::holds;
using vergeset::tests::Listening;
using vergeset::tests::text_of;

const std::string here = vergeset::tests::listening_host;

const std::string engine_1 = "80001f88044c4b2d313031";
const std::string engine_2 = "80001f88044c4b2d323031";

/// Two units of the two models, which need not be there to be heard.
std::map<std::string, std::string> two_units(const std::string& credential) {
  return {{"fleet.yaml", "fleet: Larkmoor street\ncredentials:\n  street: " + credential +
                             "\ncredential: street\nkey-store: {file: keys/street.keys}\n"},
          {"units.yaml",
           "units:\n  LK-101: {address: 127.122.2.1, model: ntcip1218-v01, engine-id: \"" + engine_1 +
               "\"}\n  LK-201: {address: 127.122.2.2, model: rsu-4.1, engine-id: \"" + engine_2 + "\"}\n"}};
}

const char* with_secrets =
    "{user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: SERVED_PRIV}}";

class Street {
 public:
  explicit Street(const std::string& credential = with_secrets) : folder_(two_units(credential)) {
    ::setenv("SERVED_AUTH", "of oak and ash", 1);
    ::setenv("SERVED_PRIV", "of elm and yew", 1);
    ::setenv("STREET_COMMUNITY", "of-larch", 1);
    ::setenv("SNMPCONFPATH", "/dev/null", 1);
    ::setenv("SNMP_PERSISTENT_DIR", path("net-snmp").c_str(), 1);
    ::setenv("MIBS", "", 1);
  }
  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }
  std::string fleet() const { return folder_.path(); }
  std::string log(const std::string& unit) const { return text_of(path("records/units/" + unit + ".log")); }
  Ran vergeset(const std::string& words) const {
    return served::run(std::string("NO_COLOR=1 ") + PROGRAM + " " + words + " --fleet '" + folder_.path() +
                       "'");
  }

 private:
  FleetFolder folder_;
};

const std::string keys =
    " -l authPriv -u vergeset -a SHA-256 -A 'of oak and ash' -x AES -X 'of elm and yew' ";
const std::string cold_start = " '' 1.3.6.1.6.3.1.1.5.1";                           // RFC 3418
const std::string link_down = " '' 1.3.6.1.6.3.1.1.5.3 1.3.6.1.2.1.2.2.1.1.3 i 3";  // ifIndex, RFC 2863

Ran trap(const std::string& from, const std::string& engine, const Listening& to, const std::string& what,
         const std::string& who = keys) {
  return served::run("snmptrap --clientaddr=" + from + " -v3 -e 0x" + engine + who + to.at() + what);
}
Ran inform(const std::string& from, const Listening& to, const std::string& what,
           const std::string& who = keys, const std::string& patience = "-r 1 -t 2") {
  return served::run("snmpinform --clientaddr=" + from + " -v3 " + patience + who + to.at() + what);
}

/// Sends datagrams from a unit's address, or a stranger's.
class Raw {
 public:
  Raw(const std::string& from, const Listening& to) : socket_(from) {
    const sockaddr_in peer = vergeset::tests::UdpSocket::address_of(here, to.port());
    REQUIRE(::connect(socket_.descriptor(), reinterpret_cast<const sockaddr*>(&peer), sizeof peer) == 0);
  }
  void send(const std::string& octets) const {
    [[maybe_unused]] const ssize_t sent = ::send(socket_.descriptor(), octets.data(), octets.size(), 0);
  }
  bool was_answered() const {
    char octet = 0;
    return ::recv(socket_.descriptor(), &octet, 1, MSG_DONTWAIT) >= 0;
  }

 private:
  vergeset::tests::UdpSocket socket_;
};

/// What snmptrap sends, as someone on the way records it.
std::string recorded(const std::string& engine, const std::string& more, const std::string& what) {
  vergeset::tests::UdpSocket way("127.122.2.8");
  served::run("snmptrap --clientaddr=127.122.2.1 -v3 -e 0x" + engine + more + keys +
              "127.122.2.8:" + std::to_string(way.port()) + what);
  std::array<char, 4096> octets{};
  const ssize_t size = ::recv(way.descriptor(), octets.data(), octets.size(), MSG_DONTWAIT);
  REQUIRE(size > 0);
  return {octets.data(), static_cast<std::size_t>(size)};
}

/// The last document that it wrote.
nlohmann::json last_of(const std::string& out) {
  const std::size_t end = out.find_last_not_of('\n');
  const std::size_t begin = out.rfind('\n', end);
  return nlohmann::json::parse(out.substr(begin == std::string::npos ? 0 : begin + 1));
}

long resident_kb(pid_t pid) {
  std::ifstream status("/proc/" + std::to_string(pid) + "/status");
  for (std::string word; status >> word;) {
    long kb = 0;
    if (word == "VmRSS:" && status >> kb) return kb;
  }
  return 0;
}

}  // namespace

TEST_CASE("units of both standards are heard, by trap and by inform, in words in their logs, and audited") {
  served::ServedFleet units;
  ::setenv("SNMP_PERSISTENT_DIR", units.path("net-snmp").c_str(), 1);
  REQUIRE(units.start());
  const std::string fleet = units.path("");
  const auto vergeset = [&](const std::string& words) {
    return served::run(std::string("NO_COLOR=1 ") + PROGRAM + " " + words + " --fleet '" + fleet + "'");
  };
  REQUIRE(vergeset("survey").status == 0);  // which tells whose engine is whose
  std::map<std::string, std::string> engines;
  std::ifstream known(units.path("records/known-units.jsonl"));
  for (std::string line; std::getline(known, line);) {
    const auto one = nlohmann::json::parse(line);
    engines[one["unit"]] = one["engine"];
  }
  REQUIRE(engines.size() == 2);

  Listening listening(fleet, "--audit --audit-after 1");
  REQUIRE(listening.says("for 2 units"));
  // rsuMode.0 of NTCIP 1218 (tests/facts), operate(3)
  trap(served::address(1), engines["LK-101"], listening, link_down + " 1.3.6.1.4.1.1206.4.2.18.16.2.0 i 3");
  const Ran informed = inform(served::address(2), listening, cold_start);
  INFO(informed.text);
  CHECK(informed.status == 0);  // it was acknowledged
  const auto log_of = [&](const std::string& unit) {
    return text_of(units.path("records/units/" + unit + ".log"));
  };
  CHECK(holds(log_of("LK-201"), "notification coldStart"));  // before the Response left
  CHECK(Listening::within(
      [&] { return holds(log_of("LK-101"), "ends ") && holds(log_of("LK-201"), "ends "); }));
  CHECK(Listening::within([&] {
    return holds(listening.out(), "LK-101  audit: ") && holds(listening.out(), "LK-201  audit: ");
  }));
  CHECK(listening.stop() == 0);
  INFO(listening.out());
  CHECK(holds(listening.out(), "notifications      2 of 2 units"));
  CHECK(holds(listening.out(), "acknowledged       1"));

  const Ran log = vergeset("log LK-101");
  CHECK(holds(log.text, "notification linkDown: ifIndex.3 = 3,"));
  CHECK(holds(log.text, "rsuMode.0 = operate"));
  const auto json = nlohmann::json::parse(vergeset("log LK-201 --json").text);
  std::size_t told = 0;
  for (const auto& line : json["lines"]) {
    if (line["for"] == "listen" && holds(line["what"], "notification coldStart; started anew")) ++told;
  }
  CHECK(told == 1);
  // Kept as audits of these units, and of no others.
  std::vector<std::string> kept;
  for (const auto& entry : std::filesystem::directory_iterator(units.path("records/audits"))) {
    const auto record = nlohmann::json::parse(text_of(entry.path()));
    CHECK(record["choice"]["units"].size() == record["units"].size());
    for (const auto& unit : record["units"]) kept.push_back(unit["unit"]);
  }
  std::sort(kept.begin(), kept.end());
  CHECK(kept == std::vector<std::string>{"LK-101", "LK-201"});
}

TEST_CASE(
    "strangers, wrong keys, replays and a flood are counted and dropped, and units are heard all the same") {
  const Street street;
  Listening listening(street.fleet(), "--json");
  REQUIRE(listening.says("\"listening\""));
  const long before_kb = resident_kb(listening.pid());

  trap("127.122.2.7", engine_1, listening, cold_start);  // no unit's address
  trap("127.122.2.2", engine_1, listening, cold_start);  // a unit's, with another's engine
  trap("127.122.2.1", engine_1, listening, cold_start,
       " -l authPriv -u vergeset -a SHA-256 -A 'of birch and beech' -x AES -X 'of elm and yew' ");
  trap("127.122.2.1", engine_1, listening, cold_start,
       " -l authPriv -u root -a SHA-256 -A 'of oak and ash' -x AES -X 'of elm and yew' ");
  trap("127.122.2.1", engine_1, listening, cold_start,
       " -l authNoPriv -u vergeset -a SHA-256 -A 'of oak and ash' ");
  served::run("snmptrap --clientaddr=127.122.2.1 -v2c -c public " + listening.at() + cold_start);
  const Ran refused =
      inform("127.122.2.2", listening, cold_start,
             " -l authPriv -u root -a SHA-256 -A 'of oak and ash' -x AES -X 'of elm and yew' ");
  CHECK(refused.status != 0);
  CHECK(holds(refused.text, "Unknown user name"));  // usmStatsUnknownUserNames
  const Ran unheard = inform("127.122.2.7", listening, cold_start, keys, "-r 0 -t 0.3");
  CHECK(unheard.status != 0);

  const std::string octets = recorded(engine_1, " -Z 5,1000", link_down);
  const Raw unit("127.122.2.1", listening);
  unit.send(octets);
  unit.send(octets);
  unit.send("no message");
  unit.send(recorded(engine_1, " -Z 5,800", cold_start));   // 200 s before
  unit.send(recorded(engine_1, " -Z 4,2000", cold_start));  // before it last started
  REQUIRE(listening.says("linkDown"));

  const Raw stranger("127.122.2.7", listening);
  const std::string garbage(1000, 'x');
  for (int i = 0; i < 20000; ++i) {
    stranger.send(garbage);
    unit.send(garbage);
  }
  CHECK_FALSE(stranger.was_answered());
  CHECK(inform("127.122.2.2", listening, cold_start, keys, "-r 5 -t 1").status == 0);
  const long after_kb = resident_kb(listening.pid());
  CHECK(after_kb - before_kb < 16384);  // of 40 MB that were sent
  CHECK(listening.stop(SIGINT) == 0);

  const auto ended = last_of(listening.out());
  INFO(ended.dump(1));
  CHECK(ended["event"] == "ended");
  const auto& counts = ended["counts"];
  CHECK(counts["notifications"] == 2);
  CHECK(counts["acknowledged"] == 1);
  const auto& dropped = counts["dropped"];
  CHECK(dropped["unknown sender"] >= 2);
  CHECK(dropped["unknown engine"] == 1);
  CHECK(dropped["wrong digest"] == 1);
  CHECK(dropped["unknown user"] == 2);
  CHECK(dropped["other security level"] == 1);
  CHECK(dropped["wrong community"] == 1);
  CHECK(dropped["repeated"] == 1);
  CHECK(dropped["outside the time window"] == 2);
  CHECK(dropped["malformed"] >= 1);
  CHECK(dropped["malformed"] <= 1000);
  CHECK(dropped["over the rate"] >= 1);
  CHECK(holds(street.log("LK-101"), "linkDown"));
  CHECK_FALSE(holds(street.log("LK-101"), "coldStart"));
  for (const std::string secret : {"of oak and ash", "of elm and yew"})
    CHECK_FALSE(holds(listening.out() + street.log("LK-101"), secret));
}

TEST_CASE("a restart opens no door to what was recorded before it, and informs find the new clock") {
  const Street street;
  const std::string old = recorded(engine_1, " -Z 5,1000", cold_start);
  const auto engine_of = [](const std::string& out) {
    return nlohmann::json::parse(out.substr(0, out.find('\n')));
  };
  nlohmann::json first;
  {
    Listening listening(street.fleet(), "--json");
    first = engine_of(listening.out());
    const Ran second = street.vergeset("listen --port " + std::to_string(listening.port()));
    CHECK(second.status == 2);
    CHECK(holds(second.text, "another vergeset listen works with these records"));
    const Raw unit("127.122.2.1", listening);
    unit.send(recorded(engine_1, " -Z 5,1400", link_down));
    REQUIRE(listening.says("linkDown"));
    CHECK(inform("127.122.2.2", listening, cold_start).status == 0);
    CHECK(listening.stop() == 0);
  }
  Listening listening(street.fleet(), "--json");
  const auto second = engine_of(listening.out());
  CHECK(second["engine"] == first["engine"]);
  CHECK(second["boots"] == first["boots"].get<int>() + 1);  // RFC 3414 2.2
  const Raw unit("127.122.2.1", listening);
  unit.send(old);
  CHECK(inform("127.122.2.2", listening, cold_start).status == 0);
  CHECK(listening.stop() == 0);
  CHECK(last_of(listening.out())["counts"]["dropped"]["outside the time window"] == 1);
  CHECK(last_of(listening.out())["counts"]["notifications"] == 1);
}

TEST_CASE(
    "an audit waits for the change that has its unit half done, and comes once for many notifications") {
  const Street street;
  // A change of LK-101 that has not ended (records/change_record.h, records/journal.h).
  std::filesystem::create_directories(street.path("records/changes/0001"));
  std::ofstream(street.path("records/changes/0001/change.yaml"))
      << "change: 1\nkind: apply\nfleet: Larkmoor street\nwho: \"t@desk\"\nwhy: \"\"\n"
         "begun: \"2026-11-25T04:05:12.476Z\"\nunits:\n  LK-101:\n    outcome: held\n"
         "    steps: 0\n    off-air-ms: 0\nfiles: {}\n";
  std::ofstream(street.path("records/changes/0001/journal.jsonl"))
      << R"({"at":"2026-11-25T04:05:12.487Z","event":"begin","change":1,"kind":"apply","who":"t@desk","units":1})"
      << "\n"
      << R"({"at":"2026-11-25T04:05:12.509Z","event":"begin unit","unit":"LK-101","steps":1})"
      << "\n";
  Listening listening(street.fleet(), "--audit --audit-after 1");
  trap("127.122.2.1", engine_1, listening, cold_start);
  for (int i = 0; i < 3; ++i) trap("127.122.2.2", engine_2, listening, link_down);
  trap("127.122.2.2", engine_2, listening, " '' 1.3.6.1.6.3.1.1.5.5");  // authenticationFailure
  REQUIRE(Listening::within([&] { return holds(street.log("LK-201"), "ends no answer"); }));
  std::this_thread::sleep_for(1500ms);
  CHECK(listening.stop() == 0);
  INFO(listening.out());
  CHECK(holds(street.log("LK-101"), "coldStart"));
  CHECK_FALSE(holds(street.log("LK-101"), "audit"));
  const std::string log = street.log("LK-201");
  CHECK(holds(log, "audit, since it sent a notification"));
  CHECK(log.find("audit, since") == log.rfind("audit, since"));
  CHECK(holds(log, "notifications in the last minute: 2 more linkDown"));
}

TEST_CASE("a community is heard in SNMPv1 and SNMPv2c") {
  const Street street("{version: 2c, community: {env: STREET_COMMUNITY}, insecure: units of 2009}");
  Listening listening(street.fleet());
  const std::string from = " --clientaddr=127.122.2.1 -c of-larch ";
  served::run("snmptrap -v2c" + from + listening.at() + cold_start);
  served::run("snmptrap -v1" + from + listening.at() + " 1.3.6.1.4.1.1206.4 127.122.2.1 3 0 ''");  // linkUp
  CHECK(served::run("snmpinform -v2c -r 0 -t 5" + from + listening.at() + link_down).status == 0);
  CHECK(holds(street.log("LK-101"), "linkDown"));
  CHECK(Listening::within([&] { return holds(street.log("LK-101"), "linkUp"); }));
  CHECK(holds(street.log("LK-101"), "coldStart"));
  CHECK(listening.stop() == 0);
  CHECK_FALSE(holds(street.log("LK-101") + listening.out(), "of-larch"));
}

TEST_CASE("a unit with keys of its own is heard by trap, and that its informs are not is told at the start") {
  const Street street("{user: vergeset, keys: store}");
  const std::string auth_key(64, 'a');
  const std::string privacy_key(32, 'b');
  std::filesystem::create_directories(street.path("keys"));
  std::ofstream(street.path("keys/street.keys"))
      << R"({"id":"00112233445566aa","is":"opens","unit":"LK-101","credential":"street","change":1,)"
      << R"("user":"vergeset","engine":")" << engine_1 << R"(","auth":"SHA-256","auth_key":")" << auth_key
      << R"(","privacy":"AES-128","privacy_key":")" << privacy_key << R"(","boots":1})"
      << "\n";
  ::chmod(street.path("keys/street.keys").c_str(), 0600);
  Listening listening(street.fleet());
  INFO(listening.out());
  CHECK(holds(listening.out(), "1 unit (LK-101): keys of the key store are localized"));
  CHECK(holds(listening.out(), "1 unit (LK-201): no keys are stored"));
  // -3k and -3K take localized keys (snmpcmd(1)).
  const std::string own =
      " -l authPriv -u vergeset -a SHA-256 -3k 0x" + auth_key + " -x AES -3K 0x" + privacy_key + " ";
  trap("127.122.2.1", engine_1, listening, link_down, own);
  CHECK(Listening::within([&] { return holds(street.log("LK-101"), "linkDown"); }));
  const Ran refused = inform("127.122.2.1", listening, cold_start, own);
  CHECK(refused.status != 0);
  CHECK(listening.stop() == 0);
  CHECK(holds(listening.out(), "dropped, unknown user"));
}

TEST_CASE("what cannot be heard is told before anything is, and where nothing can be the command ends") {
  const Street by_certificate(
      "{transport: dtls, certificate: tls/m.crt, key: {file: tls/m.key}, trust: tls/ca.crt}");
  const Ran none = by_certificate.vergeset("listen --address " + here + " --port 1 --seconds 1");
  CHECK(none.status == 2);

  const Street stored("{user: vergeset, keys: store}");
  const Ran no_keys = stored.vergeset("listen --address " + here + " --port " +
                                      std::to_string(vergeset::tests::free_port(here)) + " --seconds 1");
  CHECK(no_keys.status == 2);
  CHECK(holds(no_keys.text, "nothing of these units can be heard"));
  CHECK(holds(no_keys.text, "vergeset rekey gives keys"));

  const Street street;
  const Ran elsewhere = street.vergeset("listen --address 192.0.2.1 --seconds 1");
  CHECK(elsewhere.status == 2);
  CHECK(holds(elsewhere.text, "this machine has no such address"));
  const Ran timed = street.vergeset("listen --address " + here + " --port " +
                                    std::to_string(vergeset::tests::free_port(here)) + " --seconds 1 LK-101");
  CHECK(timed.status == 0);
  CHECK(holds(timed.text, "for 1 unit"));
}

TEST_CASE("a simulated unit says unasked what it is told to, to where its settings say, as its user") {
  served::ServedFleet units;
  REQUIRE(units.start());
  const std::string fleet = units.path("");
  // Whose engines they are is known from then on.
  served::run(std::string(PROGRAM) + " audit --fleet '" + fleet + "'");
  Listening listening(fleet);
  CHECK(holds(units.tell("LK-101 notify coldStart").text, "set them, or name HOST:PORT behind it"));
  for (const std::string unit : {"LK-101", "LK-201"}) {
    CHECK(units.tell(unit + " set rsuNotifyIpAddress " + here).text == "ok\n");
    CHECK(units.tell(unit + " set rsuNotifyPort " + std::to_string(listening.port())).text == "ok\n");
    CHECK(units.tell(unit + " notify coldStart").text == "ok\n");
    CHECK(listening.says(unit + "  notification coldStart"));
  }
  CHECK(units.tell("LK-101 notify 1.3.6.1.4.1.1206.4.0.7 " + listening.at()).text == "ok\n");
  CHECK(listening.says("notification 1.3.6.1.4.1.1206.4.0.7"));
  CHECK(holds(units.tell("LK-101 notify coldStrat").text, "did you mean coldStart?"));
  CHECK(holds(units.tell("LK-101 notify coldStart nowhere").text, "is no HOST:PORT"));
  CHECK(listening.stop() == 0);
  CHECK(holds(listening.out(), "3 of 2 units"));
  CHECK_FALSE(holds(listening.out(), "dropped"));
}
