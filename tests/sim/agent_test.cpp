#include <sys/socket.h>
#include <sys/un.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "catch.h"
#include "served_fleet.h"

using served::run;
using served::ServedFleet;
using namespace std::chrono_literals;

namespace {

// NTCIP 1218 v01 and RSU 4.1, by the object lists.
const std::string ntcip = ".1.3.6.1.4.1.1206.4.2.18.";
const std::string rsu41 = ".1.0.15628.4.1.";
const std::string rsu_id = ntcip + "13.4.0";
const std::string firmware = ntcip + "13.2.0";
const std::string mode = ntcip + "16.2.0";
const std::string mode_status = ntcip + "16.3.0";
const std::string sys_contact = ".1.3.6.1.2.1.1.4.0";
const std::string engine_boots = ".1.3.6.1.6.3.10.2.1.2.0";

std::string message(int column, int row) {
  return ntcip + "3.2.1." + std::to_string(column) + "." + std::to_string(row);
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

served::Ran get(int unit, const std::string& oids) {
  return ServedFleet::manager("snmpget", unit, oids);
}
served::Ran set(int unit, const std::string& words) {
  return ServedFleet::manager("snmpset", unit, words);
}

bool becomes(int unit, const std::string& oid, const std::string& value) {
  for (int i = 0; i < 50; ++i) {
    if (has(get(unit, oid).text, oid + " = " + value + "\n")) return true;
    std::this_thread::sleep_for(100ms);
  }
  return false;
}

}  // namespace

TEST_CASE("a served unit is read by SNMPv3 with authPriv, and by nothing less", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  CHECK(fleet.log() == "2 units ready\n");
  CHECK(get(1, rsu_id).text == rsu_id + " = \"RSU\"\n");
  CHECK(get(2, rsu41 + "99.0").text == rsu41 + "99.0 = 2\n");
  // RFC 3411 SnmpEngineID, format 4: 0x80001f88, 04, the unit's name.
  CHECK(has(get(1, ".1.3.6.1.6.3.10.2.1.1.0").text, "\"80 00 1F 88 04 4C 4B 2D 31 30 31 \""));

  CHECK(has(ServedFleet::manager("snmpget", 1, rsu_id, "-l authNoPriv").text, "authorizationError"));
  CHECK(has(ServedFleet::manager("snmpget", 1, rsu_id, "-l authPriv -x AES -X 'of oak and elm'").text,
            "Timeout"));
  CHECK(has(run("snmpget -v2c -c public -r 0 -t 1 " + served::address(1) + ":" +
                std::to_string(served::port()) + " " + rsu_id)
                .text,
            "Timeout"));

  // A walk shows what the store holds, in order, over both subtrees.
  const auto walked = ServedFleet::manager("snmpwalk", 1, ntcip.substr(0, ntcip.size() - 1)).text;
  const auto bulk = ServedFleet::manager("snmpbulkwalk", 1, ntcip.substr(0, ntcip.size() - 1)).text;
  const auto state = fleet.tell("LK-101 state").text;
  const auto lines = [](const std::string& text) { return std::count(text.begin(), text.end(), '\n'); };
  CHECK(lines(walked) > 100);
  CHECK(lines(walked) == lines(bulk));
  const auto system = ServedFleet::manager("snmpwalk", 1, ".1.3.6.1.2.1.1").text;
  CHECK(lines(system) >= 7);
  CHECK(lines(state) >= lines(walked) + lines(system));
  CHECK(has(get(1, ntcip + "13.99.0").text, "No Such Object"));
  CHECK(has(get(1, ntcip + "13.4.1").text, "No Such Instance"));
  CHECK(fleet.stop() == 0);
  CHECK_FALSE(std::filesystem::exists(fleet.path("control/LK-101.sock")));
}

TEST_CASE("a manager makes, refuses and removes rows at a served unit: RFC 2579 RowStatus", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  const std::string whole =
      message(2, 3) + " x 8002 " + message(7, 3) + " x 0012020000 " + message(9, 3) + " i 4";
  CHECK(set(1, whole).status == 0);
  CHECK(get(1, message(9, 3)).text == message(9, 3) + " = 1\n");
  const auto again = set(1, whole).text;
  CHECK(has(again, "inconsistentValue"));
  CHECK(has(again, "Failed object: " + message(9, 3)));
  CHECK(set(1, message(9, 3) + " i 6").status == 0);
  CHECK(has(get(1, message(2, 3)).text, "No Such Instance"));
}

TEST_CASE("error-status and error-index of a served unit: RFC 3416 4.2.5", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  const auto refused = [](const std::string& words, const std::string& status, const std::string& object) {
    const auto text = set(1, words).text;
    INFO(text);
    return has(text, status) && has(text, "Failed object: " + object + "\n");
  };
  CHECK(refused(rsu_id + " s LK-101 " + firmware + " s 9.9", "notWritable", firmware));
  CHECK(refused(rsu_id + " s LK-101 " + mode + " s 3", "wrongType", mode));
  CHECK(refused(sys_contact + " s desk " + mode + " i 7", "wrongValue", mode));
  CHECK(refused(mode + " i 7 " + sys_contact + " s desk", "wrongValue", mode));
  CHECK(refused(rsu_id + " s 123456789012345678901234567890123", "wrongLength", rsu_id));
  CHECK(refused(rsu_id + " s LK-101 " + message(4, 9) + " i 500", "inconsistentName", message(4, 9)));
  CHECK(refused(rsu_id + " s LK-101 .1.3.6.1.2.1.2.1.0 i 5", "notWritable", ".1.3.6.1.2.1.2.1.0"));
  CHECK(get(1, rsu_id).text == rsu_id + " = \"RSU\"\n");
  // One SET over the system group and the model's own tree is one transaction.
  CHECK(set(1, sys_contact + " s desk " + rsu_id + " s LK-101").status == 0);
  CHECK(get(1, sys_contact + " " + rsu_id).text ==
        sys_contact + " = \"desk\"\n" + rsu_id + " = \"LK-101\"\n");
}

TEST_CASE("a served unit changes its mode with time, and refuses what needs standby", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  const std::string channel = ntcip + "1.2.1.8.1";
  CHECK(set(1, channel + " i 180").status == 0);
  CHECK(set(1, mode + " i 3").status == 0);
  CHECK(becomes(1, mode_status, "3"));
  CHECK(has(set(1, channel + " i 182").text, "inconsistentValue"));
  CHECK(set(1, mode + " i 2").status == 0);
  CHECK(becomes(1, mode_status, "2"));
  CHECK(set(1, channel + " i 182").status == 0);

  CHECK(set(2, rsu41 + "99.0 i 4").status == 0);
  CHECK(becomes(2, rsu41 + "99.0", "4"));
  CHECK(has(set(2, rsu41 + "4.1.11.1 i 5").text, "inconsistentValue"));
}

TEST_CASE("a served unit does wrong what it was told to", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  const std::string rename = rsu_id + " s ";

  CHECK(fleet.tell("LK-101 reset counters").text == "ok\n");
  CHECK(set(1, rename + "a " + sys_contact + " s b").status == 0);
  CHECK(set(1, firmware + " s b").status != 0);
  CHECK(get(1, rsu_id).status == 0);
  const auto counters = fleet.tell("LK-101 counters").text;
  CHECK(has(counters, "gets 1\nsets 2\nset-varbinds 3\nsets-refused 1\n"));
  CHECK(has(counters, "datagrams-in 6\n"));  // three commands, each after a discovery (RFC 3414 4)
  CHECK(has(counters, "datagrams-out 6\n"));

  CHECK(fleet.tell("LK-101 drop 1").status == 0);
  CHECK(has(set(1, rename + "dropped").text, "Timeout"));
  CHECK(get(1, rsu_id).text == rsu_id + " = \"a\"\n");

  CHECK(fleet.tell("LK-101 drop-response 1").status == 0);
  CHECK(has(set(1, rename + "unanswered").text, "Timeout"));
  CHECK(get(1, rsu_id).text == rsu_id + " = \"unanswered\"\n");

  CHECK(fleet.tell("LK-101 refuse rsuID resourceUnavailable 1").status == 0);
  CHECK(has(set(1, sys_contact + " s c " + rename + "refused").text, "Failed object: " + rsu_id));
  CHECK(set(1, rename + "d").status == 0);

  CHECK(fleet.tell("LK-101 ignore 1").status == 0);
  CHECK(set(1, rename + "ignored").status == 0);
  CHECK(get(1, rsu_id).text == rsu_id + " = \"d\"\n");

  CHECK(fleet.tell("LK-101 delay 300").status == 0);
  const auto before = std::chrono::steady_clock::now();
  CHECK(get(1, rsu_id).text == rsu_id + " = \"d\"\n");
  CHECK(std::chrono::steady_clock::now() - before >= 600ms);  // discovery, then the GET
  CHECK(fleet.tell("LK-101 clear").status == 0);

  CHECK(fleet.tell("LK-101 set rsuID by hand").status == 0);
  CHECK(get(1, rsu_id).text == rsu_id + " = \"by hand\"\n");

  const auto wrong = fleet.tell("LK-101 dorp 1");
  CHECK(wrong.status == 1);
  CHECK(has(wrong.text, "did you mean drop"));
  CHECK(fleet.tell("LK-999 counters").status == 1);
}

TEST_CASE("a rebooting unit is silent, then counts a start and begins its time anew: RFC 3414 2.2",
          "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  const std::string engine_time = ".1.3.6.1.6.3.10.2.1.3.0";
  CHECK(get(1, engine_boots).text == engine_boots + " = 1\n");
  CHECK(set(1, rsu_id + " s kept").status == 0);
  std::this_thread::sleep_for(2s);
  CHECK(set(1, ntcip + "16.4.0 i 1").status == 0);
  CHECK(fleet.tell("LK-101 counters").status == 0);
  CHECK(becomes(1, engine_boots, "2"));
  const auto time = get(1, engine_time).text;
  CHECK((has(time, " = 0\n") || has(time, " = 1\n") || has(time, " = 2\n")));
  CHECK(get(1, rsu_id).text == rsu_id + " = \"kept\"\n");
  CHECK(get(2, engine_boots).text == engine_boots + " = 1\n");

  CHECK(fleet.tell("LK-101 reboot lose").status == 0);
  CHECK(becomes(1, engine_boots, "3"));
  CHECK(get(1, rsu_id).text == rsu_id + " = \"kept\"\n");  // SET before the start that it fell back to
}

TEST_CASE("a state that is kept survives a restart, and its engine counts on", "[agent]") {
  ServedFleet fleet;
  const std::vector<std::string> keep{"--keep", fleet.path("kept")};
  REQUIRE(fleet.start(keep));
  CHECK(set(1, rsu_id + " s kept").status == 0);
  CHECK(
      set(1, message(2, 3) + " x 8002 " + message(7, 3) + " x 0012020000 " + message(9, 3) + " i 4").status ==
      0);
  CHECK(fleet.stop() == 0);
  REQUIRE(fleet.start(keep));
  CHECK(get(1, rsu_id + " " + engine_boots).text == rsu_id + " = \"kept\"\n" + engine_boots + " = 2\n");
  CHECK(get(1, message(9, 3)).text == message(9, 3) + " = 1\n");
  CHECK(fleet.tell("LK-101 set rsuID by hand").status == 0);
  CHECK(fleet.stop(SIGINT) == 0);
  CHECK(has(run("grep -c 62792068616e64 '" + fleet.path("kept/LK-101.state") + "'").text, "1"));
}

TEST_CASE("a SET that is answered is on disk already", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start({"--keep", fleet.path("kept"), "--units", "LK-101"}));
  for (int i = 10; i < 30; ++i) {
    CHECK(set(1, rsu_id + " x 70" + std::to_string(i)).status == 0);
    const auto kept =
        run("grep -c '\"70" + std::to_string(i) + "\"' '" + fleet.path("kept/LK-101.state") + "'");
    CHECK(kept.text == "1\n");
  }
}

