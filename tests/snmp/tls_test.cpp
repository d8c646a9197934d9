#include <sys/stat.h>

#include <fstream>

#include "snmp/conversation.h"
#include "support/certificates.h"
#include "support/tls_server.h"

using namespace vergeset;
using namespace vergeset::snmp;
using namespace vergeset::tests;

// SNMP over TLS and DTLS (RFC 6353) against net-snmp's own agent. What is wrong is really so: certificates
// are made for each test.
//
// Two things about net-snmp 5.9.3, found here:
// - Over TCP it speaks TLS 1.0 and no other (it calls SSL_CTX_set_max_proto_version(TLS1_VERSION)), which RFC
// 8996
//   forbids and OpenSSL 3 has no signature for but at its security level 0. With that level it is spoken to
//   as it is, and through a front of newer versions.
// - Over DTLS, once a handshake has failed, it sends to nobody any more (ENETUNREACH), to openssl s_client
// neither:
//   so each test of a failure has an agent of its own.

namespace {

const std::string host = "127.0.7.3";

const MadeCertificate& larkmoor() {
  static const MadeCertificate made = make_certificate({"Larkmoor CA", nullptr, true});
  return made;
}
const MadeCertificate& other_authority() {
  static const MadeCertificate made = make_certificate({"Other CA", nullptr, true});
  return made;
}
const MadeCertificate& unit() {
  static const MadeCertificate made = make_certificate({"LK-104", &larkmoor()});
  return made;
}
const MadeCertificate& manager() {
  static const MadeCertificate made = make_certificate({"vergeset", &larkmoor()});
  return made;
}

void put(const std::filesystem::path& path, const std::string& text) {
  std::filesystem::create_directories(path.parent_path());
  std::ofstream(path) << text;
  ::chmod(path.c_str(), 0600);
}

/// The configuration that lets OpenSSL 3 speak TLS 1.0.
const TemporaryFolder& low_level() {
  static const TemporaryFolder folder;
  static const bool written = [] {
    put(folder.path() / "openssl.cnf",
        "openssl_conf = all\n[all]\nssl_conf = ssl\n[ssl]\nsystem_default = low\n[low]\n"
        "CipherString = DEFAULT@SECLEVEL=0\nMinProtocol = TLSv1\n");
    return true;
  }();
  static_cast<void>(written);
  return folder;
}

/// As snmpd.conf(5) and snmp.conf(5) want certificates: by fingerprint, and in folders of their own.
struct SecureAgent {
  std::uint16_t port;
  Snmpd agent;

  explicit SecureAgent(const MadeCertificate& shown)
      : port(free_port(host)),
        agent(
            "[snmp] localCert " + digits(shown) + "\n[snmp] trustCert " + digits(larkmoor()) +
                "\ncertSecName 9 " + digits(manager()) + " --sn keeper\nrwuser -s tsm keeper\n",
            {}, host,
            {{"dtlsudp:" + host + ":" + std::to_string(port), "tlstcp:" + host + ":" + std::to_string(port)},
             {"OPENSSL_CONF=" + low_level().path().string() + "/openssl.cnf"},
             [&shown](const std::filesystem::path& folder) {
               put(folder / "tls/certs/unit.crt", shown.certificate);
               put(folder / "tls/private/unit.key", shown.key);
               put(folder / "tls/certs/manager.crt", manager().certificate);
               put(folder / "tls/ca-certs/ca.crt", larkmoor().certificate);
             }}) {}

