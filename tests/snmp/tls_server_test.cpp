#include "snmp/tls_server.h"

#include <arpa/inet.h>
#include <openssl/err.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/time.h>

#include <future>

#include "catch.h"
#include "smi/value.h"
#include "snmp/ber.h"
#include "snmp/principal.h"
#include "snmp/principals.h"
#include "snmp/udp_network.h"
#include "support/certificates.h"
#include "support/snmpd.h"

using namespace vergeset;
using namespace vergeset::snmp;
using namespace vergeset::tests;

// The port that units connect to, with OpenSSL's own clients at loopback addresses.

namespace {

using namespace std::chrono_literals;

const std::string server_host = "127.0.7.20";
const std::string pole_host = "127.0.7.21";
const std::string other_host = "127.0.7.22";

const MadeCertificate& city() {
  static const MadeCertificate made = make_certificate({"Larkmoor CA", nullptr, true});
  return made;
}
const MadeCertificate& pole(int which = 0) {
  static const std::array<MadeCertificate, 3> made{make_certificate({"LK-104", &city()}),
                                                   make_certificate({"LK-105", &city()}),
                                                   make_certificate({"LK-106", &city()})};
  return made.at(static_cast<std::size_t>(which));
}

std::shared_ptr<const Certified> office(bool datagrams) {
  static const MadeCertificate made = make_certificate({"office", &city()});
  CertificateText text;
  text.datagrams = datagrams;
  text.certificate = made.certificate;
  text.key = Secret::copy_of(made.key);
  text.trust = city().certificate;
  return (*certificate_principal(text))->certified;
}

std::string octets_of(const std::string& host) {
  return sixteen_octets(resolve(host, 0)->socket);
}

/// A unit's side of one connection, from its address; what it does it does in a thread of its own.
class Unit {
 public:
  Unit(bool datagrams, const MadeCertificate& shown, const std::string& from, std::uint16_t to,
       std::uint16_t from_port = 0)
      : socket_(::socket(AF_INET, (datagrams ? SOCK_DGRAM : SOCK_STREAM) | SOCK_CLOEXEC, 0)),
        context_(SSL_CTX_new(datagrams ? DTLS_client_method() : TLS_client_method())) {
    const timeval most{5, 0};
    setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &most, sizeof most);
    const sockaddr_in own = UdpSocket::address_of(from, from_port);
    const sockaddr_in peer = UdpSocket::address_of(server_host, to);
    show(context_.get(), shown);
    SSL_CTX_set_max_proto_version(context_.get(), datagrams ? DTLS1_2_VERSION : TLS1_2_VERSION);
    ssl_.reset(SSL_new(context_.get()));
    reached_ = ::bind(socket_, reinterpret_cast<const sockaddr*>(&own), sizeof own) == 0 &&
               ::connect(socket_, reinterpret_cast<const sockaddr*>(&peer), sizeof peer) == 0;
    if (datagrams) {
      BIO* const octets = BIO_new_dgram(socket_, BIO_NOCLOSE);
      BIO_ADDR* const there = BIO_ADDR_new();
      BIO_ADDR_rawmake(there, AF_INET, &peer.sin_addr, sizeof peer.sin_addr, peer.sin_port);
      BIO_ctrl(octets, BIO_CTRL_DGRAM_SET_CONNECTED, 0, there);
      BIO_ADDR_free(there);
      SSL_set_bio(ssl_.get(), octets, octets);
    } else {
      SSL_set_fd(ssl_.get(), socket_);
    }
  }
  ~Unit() { ::close(socket_); }
  Unit(const Unit&) = delete;
  Unit& operator=(const Unit&) = delete;

  bool connect() {
    connected_ = reached_ && SSL_connect(ssl_.get()) == 1;
    ERR_clear_error();
    return connected_;
  }
  void say(const std::string& message) {
    SSL_write(ssl_.get(), message.data(), static_cast<int>(message.size()));
  }
  /// What it is told; empty where the connection was closed, or nothing came for five seconds.
  std::string hear() {
    std::array<char, 2000> piece{};
    const int size = SSL_read(ssl_.get(), piece.data(), static_cast<int>(piece.size()));
    ERR_clear_error();
    return size > 0 ? std::string(piece.data(), static_cast<std::size_t>(size)) : std::string();
  }
  int socket() const { return socket_; }
  std::uint16_t port() const {
    sockaddr_in own{};
    socklen_t size = sizeof own;
    getsockname(socket_, reinterpret_cast<sockaddr*>(&own), &size);
    return ntohs(own.sin_port);
  }

