#include <arpa/inet.h>
#include <poll.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <optional>
#include <set>

#include "catch.h"
#include "served_fleet.h"

using served::run;
using served::ServedFleet;
using namespace std::chrono_literals;

namespace {

const std::string rsu_id = ".1.3.6.1.4.1.1206.4.2.18.13.4.0";  // NTCIP 1218 v01, by its object list
const std::string rsu41_mode = ".1.0.15628.4.1.99.0";          // RSU 4.1 MIB

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

/// How long a GET takes, with the discovery before it; -1ms where nothing answers.
std::chrono::milliseconds time_of_get(int unit, const std::string& oid) {
  const auto before = std::chrono::steady_clock::now();
  if (ServedFleet::manager("snmpget", unit, oid).status != 0) return -1ms;
  return std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::steady_clock::now() - before);
}

/// A manager that only asks for the engine id (RFC 3414 4): a Report answers, of the same msgID.
class Discoverer {
 public:
  explicit Discoverer(int unit) {
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(static_cast<std::uint16_t>(served::port()));
    ::inet_pton(AF_INET, served::address(unit).c_str(), &to.sin_addr);
    ::connect(socket_, reinterpret_cast<const sockaddr*>(&to), sizeof to);
  }
  ~Discoverer() { ::close(socket_); }
  Discoverer(const Discoverer&) = delete;
  Discoverer& operator=(const Discoverer&) = delete;

  void ask(int number) const {
    std::string message(
        "\x30\x3a\x02\x01\x03"
        "\x30\x0f\x02\x02\x40\x00\x02\x03\x00\xff\xe3\x04\x01\x04\x02\x01\x03"  // RFC 3412 6: reportable, USM
        "\x04\x10\x30\x0e\x04\x00\x02\x01\x00\x02\x01\x00\x04\x00\x04\x00\x04\x00"
        "\x30\x12\x04\x00\x04\x00\xa0\x0c\x02\x02\x40\x00\x02\x01\x00\x02\x01\x00\x30\x00",
        60);
    message[10] = static_cast<char>(number);
    ::send(socket_, message.data(), message.size(), 0);
  }

  /// The number of the next answer; nothing where none comes within `patience`.
  std::optional<int> answer(std::chrono::milliseconds patience) const {
    pollfd waited{socket_, POLLIN, 0};
    std::array<char, 512> octets{};
    if (::poll(&waited, 1, static_cast<int>(patience.count())) <= 0) return std::nullopt;
    const ssize_t size = ::recv(socket_, octets.data(), octets.size(), 0);
    error_ = size < 0 ? errno : 0;
    if (size < 0) return std::nullopt;
    // SEQUENCE with one or two octets of length, version, header, msgID.
    const std::size_t body = octets[1] == '\x81' ? 3 : 2;
    return static_cast<unsigned char>(octets[body + 8]);
  }
  int error() const { return error_; }  ///< of the last answer()

 private:
  int socket_ = ::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  mutable int error_ = 0;
};

/// Which of so many questions are answered.
std::set<int> answered(int unit, int questions) {
  const Discoverer manager(unit);
  std::set<int> numbers;
  for (int next = 0; next < questions;) {
    for (int i = 0; i < 25 && next < questions; ++i) manager.ask(next++);
    while (const auto number = manager.answer(250ms)) numbers.insert(*number);
  }
  return numbers;
}

std::set<int> answered_with(const std::vector<std::string>& options, int unit) {
  ServedFleet fleet;
  REQUIRE(fleet.start(options));
  return answered(unit, 100);
}

int number_behind(const std::string& text, const std::string& name) {
  const auto at = text.find(name + " ");
  REQUIRE(at != std::string::npos);
  return std::stoi(text.substr(at + name.size() + 1));
}

}  // namespace

TEST_CASE("with --delay each answer of every unit is held back, beside what one is told", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start({"--delay", "150"}));
  CHECK(time_of_get(1, rsu_id) >= 300ms);  // discovery, then the GET
  CHECK(time_of_get(2, rsu41_mode) >= 300ms);
  CHECK(fleet.tell("LK-101 delay 250").status == 0);
  CHECK(time_of_get(1, rsu_id) >= 800ms);
  CHECK(fleet.tell("LK-101 clear").status == 0);
  CHECK(time_of_get(1, rsu_id) >= 300ms);
}

TEST_CASE("with --loss requests and answers are lost, and clear does not mend it", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start({"--loss", "30"}));
  CHECK(fleet.tell("LK-101 clear").status == 0);
  const auto numbers = answered(1, 200);
  // 0.7 * 0.7 of 200 is 98; five standard deviations are 35.
  CHECK(numbers.size() >= 63);
  CHECK(numbers.size() <= 133);
  const auto counters = fleet.tell("LK-101 counters").text;
  const auto count = [&](const char* name) { return number_behind(counters, name); };
  CHECK(count("datagrams-in") == 200);
  CHECK(count("octets-in") == 200 * 60);
  CHECK(count("datagrams-out") == static_cast<int>(numbers.size()));
  CHECK(count("lost-in") > 0);
  CHECK(count("lost-out") > 0);
  CHECK(count("lost-in") + count("lost-out") + count("datagrams-out") == 200);
}