TEST_CASE("a state that cannot be kept is a reason not to start", "[agent]") {
  ServedFleet fleet;
  CHECK_FALSE(fleet.start({"--keep", "/proc"}));
  CHECK(has(fleet.log(), "roadside-sim: LK-101: cannot write /proc/LK-101.state"));
}

TEST_CASE("help fits 24 lines of 80 columns and shows an example", "[agent]") {
  for (const std::string words : {"--help", "tell --help"}) {
    const auto help = run(BINARY_DIR "/src/sim/roadside-sim " + words + " | sed s,^Usage:.*/,Usage:,").text;
    INFO(help);
    CHECK(std::count(help.begin(), help.end(), '\n') <= 24);
    CHECK(has(help, "Example: roadside-sim "));
    std::istringstream lines(help);
    for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 80);
  }
}

TEST_CASE("a unit may start as its files describe it", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start({"--state", "desired", "--units", "LK-101"}));
  CHECK(fleet.log() == "1 unit ready\n");
  CHECK(get(1, rsu_id + " " + mode_status).text == rsu_id + " = \"LK-101\"\n" + mode_status + " = 3\n");
  CHECK(has(get(2, rsu41 + "99.0").text, "snmpget"));  // not served
}

TEST_CASE("an address that cannot be bound ends all, and is named", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  ServedFleet second;
  CHECK_FALSE(second.start());
  CHECK(second.exit_status == 1);
  CHECK(has(second.log(), "roadside-sim: LK-101: cannot bind " + served::address(1) + " port " +
                              std::to_string(served::port()) + ": Address already in use\n"));
  CHECK(get(1, rsu_id).status == 0);
}