 private:
  struct Free {
    void operator()(SSL_CTX* one) const { SSL_CTX_free(one); }
    void operator()(SSL* one) const { SSL_free(one); }
  };
  int socket_;
  std::unique_ptr<SSL_CTX, Free> context_;
  std::unique_ptr<SSL, Free> ssl_;
  bool reached_ = false;
  bool connected_ = false;
};

std::string message_of(char filled) {
  return ber::tagged(ber::sequence, ber::tagged(ber::octet_string, std::string(20, filled)));
}

/// The port, with what it told. Every message is answered by itself.
class Office {
 public:
  explicit Office(bool datagrams, std::vector<TlsServer::Guest> guests, const TlsServer::Limits& limits = {})
      : server(network.loop(), std::move(guests),
               {[this](std::size_t guest, TlsServer::Connection from, const std::string& message) {
                  heard.emplace_back(guest, message);
                  server.send(from, message);
                },
                [] {},
                [this](Dropped reason, std::optional<std::size_t>, const std::string& why) {
                  dropped.emplace_back(reason, why);
                }},
               limits) {
    const auto problem = server.open(*resolve(server_host, 0), datagrams, "--tls-port");
    if (problem) throw std::runtime_error(problem->text);
    const std::string name = server.names(datagrams).front();
    port = static_cast<std::uint16_t>(std::stoi(name.substr(name.rfind(':') + 1)));
  }

  /// Serves while units do this in another thread, and a moment longer.
  void serve(const std::function<void()>& units) {
    auto done = std::async(std::launch::async, [&units] {
      // Who connects may be closed at any moment.
      sigset_t pipe;
      sigemptyset(&pipe);
      sigaddset(&pipe, SIGPIPE);
      pthread_sigmask(SIG_BLOCK, &pipe, nullptr);
      units();
    });
    const auto until_done = [&]() -> Task<void> {
      while (done.wait_for(0s) != std::future_status::ready) co_await network.sleep(5ms);
      co_await network.sleep(30ms);
    };
    network.run_each(
        1, [&](std::size_t) { return until_done(); }, 1);
    done.get();
  }
  std::size_t count(Dropped reason) const {
    return static_cast<std::size_t>(
        std::count_if(dropped.begin(), dropped.end(), [&](const auto& one) { return one.first == reason; }));
  }

  UdpNetwork network;
  std::vector<std::pair<std::size_t, std::string>> heard;
  std::vector<std::pair<Dropped, std::string>> dropped;
  TlsServer server;
  std::uint16_t port = 0;
};

TlsServer::Guest guest(bool datagrams, const std::string& host, const std::string& fingerprint = {}) {
  return {octets_of(host), office(datagrams), {host, fingerprint, {}}};
}

}  // namespace

TEST_CASE("a unit connects from its address and is answered on its connection, and a stranger is not") {
  for (const bool datagrams : {false, true}) {
    Office here(datagrams, {{}, guest(datagrams, pole_host)});
    std::string answer;
    bool stranger_connected = true;
    here.serve([&] {
      Unit unit(datagrams, pole(), pole_host, here.port);
      if (!unit.connect()) return;
      unit.say(message_of('a'));
      answer = unit.hear();
      Unit stranger(datagrams, pole(), other_host, here.port);
      const timeval shortly{0, 300000};
      setsockopt(stranger.socket(), SOL_SOCKET, SO_RCVTIMEO, &shortly, sizeof shortly);
      stranger_connected = stranger.connect();
    });
    CHECK(answer == message_of('a'));
    REQUIRE(here.heard.size() == 1);
    CHECK(here.heard.front().first == 1);
    CHECK_FALSE(stranger_connected);
    CHECK(here.count(Dropped::unknown_sender) >= 1);
    CHECK(here.server.connections() == 1);
  }
}