TEST_CASE("what --loss loses is repeated by its seed, and each unit has its own", "[agent]") {
  const auto first = answered_with({"--loss", "30"}, 1);
  CHECK(first == answered_with({"--loss", "30", "--seed", "1"}, 1));
  CHECK(first != answered_with({"--loss", "30", "--seed", "2"}, 1));
  CHECK(first != answered_with({"--loss", "30"}, 2));
  CHECK(first.size() < 100);
  CHECK(answered_with({}, 1).size() == 100);
}

TEST_CASE("a dead unit holds its port and says nothing, not even that the port is closed", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start({"--dead", "1"}));
  CHECK(fleet.log() == "2 units ready, 1 dead: LK-201\n");
  CHECK(ServedFleet::manager("snmpget", 1, rsu_id).text == rsu_id + " = \"RSU\"\n");
  CHECK(fleet.tell("LK-201 clear").status == 0);
  const Discoverer manager(2);
  for (int i = 0; i < 3; ++i) {
    manager.ask(i);
    CHECK_FALSE(manager.answer(200ms));
    CHECK(manager.error() == 0);
  }
  CHECK(has(fleet.tell("LK-201 counters").text, "datagrams-in 3\n"));
  CHECK(has(fleet.tell("LK-201 counters").text, "datagrams-out 0\n"));
  fleet.stop();
  manager.ask(4);
  CHECK_FALSE(manager.answer(1s));
  CHECK(manager.error() == ECONNREFUSED);  // what a closed port comes to, for comparison
}

TEST_CASE("dead units may be a share, or named", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start({"--dead", "LK-1*"}));
  CHECK(fleet.log() == "2 units ready, 1 dead: LK-101\n");
  fleet.stop();
  REQUIRE(fleet.start({"--dead", "50%"}));
  CHECK(fleet.log() == "2 units ready, 1 dead: LK-201\n");
}

TEST_CASE("a road that cannot be is told and is bad usage", "[agent]") {
  ServedFleet fleet;
  const auto refused = [&](const std::vector<std::string>& options, const std::string& why) {
    CHECK_FALSE(fleet.start(options));
    CHECK(fleet.exit_status == 2);
    INFO(fleet.log());
    return has(fleet.log(), why);
  };
  CHECK(refused({"--loss", "120"}, "--loss: Value 120 not in range"));
  CHECK(refused({"--loss", "most"}, "--loss"));
  CHECK(refused({"--delay", "-5"}, "--delay: Value -5 not in range"));
  CHECK(refused({"--seed", "-1"}, "--seed"));
  CHECK(refused({"--dead", "50"}, "roadside-sim: --dead 50: 2 units are served\n"));
  CHECK(refused({"--dead", "101%"}, "roadside-sim: --dead 101%: a share is 100% at most\n"));
  CHECK(refused({"--dead", "LK-102"}, "no unit that is served is called LK-102; did you mean LK-101?"));
  CHECK(refused({"--units", "LK-101", "--dead", "LK-201"}, "no unit that is served is called LK-201"));
}

TEST_CASE("many units are told one thing at once, and their counters are added up", "[agent]") {
  ServedFleet fleet;
  REQUIRE(fleet.start());
  CHECK(ServedFleet::manager("snmpget", 1, rsu_id).status == 0);
  CHECK(ServedFleet::manager("snmpget", 2, rsu41_mode).status == 0);
  CHECK(has(fleet.tell("'*' counters").text, "units 2\ngets 2\nsets 0\n"));
  CHECK(has(fleet.tell("'LK-1*' counters").text, "units 1\ngets 1\n"));
  CHECK(fleet.tell("LK-101,LK-201 drop 1").text == "LK-101: ok\nLK-201: ok\n");
  CHECK(time_of_get(1, rsu_id) == -1ms);
  const auto wrong = fleet.tell("'*' dorp 1");
  CHECK(wrong.status == 1);
  CHECK(has(wrong.text, "LK-201: error: 'dorp' is no command"));
  CHECK(fleet.tell("'XX-*' counters").status == 1);
  CHECK(has(fleet.tell("LK-101,XX-9 counters").text, "is called XX-9\n"));
}

TEST_CASE("a simulator ends with the process that started it, and its units with it", "[agent]") {
  ServedFleet fleet;
  const std::string ready = fleet.path("ready");
  const auto started = run(BINARY_DIR "/src/sim/roadside-sim --fleet '" + fleet.path("") +
                           "' --schemas " SOURCE_DIR "/schemas --seconds 60 --ready '" + ready +
                           "' >/dev/null 2>&1 & for i in $(seq 300); do [ -e '" + ready +
                           "' ] && break; sleep 0.1; done; snmpget -v3 -l noAuthNoPriv -u nobody -r 0 -t 1 " +
                           served::address(1) + ":" + std::to_string(served::port()) + " " + rsu_id);
  CHECK(has(started.text, "Unknown user name"));  // it was there: RFC 3414 3.2 (4)
  const Discoverer manager(1);
  bool gone = false;
  for (int i = 0; i < 40 && !gone; ++i) {
    manager.ask(i);
    manager.answer(100ms);
    gone = manager.error() == ECONNREFUSED;
    std::this_thread::sleep_for(50ms);
  }
  CHECK(gone);
}