TEST_CASE("a simulator that does not start leaves the control of the one that runs alone", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  ServedFleet second;
  second.control_folder = fleet.control_folder;
  CHECK_FALSE(second.start());  // the addresses are taken
  CHECK(fleet.tell("LK-101 get rsuID").text == "RSU\n");

  std::string units = served::units_yaml();
  for (std::size_t at = 0; (at = units.find("127.104.1.", at)) != std::string::npos; ++at)
    units[at + 8] = '2';
  ServedFleet third(units);
  third.control_folder = fleet.control_folder;
  CHECK_FALSE(third.start());
  INFO(third.log());
  CHECK(has(third.log(), "another simulator answers at " + fleet.path("control/LK-101.sock")));
  CHECK(fleet.tell("LK-101 get rsuID").text == "RSU\n");
}

TEST_CASE("a peer that dribbles at the control socket holds the unit up for a second at most", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  std::thread peer([path = fleet.path("control/LK-101.sock")] {
    const int socket = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_un address{AF_UNIX, {}};
    path.copy(address.sun_path, sizeof address.sun_path - 1);
    CHECK(::connect(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
    for (int i = 0; i < 8 && ::send(socket, "x", 1, MSG_NOSIGNAL) == 1; ++i)
      std::this_thread::sleep_for(500ms);
    ::close(socket);
  });
  std::this_thread::sleep_for(200ms);
  const auto before = std::chrono::steady_clock::now();
  CHECK(fleet.tell("LK-101 get rsuID").text == "RSU\n");
  CHECK(std::chrono::steady_clock::now() - before < 2s);
  peer.join();
}

TEST_CASE("the units end with the simulator, however it ends", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  fleet.stop(SIGKILL);
  const auto gone = [] { return get(1, rsu_id).status != 0; };
  for (int i = 0; i < 20 && !gone(); ++i) std::this_thread::sleep_for(50ms);
  CHECK(gone());
}

#ifndef __SANITIZE_ADDRESS__
TEST_CASE("forty units cost less than 0.55 MB of private memory each", "[agent]") {
  std::string units = "units:\n";
  for (int i = 1; i <= 40; ++i)
    units += "  LK-" + std::to_string(100 + i) + ": {address: " + served::address(i) +
             ", port: " + std::to_string(served::port()) +
             ", model: " + (i % 2 ? "ntcip1218-v01" : "rsu-4.1") + "}\n";
  ServedFleet fleet(units);
  REQUIRE(fleet.start());
  const std::string pid = std::to_string(fleet.pid());
  std::ifstream children("/proc/" + pid + "/task/" + pid + "/children");
  int count = 0;
  for (std::string child; children >> child; ++count) {
    const auto memory = run("awk '/^Private/ {sum += $2} END {print sum}' /proc/" + child + "/smaps_rollup");
    CHECK(std::stoi(memory.text) < 550);
  }
  CHECK(count == 40);
  CHECK(get(40, rsu41 + "99.0").text == rsu41 + "99.0 = 2\n");
}
#endif
