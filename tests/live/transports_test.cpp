#include <sys/stat.h>

#include <fstream>

#include "catch.h"
#include "sim/served_fleet.h"
#include "support/certificates.h"
#include "support/snmpd.h"

/// The main job over each way of speaking, against net-snmp's snmpd and the system group (RFC 3418).
namespace {

using served::Ran;
using vergeset::test::FleetFolder;
using vergeset::tests::Beside;
using vergeset::tests::CertificateWish;
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

bool holds(const Ran& ran, const std::string& words) {
  UNSCOPED_INFO(ran.text);
  return ran.text.find(words) != std::string::npos;
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

TEST_CASE("a unit is set by certificate over DTLS, and a certificate that is not the unit's is told") {
  const MadeCertificate authority = make_certificate({"Larkmoor CA", nullptr, true});
  const MadeCertificate unit = make_certificate({"LK-9", &authority});
  const MadeCertificate manager = make_certificate({"vergeset", &authority});
  const auto digits = [](const MadeCertificate& one) { return one.fingerprint.substr(7); };
  const std::uint16_t port = free_port(host);
  const Snmpd agent(
      "[snmp] localCert " + digits(unit) + "\n[snmp] trustCert " + digits(authority) + "\ncertSecName 9 " +
          digits(manager) + " --sn keeper\nrwuser -s tsm keeper\n",
      {}, host,
      Beside{{"dtlsudp:" + host + ":" + std::to_string(port)}, {}, [&](const std::filesystem::path& folder) {
               put(folder / "tls/certs/unit.crt", unit.certificate);
               put(folder / "tls/private/unit.key", unit.key);
               put(folder / "tls/certs/manager.crt", manager.certificate);
               put(folder / "tls/ca-certs/ca.crt", authority.certificate);
             }});
  const std::string files = "{transport: dtls, certificate: tls/manager.crt, key: {file: tls/manager.key}, ";
  const auto put_files = [&](const Desk& desk) {
    put(desk.path() / "tls/manager.crt", manager.certificate);
    put(desk.path() / "tls/manager.key", manager.key);
    put(desk.path() / "tls/ca.crt", authority.certificate);
  };
  const Desk desk(files + "trust: tls/ca.crt}", port);
  put_files(desk);
  sets_and_finds_set(desk);
  CHECK_FALSE(holds(desk.vergeset("audit"), "insecurely"));

  ::chmod((desk.path() / "tls/manager.key").c_str(), 0644);
  const Ran open = desk.vergeset("audit");
  CHECK(open.status == 2);
  CHECK(holds(open, "give it mode 600"));

  const Desk other(files + "fingerprint: \"" + manager.fingerprint + "\"}", port);
  put_files(other);
  const Ran wrong = other.vergeset("audit");
  CHECK(wrong.status == 4);  // no answer (README, exit status)
  CHECK(holds(wrong, "another certificate"));
}
