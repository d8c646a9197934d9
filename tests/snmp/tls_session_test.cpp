#include "snmp/tls_session.h"

#include <openssl/x509v3.h>

#include <random>
#include <thread>

#include "catch.h"
#include "snmp/ber.h"
#include "snmp/certified.h"
#include "support/certificates.h"
#include "support/tls_client.h"

using namespace vergeset;
using namespace vergeset::snmp;
using namespace vergeset::tests;

// The side that units connect to, against OpenSSL's own client, without a socket between.

namespace {

using State = TlsSession::State;

const MadeCertificate& root() {
  static const MadeCertificate made = make_certificate({"Larkmoor CA", nullptr, true});
  return made;
}
const MadeCertificate& desk() {
  static const MadeCertificate made = make_certificate({"desk", &root()});
  return made;
}
const MadeCertificate& pole() {
  static const MadeCertificate made = make_certificate({"LK-104", &root()});
  return made;
}

std::shared_ptr<const Certified> ours(bool datagrams) {
  CertificateText text;
  text.datagrams = datagrams;
  text.certificate = desk().certificate;
  text.key = Secret::copy_of(desk().key);
  text.trust = root().certificate;
  return *make_certified(text);
}

bool shows_the_pole(X509_STORE_CTX& store) {
  return fingerprint_of(*X509_STORE_CTX_get0_cert(&store)) == pole().fingerprint;
}

/// A message as far as a stream can tell: a SEQUENCE (X.690 8.9).
std::string message_of(std::size_t octets, char filled = 'x') {
  return ber::tagged(ber::sequence, ber::tagged(ber::octet_string, std::string(octets, filled)));
}

/// Both ends of one connection.
class Street {
 public:
  explicit Street(const TlsClient::Wish& wish, TlsSession::Judge judge = shows_the_pole)
      : certified_(ours(wish.datagrams)),
        context_(server_context(*certified_)),
        judge_(std::move(judge)),
        unit(wish) {
    if (!wish.datagrams) session = TlsSession::over_stream(*context_, judge_);
  }

  /// Until neither has anything to say.
  void talk(std::vector<std::string> said) {
    for (int turn = 0; turn < 20 && !said.empty(); ++turn) said = unit.say(tell(said));
  }
  void shake_hands() { talk(unit.say()); }

  /// What the session answers to this.
  std::vector<std::string> tell(const std::vector<std::string>& said, const std::string& peer = "10.77.1.4") {
    std::vector<std::string> answers;
    for (const std::string& piece : said) {
      std::vector<std::string> some;
      if (session) {
        session->put(piece);
        some = session->take_out();
      } else {
        auto greeted = TlsSession::greet(*context_, piece, peer, judge_);
        session = std::move(greeted.session);
        some = greeted.answer;
      }
      answers.insert(answers.end(), some.begin(), some.end());
    }
    return answers;
  }

 private:
  std::shared_ptr<const Certified> certified_;
  Owned<SSL_CTX> context_;
  TlsSession::Judge judge_;

 public:
  TlsClient unit;
  std::unique_ptr<TlsSession> session;
};

}  // namespace

TEST_CASE("a unit connects by TLS 1.2 and 1.3 and by DTLS 1.2, and messages go both ways") {
  struct Case {
    bool datagrams;
    int version;
  };
  for (const Case& one :
       {Case{false, TLS1_2_VERSION}, Case{false, TLS1_3_VERSION}, Case{true, DTLS1_2_VERSION}}) {
    INFO(one.version);
    Street street({one.datagrams, &pole(), &root(), one.version});
    street.shake_hands();
    REQUIRE(street.session);
    REQUIRE(street.session->state() == State::connected);
    CHECK(street.unit.connected());
    street.talk(street.unit.write(message_of(300)));
    CHECK(street.session->take_messages() == std::vector<std::string>{message_of(300)});
    street.session->send(message_of(200, 'y'));
    street.unit.say(street.session->take_out());
    CHECK(street.unit.heard() == message_of(200, 'y'));
    street.tell(street.unit.end());
    CHECK(street.session->state() == State::closed);
    CHECK(street.session->was_connected());
  }
}

TEST_CASE("versions that RFC 8996 forbids are not spoken") {
  for (const bool datagrams : {false, true}) {
    Street street({datagrams, &pole(), nullptr, datagrams ? DTLS1_VERSION : TLS1_1_VERSION});
    SSL_set_security_level(street.unit.ssl(), 0);
    street.shake_hands();
    CHECK_FALSE(street.unit.connected());
    if (!datagrams) CHECK(street.session->state() == State::failed);
  }
}

TEST_CASE("messages over TCP are told apart wherever the stream is cut") {
  Street street({false, &pole(), &root()});
  street.shake_hands();
  std::string stream;
  std::vector<std::string> sent;
  for (const std::size_t octets : {0U, 1U, 120U, 130U, 260U, 5000U, 16000U})
    sent.push_back(message_of(octets));
  for (const std::string& message : sent) stream += message;
  std::mt19937 random(7);
  std::vector<std::string> came;
  while (!stream.empty()) {
    const std::size_t size = std::min<std::size_t>(stream.size(), 1 + random() % 700);
    for (const std::string& record : street.unit.write(stream.substr(0, size))) {
      const std::size_t cut = random() % record.size();  // a segment of TCP may end anywhere
      street.tell({record.substr(0, cut), record.substr(cut)});
    }
    for (std::string& message : street.session->take_messages()) came.push_back(std::move(message));
    stream.erase(0, size);
  }
  CHECK(came == sent);
}

