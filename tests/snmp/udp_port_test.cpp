#include "snmp/udp_port.h"

#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstring>

#include "catch.h"
#include "snmp/udp_network.h"

using namespace vergeset;
using namespace vergeset::snmp;

namespace {

/// One that sends from a loopback address of its own.
class Peer {
 public:
  explicit Peer(const std::string& host) : from_(*resolve(host, 0)) {
    socket_ = ::socket(from_.socket.ss_family, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    REQUIRE(::bind(socket_, reinterpret_cast<const sockaddr*>(&from_.socket), from_.size) == 0);
  }
  ~Peer() { ::close(socket_); }
  Peer(const Peer&) = delete;
  Peer& operator=(const Peer&) = delete;

  /// "127.122.1.9:20001" is who hears it from then on.
  void connect(const std::string& host, std::uint16_t port) const {
    const Address to = *resolve(host, port);
    REQUIRE(::connect(socket_, reinterpret_cast<const sockaddr*>(&to.socket), to.size) == 0);
  }
  void send(const std::string& octets) const {
    REQUIRE(::send(socket_, octets.data(), octets.size(), 0) == static_cast<ssize_t>(octets.size()));
  }
  std::string read() const {
    std::array<char, 4096> octets{};
    const ssize_t count = ::recv(socket_, octets.data(), octets.size(), MSG_DONTWAIT);
    return count < 0 ? std::string() : std::string(octets.data(), static_cast<std::size_t>(count));
  }

 private:
  Address from_;
  int socket_ = -1;
};

struct Heard {
  std::vector<std::string> octets;
  std::vector<std::string> from;
  std::vector<bool> cut;
  int turns = 0;
};

/// Answers each datagram with "yes".
Result<std::unique_ptr<UdpPort>> open(UdpNetwork& network, const std::string& host, std::uint16_t port,
                                      Heard& heard) {
  return UdpPort::open(
      network.loop(), *resolve(host, port), "--port",
      [&heard](UdpPort& at, const UdpPort::Came& came) {
        heard.octets.emplace_back(came.octets);
        heard.from.push_back(came.from);
        heard.cut.push_back(came.cut);
        at.send(came.way, "yes");
      },
      [&heard] { ++heard.turns; });
}

Task<void> a_while(UdpNetwork& network) {
  co_await network.sleep(std::chrono::milliseconds(20));
}

void turn(UdpNetwork& network) {
  network.run_each(
      1, [&](std::size_t) { return a_while(network); }, 1);
}

std::uint16_t port_of(const UdpPort& port) {
  const std::string name = port.name();
  return static_cast<std::uint16_t>(std::stoi(name.substr(name.rfind(':') + 1)));
}

/// A port of 127.122.1.9, and a unit that is connected to it and so takes nothing from another address.
struct Street {
  UdpNetwork network{1};
  Heard heard;
  std::unique_ptr<UdpPort> port;
  Peer unit{"127.122.1.4"};

  explicit Street(const std::string& bound = "127.122.1.9") {
    auto opened = open(network, bound, 0, heard);
    REQUIRE(opened);
    port = *std::move(opened);
    unit.connect("127.122.1.9", port_of(*port));
  }
  void turn() { ::turn(network); }
};

}  // namespace

TEST_CASE("a datagram is heard with its sender, and is answered from the address that it was sent to") {
  Street street("0.0.0.0");
  street.unit.send("hello");
  street.turn();
  const Heard& heard = street.heard;
  REQUIRE(heard.octets == std::vector<std::string>{"hello"});
  CHECK(heard.from.front() == std::string(10, '\0') + "\xff\xff\x7f\x7a\x01\x04");
  CHECK_FALSE(heard.cut.front());
  CHECK(heard.turns == 1);
  CHECK(street.unit.read() == "yes");
}

TEST_CASE("over IPv6 as well") {
  UdpNetwork network(1);
  Heard heard;
  const auto port = open(network, "::1", 0, heard);
  REQUIRE(port);
  CHECK_THAT((*port)->name(), Catch::StartsWith("[::1]:"));
  const Peer unit("::1");
  unit.connect("::1", port_of(**port));
  unit.send("hello");
  turn(network);
  REQUIRE(heard.from.size() == 1);
  CHECK(heard.from.front() == std::string(15, '\0') + "\x01");
  CHECK(unit.read() == "yes");
}

TEST_CASE("of a datagram that is too long the first octets are read, and that it was cut is told") {
  Street street;
  street.unit.send(std::string(UdpPort::most_octets, 'x'));
  street.unit.send(std::string(40000, 'x'));
  street.unit.send("");
  street.turn();
  REQUIRE(street.heard.octets.size() == 3);
  CHECK(street.heard.octets[1].size() == UdpPort::most_octets);
  CHECK(street.heard.cut == std::vector<bool>{false, true, false});
}

TEST_CASE("what comes faster than it is read is lost, and how much is told") {
  Street street;
  const Heard& heard = street.heard;
  constexpr std::size_t sent = 3000;
  for (std::size_t i = 0; i < sent; ++i) street.unit.send(std::string(8000, 'x'));
  for (std::size_t before = 1; before != heard.octets.size(); street.turn()) before = heard.octets.size();
  street.unit.send("last");  // the system tells of the loss with the next one that it has room for
  street.turn();
  const bool last = heard.octets.back() == "last";
  CHECK(last);
  CHECK(street.port->lost() == sent + 1 - heard.octets.size());
}

TEST_CASE("a port that another has is told with what to do") {
  Street street;
  const auto second = open(street.network, "127.122.1.9", port_of(*street.port), street.heard);
  REQUIRE_FALSE(second);
  CHECK_THAT(second.problem(), Catch::Contains("another program has this port") && Catch::Contains("--port"));
  const auto elsewhere = open(street.network, "192.0.2.1", 0, street.heard);
  REQUIRE_FALSE(elsewhere);
  CHECK_THAT(elsewhere.problem(), Catch::Contains("this machine has no such address"));
}