  static std::string digits(const MadeCertificate& one) { return one.fingerprint.substr(7); }
};

const SecureAgent& common_secure_agent() {
  static const SecureAgent agent(unit());
  return agent;
}

struct Speaker {
  bool datagrams = true;
  const MadeCertificate* ours = &manager();
  const MadeCertificate* trust = &larkmoor();
  std::string fingerprint{};
  bool old_versions = false;
};

PrincipalPtr made(const Speaker& speaker) {
  CertificateText text;
  text.datagrams = speaker.datagrams;
  text.certificate = speaker.ours->certificate;
  text.key = Secret::copy_of(speaker.ours->key);
  if (speaker.trust != nullptr) text.trust = speaker.trust->certificate;
  text.fingerprint = speaker.fingerprint;
  text.old_versions = speaker.old_versions;
  const auto principal = certificate_principal(text);
  if (!principal) throw std::runtime_error(principal.problem());
  return *principal;
}

snmp::Endpoint there(std::uint16_t port, const std::string& fingerprint = {}) {
  snmp::Endpoint endpoint = at(port, 400, 1, host);
  endpoint.fingerprint = fingerprint;
  return endpoint;
}

/// Why no link comes about.
Error refusal(snmp::Endpoint endpoint, const Speaker& speaker) {
  UdpNetwork network;
  const auto result = finish(network, network.open(std::move(endpoint), made(speaker)));
  return result ? Error{Failure::local, 0, 0, "there is a link"} : result.error;
}

bool says(const std::string& text, const std::string& words) {
  UNSCOPED_INFO(text);
  return text.find(words) != std::string::npos;
}

void reads_and_writes(snmp::Endpoint endpoint, const Speaker& speaker) {
  UdpNetwork network;
  const auto link = opened(network, std::move(endpoint), made(speaker));
  CHECK(link->engine().id.size() >= 5);  // RFC 3411, SnmpEngineID
  CHECK(link->engine().boots > 0);
  static int number = 0;
  const std::string mark = "over TLS " + std::to_string(++number);
  CHECK(outcome(finish(network, link->set(text(sys_contact, mark)))) == "answered");
  CHECK(octets_of(finish(network, link->get({sys_contact}))) == mark);
}

}  // namespace

TEST_CASE("over DTLS a unit whose certificate is trusted is read and written") {
  reads_and_writes(there(common_secure_agent().port), {});
}

TEST_CASE("over DTLS a unit whose fingerprint is stated is read and written") {
  const std::uint16_t port = common_secure_agent().port;
  reads_and_writes(there(port), {true, &manager(), nullptr, unit().fingerprint});
  // One that the unit states goes before what the credential says.
  reads_and_writes(there(port, unit().fingerprint),
                   {true, &manager(), &other_authority(), larkmoor().fingerprint});
}

TEST_CASE("requests over DTLS travel side by side, and large answers arrive") {
  UdpNetwork network;
  const auto link = opened(network, there(common_secure_agent().port), made({}));
  std::vector<smi::Oid> many;
  for (int i = 0; i < 40; ++i) many.push_back(sys_descr);
  int answered = 0;
  const auto one = [&]() -> snmp::Task<void> {
    const Answer answer = co_await link->get(many);
    if (answer && answer.varbinds().size() == 40) ++answered;
  };
  std::vector<snmp::Task<void>> tasks;
  for (int i = 0; i < 10; ++i) tasks.push_back(one());
  network.run(std::move(tasks), 10);
  CHECK(answered == 10);
}

TEST_CASE("over TCP a unit is read and written by TLS 1.0 where that is allowed") {
  const std::uint16_t port = common_secure_agent().port;
  reads_and_writes(there(port), {false, &manager(), &larkmoor(), {}, true});
  const Error error = refusal(there(port), {false, &manager(), &larkmoor(), {}, false});
  CHECK(error.failure == Failure::bad_answer);
  CHECK(says(error.text, "TLS"));
}

TEST_CASE("over TCP a unit is read and written by TLS 1.2 and 1.3") {
  for (const int version : {TLS1_2_VERSION, TLS1_3_VERSION}) {
    const TlsFront front({&unit(), &larkmoor(), &manager(), common_secure_agent().port, version}, host);
    reads_and_writes(there(front.port()), {false, &manager(), &larkmoor(), {}});
    reads_and_writes(there(front.port()), {false, &manager(), nullptr, unit().fingerprint});
  }
}

TEST_CASE("messages over TCP are told apart however they arrive") {
  const TlsFront front({&unit(), &larkmoor(), &manager(), common_secure_agent().port}, host);
  UdpNetwork network;
  const auto link = opened(network, there(front.port()), made({false, &manager(), &larkmoor(), {}}));
  std::vector<smi::Oid> many;
  for (int i = 0; i < 200; ++i) many.push_back(sys_descr);
  int answered = 0;
  const auto one = [&]() -> snmp::Task<void> {
    const Answer answer = co_await link->get(many);
    if (answer && answer.varbinds().size() == 200) ++answered;
  };
  std::vector<snmp::Task<void>> tasks;
  for (int i = 0; i < 8; ++i) tasks.push_back(one());
  network.run(std::move(tasks), 8);
  CHECK(answered == 8);
}