TEST_CASE("what is no message, or a longer one than is taken, ends a connection") {
  for (const std::string& what :
       {std::string("GET / HTTP/1.1\r\n"), message_of(16384), std::string("\x30\x80zz")}) {
    Street street({false, &pole(), &root()});
    street.shake_hands();
    street.tell(street.unit.write(what));
    CHECK(street.session->state() == State::malformed);
    CHECK(street.session->take_messages().empty());
    street.session->put("more");  // and nothing more is looked at
    CHECK(street.session->state() == State::malformed);
  }
}

TEST_CASE("of DTLS nothing is kept before the address has answered a cookie, and no other's cookie will do") {
  // RFC 6347 4.2.1
  Street street({true, &pole(), &root()});
  const auto hello = street.unit.say();
  REQUIRE(hello.size() == 1);
  CHECK(TlsSession::begins(hello.front()));
  const auto cookie = street.tell(hello);
  CHECK_FALSE(street.session);
  REQUIRE(cookie.size() == 1);
  CHECK(cookie.front().size() < hello.front().size());  // nobody is flooded by us
  const auto answer = street.unit.say(cookie);
  REQUIRE(answer.size() == 1);
  street.tell(answer, "10.77.1.5");
  CHECK_FALSE(street.session);
  std::string turned = answer.front();
  turned[61] =
      static_cast<char>(turned[61] ^ 1);  // in the cookie: after 13 octets of head, 12, 2, 32, 1 and 1
  street.tell({turned});
  CHECK_FALSE(street.session);
  street.talk(answer);
  REQUIRE(street.session);
  CHECK(street.session->state() == State::connected);
}

TEST_CASE("datagrams of DTLS that are lost come again") {
  Street street({true, &pole(), &root()});
  const auto answer = street.unit.say(street.tell(street.unit.say()));
  const auto lost = street.tell(answer);
  REQUIRE_FALSE(lost.empty());
  REQUIRE(street.session);
  street.session->again();
  CHECK(street.session->take_out().empty());  // not in time yet: RFC 6347 4.2.4.1 says a second
  std::this_thread::sleep_for(std::chrono::milliseconds(1050));
  street.session->again();
  street.talk(street.unit.say(street.session->take_out()));
  CHECK(street.session->state() == State::connected);
}

TEST_CASE("who shows no certificate or another is refused, and nothing of theirs is read") {
  for (const bool datagrams : {false, true}) {
    for (const MadeCertificate* shown : {static_cast<const MadeCertificate*>(nullptr), &desk()}) {
      Street street({datagrams, shown, nullptr});
      street.shake_hands();
      REQUIRE(street.session);
      CHECK(street.session->state() == State::refused);
      street.tell(street.unit.write(message_of(10)));
      CHECK(street.session->take_messages().empty());
    }
  }
}

TEST_CASE("a unit that does not take our certificate is told in words") {
  const MadeCertificate other = make_certificate({"Other CA", nullptr, true});
  for (const bool datagrams : {false, true}) {
    Street street({datagrams, &pole(), &other});
    street.shake_hands();
    REQUIRE(street.session);
    CHECK(street.session->state() == State::failed);
    INFO(street.session->why());
    CHECK(street.session->why().find("does not know our certificate") != std::string::npos);
  }
}

TEST_CASE("nothing is resumed: every connection shows its certificate") {
  for (const int version : {TLS1_2_VERSION, TLS1_3_VERSION}) {
    int looked_at = 0;
    const auto judge = [&looked_at](X509_STORE_CTX& store) {
      return ++looked_at > 0 && shows_the_pole(store);
    };
    Street first({false, &pole(), &root(), version}, judge);
    first.shake_hands();
    first.talk(first.unit.write(message_of(1)));
    SSL_SESSION* const kept = SSL_get1_session(first.unit.ssl());
    Street second({false, &pole(), &root(), version}, judge);
    SSL_set_session(second.unit.ssl(), kept);
    SSL_SESSION_free(kept);
    second.shake_hands();
    CHECK(second.session->state() == State::connected);
    CHECK(SSL_session_reused(second.unit.ssl()) == 0);
    CHECK(looked_at == 2);
  }
}

TEST_CASE("a handshake that is turned at any octet connects nobody else and hurts nothing") {
  std::mt19937 random(11);
  for (int run = 0; run < 60; ++run) {
    const bool datagrams = run % 2 == 0;
    Street street({datagrams, &pole(), &root()});
    const auto turn = [&](std::vector<std::string> pieces) {
      for (std::string& piece : pieces) {
        if (piece.empty() || random() % 2 == 0) continue;
        if (random() % 4 == 0) {
          piece.resize(random() % piece.size());
        } else {
          piece[random() % piece.size()] = static_cast<char>(random());
        }
      }
      return pieces;
    };
    std::vector<std::string> said = street.unit.say();
    for (int i = 0; i < 6 && !said.empty(); ++i) said = street.unit.say(street.tell(turn(said)));
    const bool connected = street.session && street.session->state() == State::connected;
    if (connected) CHECK(street.session->take_messages().empty());
  }
  Street street({false, &pole(), &root()});
  street.session->put(std::string(5000, 'z'));
  CHECK(street.session->state() == State::failed);
  CHECK(street.session->why().find("its handshake failed") != std::string::npos);
}
