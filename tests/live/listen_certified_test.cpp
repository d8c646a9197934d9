#include <sys/stat.h>

#include <fstream>
#include <map>
#include <nlohmann/json.hpp>

#include "catch.h"
#include "live/listening.h"
#include "sim/served_fleet.h"
#include "support/certificates.h"

/// `vergeset listen` as built, with net-snmp's snmptrap and snmpinform as units that are spoken to by
/// certificate (RFC 6353, RFC 5591).
namespace {

using served::Ran;
using vergeset::test::FleetFolder;
using vergeset::tests::holds;
using vergeset::tests::Listening;
using vergeset::tests::MadeCertificate;
using vergeset::tests::make_certificate;
using vergeset::tests::text_of;

const std::string dtls_unit = "127.122.2.3";
/// net-snmp 5.9.3 takes no address of ours for TLS over TCP: it comes from where the system sends it from.
const std::string tls_unit = "127.0.0.1";

const MadeCertificate& authority() {
  static const MadeCertificate made = make_certificate({"Larkmoor CA", nullptr, true});
  return made;
}
const MadeCertificate& office() {
  static const MadeCertificate made = make_certificate({"office", &authority()});
  return made;
}
const MadeCertificate& unit() {
  static const MadeCertificate made = make_certificate({"LK-301", &authority()});
  return made;
}
const MadeCertificate& stranger() {
  static const MadeCertificate made = make_certificate({"stranger"});
  return made;
}

void put(const std::filesystem::path& path, const std::string& text) {
  std::filesystem::create_directories(path.parent_path());
  std::ofstream(path) << text;
  ::chmod(path.c_str(), 0600);
}

std::string digits(const MadeCertificate& one) {
  return one.fingerprint.substr(7);
}

/// LK-301 over DTLS, LK-302 over TLS by TCP, which net-snmp 5.9.3 speaks in version 1.0 alone, and LK-303 by
/// a user.
class Avenue {
 public:
  Avenue()
      : folder_({{"fleet.yaml",
                  "fleet: Larkmoor avenue\ncredentials:\n"
                  "  road: {transport: dtls, certificate: tls/office.crt, key: {file: "
                  "tls/office.key}, trust: tls/ca.crt}\n"
                  "  old: {transport: tls, certificate: tls/office.crt, key: {file: "
                  "tls/office.key}, trust: tls/ca.crt, oldest-tls: \"1.0\", insecure: units of "
                  "2012}\n"
                  "  user: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: "
                  "{env: SERVED_PRIV}}\ncredential: road\n"},
                 {"units.yaml",
                  "units:\n  LK-301: {address: " + dtls_unit +
                      ", model: ntcip1218-v01}\n  LK-302: "
                      "{address: " +
                      tls_unit +
                      ", model: rsu-4.1, credential: old}\n"
                      "  LK-303: {address: 127.122.2.5, model: rsu-4.1, credential: user, engine-id: "
                      "\"80001f88044c4b2d333033\"}\n"}}) {
    ::setenv("SERVED_AUTH", "of oak and ash", 1);
    ::setenv("SERVED_PRIV", "of elm and yew", 1);
    const std::filesystem::path at = folder_.path();
    put(at / "tls/office.crt", office().certificate);
    put(at / "tls/office.key", office().key);
    put(at / "tls/ca.crt", authority().certificate);
    for (const auto* const one : {&unit(), &stranger()}) {
      const std::string name = one == &unit() ? "unit" : "stranger";
      put(at / ("agent/tls/certs/" + name + ".crt"), one->certificate);
      put(at / ("agent/tls/private/" + name + ".key"), one->key);
    }
    put(at / "agent/tls/certs/office.crt", office().certificate);
    put(at / "agent/tls/ca-certs/ca.crt", authority().certificate);
    put(at / "agent/low.cnf",
        "openssl_conf = all\n[all]\nssl_conf = ssl\n[ssl]\nsystem_default = low\n[low]\n"
        "CipherString = DEFAULT@SECLEVEL=0\nMinProtocol = TLSv1\n");
  }
  std::string fleet() const { return folder_.path(); }
  std::string log(const std::string& name) const {
    return text_of(folder_.path() + "/records/units/" + name + ".log");
  }
  /// snmptrap or snmpinform, which shows this certificate.
  Ran agent(const std::string& program, const std::string& to, const std::string& what,
            const MadeCertificate& shown = unit()) const {
    const bool datagrams = to.rfind("dtls", 0) == 0;
    const std::string at = folder_.path() + "/agent";
    return served::run("env MIBS= SNMPCONFPATH='" + at + "' SNMP_PERSISTENT_DIR='" + at +
                       "/kept' OPENSSL_CONF='" + at + "/low.cnf' " + program +
                       (datagrams ? " --clientaddr=" + dtls_unit : "") +
                       " -v3 --defSecurityModel=tsm -T our_identity=" + digits(shown) +
                       " -T their_identity=" + digits(office()) + " -r 0 -t 3 " + to + what);
  }