TEST_CASE(
    "units at one address are told apart by their certificates, and where these may be either's by none") {
  for (const bool datagrams : {false, true}) {
    Office here(datagrams, {guest(datagrams, pole_host, pole(0).fingerprint),
                            guest(datagrams, pole_host, pole(1).fingerprint)});
    here.serve([&] {
      for (const int which : {1, 0, 2}) {
        Unit unit(datagrams, pole(which), pole_host, here.port);
        unit.connect();
        unit.say(message_of(static_cast<char>('0' + which)));
        unit.hear();
      }
    });
    REQUIRE(here.heard.size() == 2);
    CHECK(here.heard[0] == std::pair<std::size_t, std::string>(1, message_of('1')));
    CHECK(here.heard[1] == std::pair<std::size_t, std::string>(0, message_of('0')));
    CHECK(here.count(Dropped::wrong_certificate) == 1);

    Office either(datagrams, {guest(datagrams, pole_host), guest(datagrams, pole_host)});
    either.serve([&] {
      Unit unit(datagrams, pole(), pole_host, either.port);
      unit.connect();
      unit.hear();
    });
    REQUIRE(either.count(Dropped::wrong_certificate) == 1);
    CHECK(either.dropped.back().second.find("may be that of several units") != std::string::npos);
  }
}

TEST_CASE("a certificate that is not the unit's is told in words, and one that is known by then lets it in") {
  TlsServer::Guest one = guest(false, pole_host);
  one.expected.known = pole(1).fingerprint;
  Office here(false, {one});
  const auto connect = [&](int which) {
    here.serve([&] {
      Unit unit(false, pole(which), pole_host, here.port);
      unit.connect();
      unit.say(message_of('k'));
      unit.hear();
    });
  };
  connect(0);
  REQUIRE(here.count(Dropped::wrong_certificate) == 1);
  CHECK(here.dropped.back().second.find("its fingerprint is " + pole(0).fingerprint) != std::string::npos);
  CHECK(here.heard.empty());
  here.server.expect(0, pole(0).fingerprint);
  connect(0);
  CHECK(here.heard.size() == 1);
}

TEST_CASE("for a fifth connection of a unit the one goes that was unused for longest") {
  for (const bool datagrams : {false, true}) {
    Office here(datagrams, {guest(datagrams, pole_host)});
    std::vector<std::unique_ptr<Unit>> units;
    std::vector<std::string> answers(5);
    here.serve([&] {
      for (std::size_t i = 0; i < 4; ++i) {
        units.push_back(std::make_unique<Unit>(datagrams, pole(), pole_host, here.port));
        units.back()->connect();
        std::this_thread::sleep_for(5ms);
      }
      units[0]->say(message_of('0'));  // the second is the oldest now
      answers[0] = units[0]->hear();
      std::this_thread::sleep_for(5ms);
      units.push_back(std::make_unique<Unit>(datagrams, pole(), pole_host, here.port));
      units.back()->connect();
      answers[1] = units[1]->hear();  // it was closed
      for (std::size_t i = 2; i < 5; ++i) {
        units[i]->say(message_of('x'));
        answers[i] = units[i]->hear();
      }
    });
    CHECK(answers ==
          std::vector<std::string>{message_of('0'), "", message_of('x'), message_of('x'), message_of('x')});
    CHECK(here.server.open_connections() == 4);
    CHECK(here.server.connections() == 5);
  }
}

TEST_CASE("who shows no certificate ends nobody's connection, however many handshakes he begins") {
  Office here(false, {guest(false, pole_host)});
  std::string answer;
  std::vector<std::unique_ptr<Unit>> silent;
  here.serve([&] {
    Unit unit(false, pole(), pole_host, here.port);
    unit.connect();
    for (int i = 0; i < 8; ++i) silent.push_back(std::make_unique<Unit>(false, pole(), pole_host, here.port));
    unit.say(message_of('s'));
    answer = unit.hear();
    std::this_thread::sleep_for(30ms);
  });
  CHECK(answer == message_of('s'));
  CHECK(here.server.connections() == 1);
  CHECK(here.server.open_connections() == 4);  // the unit's has ended by now, and four handshakes are left
}

