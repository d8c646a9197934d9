#include <sys/stat.h>

#include <fstream>
#include <memory>

#include "catch.h"
#include "sim/served_fleet.h"
#include "support/certificates.h"
#include "support/snmpd.h"

/// The main job over each way of speaking, against net-snmp's snmpd and the system group (RFC 3418).
namespace {

using served::Ran;
using vergeset::test::FleetFolder;
using vergeset::tests::Beside;
using vergeset::tests::free_port;
using vergeset::tests::MadeCertificate;
using vergeset::tests::make_certificate;
using vergeset::tests::Snmpd;

const std::string host = "127.0.7.5";

void put(const std::filesystem::path& path, const std::string& text) {
  std::filesystem::create_directories(path.parent_path());
  std::ofstream(path) << text;
  ::chmod(path.c_str(), 0600);
}

/// A fleet of one unit, spoken to by this credential.
class Desk {
 public:
  Desk(const std::string& credential, std::uint16_t port)
      : folder_(
            {{"fleet.yaml", "fleet: Larkmoor desk\ncredentials:\n  desk: " + credential +
                                "\nsettings: {system-contact: Larkmoor signals desk, system-location: \"Mill "
                                "Lane, {unit}\"}\n"},
             {"models/agent.yaml",
              "model: plain-agent\ntitle: plain SNMP agent\nroot: 1.3.6.1.4.1.8072\n"
              "recognise: {object: sysObjectID}\nscalars: {}\n"},
             {"models/common.yaml",
              "settings:\n  system-contact: {on: {plain-agent: sysContact}}\n"
              "  system-location: {on: {plain-agent: sysLocation}}\n"},
             {"units.yaml", "units:\n  LK-9: {address: " + host + ", port: " + std::to_string(port) +
                                ", model: plain-agent}\n"}}) {
    ::setenv("DESK_COMMUNITY", "of-oak-and-ash", 1);
  }
  Ran vergeset(const std::string& words) const {
    return served::run(std::string(PROGRAM) + " " + words + " --fleet '" + folder_.path() + "'");
  }
  std::filesystem::path path() const { return folder_.path(); }

 private:
  FleetFolder folder_;
};

/// Whatever lines its text was broken into.
bool holds(const Ran& ran, const std::string& words) {
  UNSCOPED_INFO(ran.text);
  std::string flat;
  for (const char c : ran.text) {
    const bool space = c == ' ' || c == '\n';
    if (!space || flat.empty() || flat.back() != ' ') flat += space ? ' ' : c;
  }
  return flat.find(words) != std::string::npos;
}

void sets_and_finds_set(const Desk& desk) {
  CHECK(desk.vergeset("audit").status == 3);  // drift found (README, exit status)
  const Ran applied = desk.vergeset("apply --yes");
  CHECK(holds(applied, "settled"));
  const Ran audited = desk.vergeset("audit");
  CHECK(audited.status == 0);
  CHECK(holds(audited, "agrees"));
}

}  // namespace

TEST_CASE(
    "a unit is set by community in SNMPv1 and SNMPv2c, and every audit and check says that this is "
    "insecure") {
  for (const std::string version : {"1", "2c"}) {
    INFO(version);
    const Snmpd agent("rwcommunity of-oak-and-ash 127.0.0.0/8", {}, host);
    const Desk desk("{version: " + version + ", community: {env: DESK_COMMUNITY}, insecure: units of 2009}",
                    agent.port());
    sets_and_finds_set(desk);
    for (const std::string command : {"audit", "check"}) {
      const Ran told = desk.vergeset(command);
      CHECK(holds(told, "spoken to insecurely"));
      CHECK(holds(told, "SNMPv" + version));
      CHECK(holds(told, "units of 2009"));
      CHECK(holds(desk.vergeset(command + " --json"), "\"insecure\": ["));
      CHECK_FALSE(holds(told, "of-oak-and-ash"));
    }
  }
}