 private:
  FleetFolder folder_;
};

const std::string cold_start = " '' 1.3.6.1.6.3.1.1.5.1";                           // RFC 3418
const std::string link_down = " '' 1.3.6.1.6.3.1.1.5.3 1.3.6.1.2.1.2.2.1.1.3 i 3";  // ifIndex, RFC 2863

nlohmann::json last_line(std::string out) {
  out.erase(out.find_last_not_of('\n') + 1);
  return nlohmann::json::parse(out.substr(out.rfind('\n') + 1));
}

}  // namespace

TEST_CASE(
    "traps and informs over DTLS and over TLS are written to the unit's log, and informs acknowledged") {
  const Avenue avenue;
  Listening listening(avenue.fleet());
  CHECK(holds(listening.out(),
              listening.tls_at() + " (TLS) and " + listening.tls_at() + " (DTLS) for 3 units"));
  CHECK_FALSE(holds(listening.out(), "note:"));
  const std::map<std::string, std::string> ways{{"LK-301", "dtlsudp:" + listening.tls_at()},
                                                {"LK-302", "tlstcp:" + listening.tls_at()}};
  for (const auto& [name, way] : ways) {
    INFO(name);
    const Ran sent = avenue.agent("snmptrap -e 0x80001f88044c4b2d333031", way, cold_start);
    INFO(sent.text);
    CHECK(sent.status == 0);
    const Ran informed = avenue.agent("snmpinform", way, link_down);  // waits for the acknowledgement
    INFO(informed.text);
    CHECK(informed.status == 0);
    CHECK(Listening::within([&, log = name] { return holds(avenue.log(log), "coldStart"); }));
    CHECK(holds(avenue.log(name), "linkDown"));
    CHECK(holds(avenue.log(name), "(inform)"));
    CHECK(holds(avenue.log(name), "ifIndex.3 = 3"));
  }
  CHECK(listening.stop() == 0);
  INFO(listening.out());
  CHECK(holds(listening.out(), "4 of 2 units"));
  CHECK_FALSE(holds(listening.out(), "dropped"));
}

TEST_CASE("who shows another certificate than the unit's is told, counted and not written") {
  const Avenue avenue;
  Listening listening(avenue.fleet(), "--json");
  const std::string over_dtls = "dtlsudp:" + listening.tls_at();
  avenue.agent("snmptrap -e 0x80001f88044c4b2d333031", over_dtls, cold_start, stranger());
  avenue.agent("snmptrap -e 0x80001f88044c4b2d333031", "tlstcp:" + listening.tls_at(), cold_start,
               stranger());
  REQUIRE(listening.says("\"refused\""));
  // From no unit's address, and a TLS client of another kind: OpenSSL's own, which shows none.
  served::run("echo | timeout 1 openssl s_client -dtls1_2 -connect " + listening.tls_at());
  served::run("echo | timeout 5 openssl s_client -bind 127.0.0.2:0 -connect " + listening.tls_at());
  const Ran none_shown =
      served::run("echo | timeout 5 openssl s_client -bind 127.0.0.1:0 -connect " + listening.tls_at());
  CHECK(none_shown.text.find("LK-30") == std::string::npos);
  CHECK(avenue.agent("snmpinform", over_dtls, link_down).status == 0);
  CHECK(listening.stop() == 0);
  INFO(listening.out());
  const auto ended = last_line(listening.out());
  const auto dropped = ended["counts"]["dropped"];
  CHECK(dropped["other certificate"] == 3);
  CHECK(dropped["unknown sender"].get<int>() >= 2);
  CHECK(ended["counts"]["notifications"] == 1);
  CHECK(ended["counts"]["connections"] == 1);
  CHECK(holds(listening.out(), "signed by nobody whom trust: names"));
  CHECK(holds(listening.out(), stranger().fingerprint));
  CHECK(holds(listening.out(), "shows no certificate"));
  CHECK_FALSE(holds(avenue.log("LK-301"), "coldStart"));
  CHECK_FALSE(holds(avenue.log("LK-302"), "not heard"));
}

TEST_CASE("the one port cannot be that of users and of DTLS, which is said") {
  const Avenue avenue;
  const Ran ran = served::run(std::string(PROGRAM) +
                              " listen --seconds 1 --address 127.122.2.9 --port 16162 --tls-port "
                              "16162 --fleet '" +
                              avenue.fleet() + "'");
  CHECK(ran.status == 2);
  CHECK(holds(ran.text, "--port and --tls-port"));
}
