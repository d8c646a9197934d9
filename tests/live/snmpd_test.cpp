#include "support/snmpd.h"

#include "catch.h"
#include "sim/served_fleet.h"

/// The main job against an agent that is not ours: net-snmp's snmpd and the system group (RFC 3418).
namespace {

using served::Ran;
using vergeset::test::FleetFolder;
using vergeset::tests::Snmpd;

class Desk {
 public:
  Desk()
      : agent_("createUser vergeset SHA-256 \"of oak and ash\" AES \"of elm and yew\"\nrwuser vergeset priv"),
        folder_(
            {{"fleet.yaml",
              "fleet: Larkmoor desk\ncredentials:\n"
              "  desk: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: "
              "SERVED_PRIV}}\n"
              "settings: {system-contact: Larkmoor signals desk, system-location: \"Mill Lane, {unit}\"}\n"},
             {"models/agent.yaml",
              "model: plain-agent\ntitle: plain SNMP agent\nroot: 1.3.6.1.4.1.8072\n"
              "recognise: {object: sysObjectID}\nscalars: {}\n"},
             {"models/common.yaml",
              "settings:\n  system-contact: {on: {plain-agent: sysContact}}\n"
              "  system-location: {on: {plain-agent: sysLocation}}\n"},
             {"units.yaml", "units:\n  LK-9: {address: 127.0.0.1, port: " + std::to_string(agent_.port()) +
                                ", model: plain-agent}\n"}}) {
    ::setenv("SERVED_AUTH", "of oak and ash", 1);
    ::setenv("SERVED_PRIV", "of elm and yew", 1);
    ::setenv("SNMPCONFPATH", "/dev/null", 1);
    ::setenv("SNMP_PERSISTENT_DIR", "/dev/null", 1);
    ::setenv("MIBS", "", 1);
  }
  Ran vergeset(const std::string& words) const {
    return served::run(std::string(PROGRAM) + " " + words + " --fleet '" + folder_.path() + "'");
  }
  /// sysContact and sysLocation (RFC 3418) as net-snmp's own snmpget reads them.
  std::string reading() const {
    return served::run(
               "snmpget -v3 -u vergeset -l authPriv -a SHA-256 -A 'of oak and ash' -x AES -X 'of elm and yew'"
               " -Oqvn 127.0.0.1:" +
               std::to_string(agent_.port()) + " 1.3.6.1.2.1.1.4.0 1.3.6.1.2.1.1.6.0")
        .text;
  }

 private:
  Snmpd agent_;
  FleetFolder folder_;
};

TEST_CASE("snmpd is as vergeset claims after survey, dry run, apply and rollback, as snmpget reads it") {
  const Desk desk;
  const std::string found = desk.reading();
  const std::string desired = "\"Larkmoor signals desk\"\n\"Mill Lane, LK-9\"\n";
  REQUIRE(found != desired);
  const auto step = [&](const std::string& words, int status, const std::string& expected) {
    const Ran ran = desk.vergeset(words);
    INFO(words << "\n" << ran.text);
    CHECK(ran.status == status);
    std::string reading = desk.reading();
    reading.erase(std::remove(reading.begin(), reading.end(), '"'), reading.end());
    std::string wanted = expected;
    wanted.erase(std::remove(wanted.begin(), wanted.end(), '"'), wanted.end());
    CHECK(reading == wanted);
  };
  step("check", 0, found);
  step("survey", 0, found);
  step("survey --whole", 0, found);
  step("diff", 3, found);
  step("apply --dry-run", 0, found);
  step("audit", 3, found);
  step("apply --yes", 0, desired);
  step("audit", 0, desired);
  step("apply --yes", 0, desired);
  step("rollback 1 --dry-run", 0, desired);
  step("rollback 1 --yes", 0, found);
  step("audit", 3, found);
}

}  // namespace