namespace {

const MadeCertificate& authority() {
  static const MadeCertificate made = make_certificate({"Larkmoor CA", nullptr, true});
  return made;
}
const MadeCertificate& manager() {
  static const MadeCertificate made = make_certificate({"vergeset", &authority()});
  return made;
}

/// An agent that shows this certificate over DTLS; with the same engine id whichever it is.
std::unique_ptr<Snmpd> by_certificate(const MadeCertificate& shown, std::uint16_t port) {
  const auto digits = [](const MadeCertificate& one) { return one.fingerprint.substr(7); };
  return std::make_unique<Snmpd>(
      "exactEngineID 0x80001f8804004c4b2d39\n[snmp] localCert " + digits(shown) + "\n[snmp] trustCert " +
          digits(authority()) + "\ncertSecName 9 " + digits(manager()) +
          " --sn keeper\nrwuser -s tsm keeper\nrocommunity look 127.0.0.0/8\n",
      std::string(), host,
      Beside{{"dtlsudp:" + host + ":" + std::to_string(port)}, {}, [&](const std::filesystem::path& folder) {
               put(folder / "tls/certs/unit.crt", shown.certificate);
               put(folder / "tls/private/unit.key", shown.key);
               put(folder / "tls/certs/manager.crt", manager().certificate);
               put(folder / "tls/ca-certs/ca.crt", authority().certificate);
             }});
}

/// A desk that speaks by certificate, and expects this of units'.
struct CertifiedDesk : Desk {
  CertifiedDesk(const std::string& expected, std::uint16_t port)
      : Desk(
            "{transport: dtls, certificate: tls/manager.crt, key: {file: tls/manager.key}, " + expected + "}",
            port) {
    put(path() / "tls/manager.crt", manager().certificate);
    put(path() / "tls/manager.key", manager().key);
    put(path() / "tls/ca.crt", authority().certificate);
  }
};

}  // namespace

TEST_CASE("a unit is set by certificate over DTLS, and a certificate that is not the unit's is told") {
  const MadeCertificate unit = make_certificate({"LK-9", &authority()});
  const std::uint16_t port = free_port(host);
  const auto agent = by_certificate(unit, port);
  const CertifiedDesk desk("trust: tls/ca.crt", port);
  sets_and_finds_set(desk);
  CHECK_FALSE(holds(desk.vergeset("audit"), "insecurely"));

  ::chmod((desk.path() / "tls/manager.key").c_str(), 0644);
  const Ran open = desk.vergeset("audit");
  CHECK(open.status == 2);
  CHECK(holds(open, "give it mode 600"));

  const CertifiedDesk other("fingerprint: \"" + manager().fingerprint + "\"", port);
  const Ran wrong = other.vergeset("audit");
  CHECK(wrong.status == 4);  // no answer (README, exit status)
  CHECK(holds(wrong, "another certificate"));
}

TEST_CASE(
    "a unit that shows another certificate than at first contact is a stranger until a person accepts it, "
    "though "
    "the same authority has signed both") {
  const MadeCertificate first = make_certificate({"LK-9", &authority()});
  const MadeCertificate second = make_certificate({"LK-9", &authority()});
  const std::uint16_t port = free_port(host);
  auto agent = by_certificate(first, port);
  const CertifiedDesk desk("trust: tls/ca.crt", port);
  CHECK(desk.vergeset("audit").status == 3);  // drift (README, exit status)

  agent.reset();
  agent = by_certificate(second, port);
  const Ran found = desk.vergeset("audit");
  CHECK(found.status == 3);  // a wrong unit (README, exit status)
  CHECK(holds(found, "wrong unit"));
  CHECK(holds(found, "its certificate is " + second.fingerprint));
  CHECK(holds(found, "it was " + first.fingerprint));
  CHECK(holds(found, "vergeset survey LK-9 --accept-replacement"));

  // This snmpd answers nobody over DTLS after one failed handshake: it is started over for each of ours.
  const auto anew = [&agent] { agent->restart(); };
  anew();
  const Ran applied = desk.vergeset("apply --yes");
  CHECK(applied.status == 5);  // refused (README, exit status)
  CHECK(holds(applied, "its certificate is " + second.fingerprint));
  CHECK(served::run("snmpget -v2c -c look -Oqv " + host + ":" + std::to_string(agent->port()) +
                    " 1.3.6.1.2.1.1.4.0")
            .text.find("Larkmoor") == std::string::npos);
  anew();
  const Ran climbed = desk.vergeset("reach");
  CHECK(climbed.status == 5);  // some ended above the port (README, exit status)
  CHECK(holds(climbed, "its certificate is " + second.fingerprint));

  anew();
  CHECK(desk.vergeset("survey LK-9 --accept-replacement").status == 0);
  sets_and_finds_set(desk);
  // Long hex is shortened there; records/known-units.jsonl has it whole.
  CHECK(holds(desk.vergeset("log LK-9"), "certificate " + second.fingerprint.substr(0, 15)));

  agent.reset();
  agent = by_certificate(first, port);
  CHECK(holds(desk.vergeset("audit"), "wrong unit"));
}