TEST_CASE("a unit that has started over is connected to over TCP again") {
  const TlsFront::Wish wish{&unit(), &larkmoor(), &manager(), common_secure_agent().port};
  auto front = std::make_unique<TlsFront>(wish, host);
  UdpNetwork network;
  const auto link = opened(network, there(front->port()), made({false, &manager(), &larkmoor(), {}}));
  const std::uint16_t port = front->port();
  CHECK(outcome(finish(network, link->get({sys_name}))) == "answered");
  front.reset();
  const Answer gone = finish(network, link->get({sys_name}));
  REQUIRE_FALSE(gone);
  CHECK(gone.error().failure == Failure::unreachable);
  front = std::make_unique<TlsFront>(wish, host, port);
  CHECK(outcome(finish(network, link->get({sys_name}))) == "answered");
}

TEST_CASE("over DTLS the certificate that a unit shows is told, and the one that it is known by lets it in") {
  UdpNetwork network;
  snmp::Endpoint endpoint = there(common_secure_agent().port);
  endpoint.known_certificate = unit().fingerprint;
  const auto link = opened(network, endpoint, made({}));
  CHECK(link->certificate() == unit().fingerprint);  // as OpenSSL's x509 command prints it
}

TEST_CASE("a unit that shows another certificate than it is known by is a stranger, whoever signed it") {
  const SecureAgent agent(unit());
  snmp::Endpoint endpoint = there(agent.port);
  endpoint.known_certificate = manager().fingerprint;
  const Error error = refusal(endpoint, {});
  CHECK(error.failure == Failure::other_certificate);
  CHECK(error.certificate == unit().fingerprint);
}

TEST_CASE("a fingerprint that is stated for a unit goes before the certificate that it is known by") {
  snmp::Endpoint endpoint = there(common_secure_agent().port, unit().fingerprint);
  endpoint.known_certificate = manager().fingerprint;
  reads_and_writes(endpoint, {});
}

TEST_CASE(
    "over DTLS a unit of another engine than is expected is a stranger, and only its engine id is asked "
    "for") {
  UdpNetwork network;
  snmp::Endpoint endpoint = there(common_secure_agent().port);
  const std::string real = opened(network, endpoint, made({}))->engine().id;
  endpoint.only_engine = "\x80\x00\x1f\x88\x04 gone";
  const Error error = refusal(endpoint, {});
  CHECK(error.failure == Failure::wrong_engine);
  CHECK(error.engine == real);
  endpoint.only_engine = real;
  reads_and_writes(endpoint, {});
}

TEST_CASE(
    "a unit whose own stated fingerprint is another is a stranger, a credential's a wrong certificate") {
  Speaker by_credential;
  by_credential.fingerprint = manager().fingerprint;
  for (const bool own : {true, false}) {
    const SecureAgent secure(unit());
    const Error error = own ? refusal(there(secure.port, manager().fingerprint), {})
                            : refusal(there(secure.port), by_credential);
    CHECK(error.failure == (own ? Failure::other_certificate : Failure::wrong_certificate));
    CHECK(error.certificate == unit().fingerprint);
    CHECK(says(error.text, unit().fingerprint));
    CHECK(says(error.text, "not " + manager().fingerprint));
  }
}

TEST_CASE("a unit whose certificate is signed by nobody who is trusted is a wrong certificate") {
  const SecureAgent secure(unit());
  const Error error = refusal(there(secure.port), {true, &manager(), &other_authority(), {}});
  CHECK(error.failure == Failure::wrong_certificate);
  CHECK(says(error.text, "signed by nobody whom trust: names"));
  CHECK(says(error.text, "fingerprint: " + unit().fingerprint));
}

TEST_CASE("a certificate of another host is a wrong one, unless its fingerprint is stated") {
  const MadeCertificate elsewhere = make_certificate({"LK-105", &larkmoor(), false, -1, 30, "IP:127.0.7.99"});
  const SecureAgent stated(elsewhere);
  reads_and_writes(there(stated.port, elsewhere.fingerprint), {});
  const Error error = refusal(there(stated.port), {});
  CHECK(error.failure == Failure::wrong_certificate);
  CHECK(says(error.text, "another host than " + host));

  const MadeCertificate here = make_certificate({"LK-106", &larkmoor(), false, -1, 30, "IP:" + host});
  const SecureAgent right(here);
  reads_and_writes(there(right.port), {});
}