TEST_CASE("a handshake that is not ended in time is given up, and what is no handshake at once") {
  TlsServer::Limits limits;
  limits.handshake_within = 50ms;
  Office here(false, {guest(false, pole_host)}, limits);
  std::unique_ptr<Unit> silent;
  here.serve([&] {
    silent = std::make_unique<Unit>(false, pole(), pole_host, here.port);
    std::this_thread::sleep_for(80ms);
    Unit garbage(false, pole(), pole_host, here.port);
    const std::string text(300, 'q');
    ::send(garbage.socket(), text.data(), text.size(), MSG_NOSIGNAL);
    std::this_thread::sleep_for(20ms);
  });
  CHECK(here.count(Dropped::no_handshake) == 1);
  CHECK(here.server.open_connections() == 1);
  here.server.tend();
  CHECK(here.count(Dropped::no_handshake) == 2);
  CHECK(here.server.open_connections() == 0);
}

TEST_CASE("an address has a rate of handshakes and one of datagrams, and another unit is heard beside it") {
  TlsServer::Limits limits;
  limits.handshakes = {3, 0.001};
  limits.datagrams = {50, 0.001};
  Office here(false, {guest(false, pole_host), guest(false, other_host)}, limits);
  here.serve([&] {
    for (int i = 0; i < 6; ++i) Unit(false, pole(), pole_host, here.port).connect();
    Unit other(false, pole(), other_host, here.port);
    other.connect();
    other.say(message_of('o'));
    other.hear();
  });
  CHECK(here.count(Dropped::over_rate) == 3);
  CHECK(here.heard.size() == 1);

  Office street(true, {guest(true, pole_host)}, limits);
  street.serve([&] {
    const UdpSocket loud(pole_host);
    const sockaddr_in there = UdpSocket::address_of(server_host, street.port);
    const std::string text(200, '\x16');
    for (int i = 0; i < 200; ++i) {
      ::sendto(loud.descriptor(), text.data(), text.size(), 0, reinterpret_cast<const sockaddr*>(&there),
               sizeof there);
    }
  });
  CHECK(street.count(Dropped::over_rate) >= 100);
  CHECK(street.count(Dropped::no_handshake) <= 50);
  CHECK(street.server.open_connections() == 0);
}

TEST_CASE("a unit that starts over at the same port of DTLS takes its own place, and a forger does not") {
  Office here(true, {guest(true, pole_host)});
  std::string first;
  std::string still;
  std::string anew;
  std::array<char, 200> asked{};
  here.serve([&] {
    std::uint16_t port = 0;
    std::string hello;
    {
      Unit before(true, pole(), pole_host, here.port);
      before.connect();
      before.say(message_of('1'));
      first = before.hear();
      port = before.port();
      // A ClientHello from there without a cookie, as anyone can send it (RFC 6347 4.2.8).
      hello = std::string("\x16\xfe\xfd\0\0\0\0\0\0\0\0\0\x36", 13) +
              std::string("\x01\0\0\x2a\0\0\0\0\0\0\0\x2a", 12) + "\xfe\xfd" + std::string(32, 'r') +
              std::string("\0\0\0\2\xc0\x2f\1\0", 8);
      ::send(before.socket(), hello.data(), hello.size(), 0);
      ::recv(before.socket(), asked.data(), asked.size(), 0);
      before.say(message_of('2'));
      still = before.hear();
    }
    Unit after(true, pole(), pole_host, here.port, port);
    after.connect();
    after.say(message_of('3'));
    anew = after.hear();
  });
  CHECK(asked[13] == 3);  // a HelloVerifyRequest: it was asked for a cookie
  CHECK(first == message_of('1'));
  CHECK(still == message_of('2'));
  CHECK(anew == message_of('3'));
  CHECK(here.server.open_connections() == 1);
  CHECK(here.server.connections() == 2);
}

TEST_CASE("what a unit sends on a connection of DTLS from before we started anew is counted and told") {
  const std::string record = std::string("\x17\xfe\xfd\0\1\0\0\0\0\0\1\0\x20", 13) + std::string(32, 'e');
  Office after(true, {guest(true, pole_host)});
  after.serve([&] {
    const sockaddr_in there = UdpSocket::address_of(server_host, after.port);
    const UdpSocket old(pole_host);
    ::sendto(old.descriptor(), record.data(), record.size(), 0, reinterpret_cast<const sockaddr*>(&there),
             sizeof there);
  });
  REQUIRE(after.count(Dropped::no_handshake) == 1);
  CHECK(after.dropped.back().second.find("when it connects anew") != std::string::npos);
}