TEST_CASE("a unit's certificate that is out of date is told as such, trusted or stated") {
  for (const bool early : {false, true}) {
    const MadeCertificate past =
        make_certificate({"LK-107", &larkmoor(), false, early ? 10 : -20, early ? 20 : -10});
    for (const std::string& fingerprint : {std::string(), past.fingerprint}) {
      const SecureAgent secure(past);
      const Error error = refusal(there(secure.port, fingerprint), {});
      CHECK(error.failure == Failure::expired_certificate);
      CHECK(says(error.text, "valid from "));
    }
  }
}

TEST_CASE("a unit that does not know our certificate is told as such") {
  const MadeCertificate stranger = make_certificate({"stranger", &other_authority()});
  const SecureAgent secure(unit());
  const Error by_datagrams = refusal(there(secure.port), {true, &stranger, &larkmoor(), {}});
  CHECK(by_datagrams.failure == Failure::unknown_certificate);
  CHECK(says(by_datagrams.text, "fell silent when it was shown our certificate"));
  for (const int version : {TLS1_2_VERSION, TLS1_3_VERSION}) {
    const TlsFront front({&unit(), &larkmoor(), &manager(), secure.port, version}, host);
    const Error error = refusal(there(front.port()), {false, &stranger, &larkmoor(), {}});
    CHECK(error.failure == Failure::unknown_certificate);
    CHECK(says(error.text, "it does not know our certificate"));
  }
}

TEST_CASE("a unit that trusts our certificate and has no user for it is told as such") {
  const MadeCertificate nobody = make_certificate({"nobody", &larkmoor()});
  for (const bool datagrams : {true, false}) {
    const SecureAgent secure(unit());
    const Error error = refusal(there(secure.port), {datagrams, &nobody, &larkmoor(), {}, !datagrams});
    CHECK(error.failure == Failure::unknown_certificate);
    CHECK(says(error.text, "knows no user for it"));
  }
}

TEST_CASE("a unit that holds our certificate for expired is told as such") {
  for (const int version : {TLS1_2_VERSION, TLS1_3_VERSION}) {
    constexpr long a_year = 365L * 24 * 3600;  // that its clock is ahead
    INFO(version);
    const TlsFront front({&unit(), &larkmoor(), &manager(), 1, version, a_year}, host);
    const Error error = refusal(there(front.port()), {false, &manager(), &larkmoor(), {}});
    CHECK(error.failure == Failure::expired_certificate);
    CHECK(says(error.text, "holds our certificate for expired"));
  }
}

TEST_CASE(
    "our certificate out of date, of another key or no certificate is a problem before anything is sent") {
  const auto problem = [](const std::string& certificate, const std::string& key, const std::string& trust) {
    CertificateText text;
    text.certificate = certificate;
    text.key = Secret::copy_of(key);
    text.trust = trust;
    const auto principal = certificate_principal(text);
    return principal ? std::string("none") : principal.problem();
  };
  const MadeCertificate expired = make_certificate({"old", &larkmoor(), false, -20, -10});
  const MadeCertificate early = make_certificate({"new", &larkmoor(), false, 10, 20});
  CHECK(says(problem(expired.certificate, expired.key, {}), "our certificate expired on 20"));
  CHECK(says(problem(early.certificate, early.key, {}), "our certificate is valid from 20"));
  CHECK(says(problem(manager().certificate, unit().key, {}), "not that of our certificate"));
  CHECK(says(problem("none", manager().key, {}), "our certificate is no certificate"));
  CHECK(says(problem(manager().certificate, "none", {}), "no private key"));
  CHECK(says(problem(manager().certificate, manager().key, "none"), "what is trusted is no certificate"));
  CHECK(problem(manager().certificate, manager().key, larkmoor().certificate) == "none");
}

TEST_CASE("nobody who answers a handshake is no answer, a closed port is told") {
  const UdpSocket silent("127.0.7.4");
  snmp::Endpoint endpoint = at(silent.port(), 60, 1, "127.0.7.4");
  const Error unheard = refusal(endpoint, {});
  CHECK(unheard.failure == Failure::no_answer);
  endpoint.port = free_port("127.0.7.4");
  CHECK(refusal(endpoint, {}).failure == Failure::unreachable);
  CHECK(refusal(endpoint, {false, &manager(), &larkmoor(), {}}).failure == Failure::unreachable);
}
