#include <sys/stat.h>

#include "catch.h"
#include "served_fleet.h"

using served::Ran;
using served::run;
using served::ServedFleet;
using namespace std::chrono_literals;

/// The users of a served unit, changed by net-snmp's own snmpusm and snmpvacm.
namespace {

const std::string rsu_id = ".1.3.6.1.4.1.1206.4.2.18.13.4.0";
const std::string spin_lock = ".1.3.6.1.6.3.15.1.2.1.0";  // RFC 3414 5
const std::string factory_secret = "as it left the works";

/// A column of usmUserTable at LK-101: the row is named by engine id and user, each behind its size
/// (RFC 3414 5). RFC 3411 SnmpEngineID, format 4: 80001f88, 04, the unit's name.
std::string column(int number, const std::string& user) {
  std::string oid = ".1.3.6.1.6.3.15.1.2.2.1." + std::to_string(number) +
                    ".11.128.0.31.136.4.76.75.45.49.48.49." + std::to_string(user.size());
  for (const char c : user) oid += "." + std::to_string(static_cast<int>(c));
  return oid;
}

std::string fleet_with(const std::string& credentials) {
  return "fleet: Larkmoor district\n"
         "credentials:\n"
         "  larkmoor: {user: vergeset, auth-secret: {env: SERVED_AUTH}, privacy-secret: {env: "
         "SERVED_PRIV}}\n" +
         credentials + "credential: larkmoor\nsettings: {unit-id: \"{unit}\"}\n";
}

/// As one credential of fleet.yaml, whose two secrets are the same: snmpusm passwd takes one of each.
std::string credential(const std::string& name, const std::string& auth, const std::string& privacy) {
  return "  " + name + ": {user: " + name + ", auth: " + auth + ", privacy: " + privacy +
         ", auth-secret: {env: SERVED_FACTORY}, privacy-secret: {env: SERVED_FACTORY}" +
         (auth == "MD5" || privacy == "DES" ? ", insecure: what the works left}\n" : "}\n");
}

/// A user as a manager has it: its names are those of net-snmp.
struct User {
  std::string name;
  std::string auth = "SHA-256";
  std::string auth_secret = factory_secret;
  std::string privacy = "AES";
  std::string privacy_secret = factory_secret;

  User with(const std::string& new_auth, const std::string& new_privacy) const {
    return {name, auth, new_auth, privacy, new_privacy};
  }
};

std::string unit_address() {
  return served::address(1) + ":" + std::to_string(served::port());
}

/// A command of net-snmp, what stands in front of the address, and what behind it.
Ran as(const User& user, const std::string& command, const std::string& behind) {
  return run(command + " -v3 -l authPriv -u " + user.name + " -a " + user.auth + " -A '" + user.auth_secret +
             "' -x " + user.privacy + " -X '" + user.privacy_secret + "' -On -r 0 -t 3 " + unit_address() +
             " " + behind);
}

std::string read(const User& user) {
  return as(user, "snmpget", rsu_id).text;
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

bool opens(const User& user) {
  return has(read(user), "STRING: \"RSU\"");
}

// RFC 3414 3.2: usmStatsWrongDigests (step 6), usmStatsUnknownUserNames (step 4), as snmpget tells of them.
bool refused_for_its_key(const User& user) {
  return has(read(user), "Authentication failure");
}
bool unknown(const User& user) {
  return has(read(user), "Unknown user name");
}

/// snmpusm, whose successes say so.
bool changes(const User& by, const std::string& options, const std::string& words) {
  const auto ran = as(by, "snmpusm " + options, words);
  INFO(ran.text);
  return ran.status == 0 && has(ran.text, "success");
}

const User agency{"vergeset", "SHA-256", "of oak and ash", "AES", "of elm and yew"};
const User works{"works"};

/// LK-101 and LK-201, which know `vergeset` and `works`.
struct TwoUsers : ServedFleet {
  TwoUsers() : ServedFleet(served::units_yaml(), 100, fleet_with(credential("works", "SHA-256", "AES-128"))) {
    ::setenv("SERVED_FACTORY", factory_secret.c_str(), 1);
  }
  bool start(std::vector<std::string> more = {}) {
    more.insert(more.end(), {"--credential", "larkmoor,works"});
    return ServedFleet::start(more);
  }
  /// Until it answers again.
  bool reboot(const std::string& how, const User& user) {
    tell("LK-101 " + how);
    std::this_thread::sleep_for(100ms);
    for (int i = 0; i < 50; ++i, std::this_thread::sleep_for(100ms))
      if (!has(read(user), "Timeout")) return true;
    return false;
  }
};

}  // namespace

TEST_CASE("a user changes its own keys, and the old ones open nothing any more", "[agent]") {
  TwoUsers units;
  REQUIRE(units.start());
  REQUIRE(opens(agency));
  REQUIRE(opens(works));

  // KeyChange (RFC 3414 5): the authentication key alone. Own is usmUserOwnAuthKeyChange.
  CHECK(changes(agency, "-Ca", "passwd 'of oak and ash' 'of oak and birch'"));
  CHECK(refused_for_its_key(agency));
  const User half = agency.with("of oak and birch", "of elm and yew");
  CHECK(opens(half));
  // The privacy key alone, which is made with the authentication protocol's hash (RFC 3414 5).
  CHECK(changes(half, "-Cx", "passwd 'of elm and yew' 'of elm and pine'"));
  CHECK_FALSE(opens(half));
  CHECK(opens(agency.with("of oak and birch", "of elm and pine")));
  // Both in one SET.
  CHECK(changes(works, "-Ca -Cx", "passwd '" + factory_secret + "' 'of beech and lime'"));
  CHECK(refused_for_its_key(works));
  CHECK(opens(works.with("of beech and lime", "of beech and lime")));
  // Another unit's key of the same password is another (RFC 3414 2.6), and nothing changed there.
  CHECK(has(ServedFleet::manager("snmpget", 2, ".1.0.15628.4.1.99.0").text, "= 2"));
}

TEST_CASE("a user changes another's keys, and only where it knows the old one", "[agent]") {
  TwoUsers units;
  REQUIRE(units.start());
  CHECK(changes(agency, "-Ca", "passwd '" + factory_secret + "' 'of beech and lime' works"));
  CHECK(changes(agency, "-Cx", "passwd '" + factory_secret + "' 'of rowan' works"));
  CHECK(refused_for_its_key(works));
  CHECK(opens(works.with("of beech and lime", "of rowan")));
  CHECK(opens(agency));
  // KeyChange (RFC 3414 5) says nothing of the old key: from a wrong one comes a key that nobody knows.
  changes(agency, "-Ca", "passwd 'not the old one' 'of beech and lime' works");
  CHECK_FALSE(opens(works.with("of beech and lime", "of rowan")));
}

TEST_CASE("usmUserOwnAuthKeyChange is for the user of the row alone: noAccess, RFC 3414 5", "[agent]") {
  TwoUsers units;
  REQUIRE(units.start());
  const std::string change = " x " + std::string(128, '0');
  for (const int own : {7, 10})
    CHECK(has(as(agency, "snmpset", column(own, "works") + change).text, "noAccess"));
  CHECK(opens(works));
  // A key is never read: its column gives no octets.
  for (const int key : {6, 7, 9, 10})
    CHECK(has(as(agency, "snmpget", column(key, "works")).text, column(key, "works") + " = \"\"\n"));
}

TEST_CASE("a user is made by cloning, let in by a group, and removed", "[agent]") {
  TwoUsers units;
  REQUIRE(units.start());
  const User night{"night"};
  CHECK(unknown(night));
  // usmUserCloneFrom and usmUserStatus createAndGo in one SET (RFC 3414 5).
  CHECK(changes(agency, "", "create night works"));
  // In no group: noGroupName, told as authorizationError (RFC 3415 3.2 step 2, RFC 3413 3.2).
  CHECK(has(read(night), "authorizationError"));
  CHECK(changes(agency, "", "create night works") == false);  // it is there: RFC 2579 RowStatus
  CHECK(as(agency, "snmpvacm", "createSec2Group 3 night managers").status == 0);
  CHECK(opens(night));
  CHECK(changes(agency, "-Ca -Cx", "passwd '" + factory_secret + "' 'of beech and lime' night"));
  CHECK(opens(night.with("of beech and lime", "of beech and lime")));
  CHECK(opens(works));

  const User again = night.with("of beech and lime", "of beech and lime");
  CHECK(changes(again, "", "delete works"));
  CHECK(unknown(works));
  CHECK(as(again, "snmpvacm", "deleteSec2Group 3 vergeset").status == 0);
  CHECK(has(read(agency), "authorizationError"));
  CHECK(opens(again));
}

TEST_CASE("a user made with createAndWait is not ready until it was cloned: RFC 3414 5", "[agent]") {
  TwoUsers units;
  REQUIRE(units.start());
  const std::string status = column(13, "night");
  CHECK(changes(agency, "-Cw", "create night"));
  CHECK(has(as(agency, "snmpget", status).text, status + " = INTEGER: 3"));  // notReady
  CHECK(as(agency, "snmpvacm", "createSec2Group 3 night managers").status == 0);
  CHECK_FALSE(opens({"night"}));
  CHECK(changes(agency, "", "cloneFrom night works"));
  CHECK(changes(agency, "", "activate night"));
  CHECK(has(as(agency, "snmpget", status).text, status + " = INTEGER: 1"));
  CHECK(opens({"night"}));
}

TEST_CASE("usmUserSpinLock lets one of two managers through: TestAndIncr, RFC 2579", "[agent]") {
  TwoUsers units;
  REQUIRE(units.start());
  CHECK(has(as(agency, "snmpget", spin_lock).text, "INTEGER: 0"));
  // With a change in the same SET: RFC 3414 5, usmUserAuthKeyChange, steps 1 to 5.
  const std::string noted = column(11, "works") + " s ";
  CHECK(as(agency, "snmpset", spin_lock + " i 0 " + noted + "first").status == 0);
  CHECK(has(as(agency, "snmpget", spin_lock).text, "INTEGER: 1"));
  const auto second = as(works, "snmpset", spin_lock + " i 0 " + noted + "second").text;
  CHECK(has(second, "inconsistentValue"));
  CHECK(has(as(agency, "snmpget", column(11, "works")).text, "\"first\""));
}

TEST_CASE("what was changed of users survives a reboot, and is lost where it should be", "[agent]") {
  TwoUsers units;
  REQUIRE(units.start());
  const User changed = works.with("of beech and lime", "of beech and lime");
  const std::string change = "passwd '" + factory_secret + "' 'of beech and lime'";
  REQUIRE(changes(works, "-Ca -Cx", change));
  REQUIRE(units.reboot("reboot", agency));
  CHECK(opens(changed));

  // As at the last start, which was the reboot.
  REQUIRE(changes(agency, "", "delete works"));
  REQUIRE(units.reboot("reboot lose", agency));
  CHECK(opens(changed));

  // An agent that writes its users at an orderly shutdown alone loses them when the power fails.
  CHECK(units.tell("LK-101 forget-users 1").text == "ok\n");
  REQUIRE(changes(agency, "", "delete works"));
  CHECK(as(agency, "snmpset", rsu_id + " s LK-101").status == 0);
  REQUIRE(units.reboot("reboot", agency));
  CHECK(has(read(changed), "\"LK-101\""));  // the unit's own settings are kept all the same
  REQUIRE(changes(agency, "", "delete works"));
  REQUIRE(units.reboot("reboot", agency));
  CHECK(unknown(changed));

  // One that was made by cloning changes its own keys after a start too, as at snmpd.
  const User dawn{"dawn", agency.auth, agency.auth_secret, agency.privacy, agency.privacy_secret};
  REQUIRE(changes(agency, "", "create dawn vergeset"));
  CHECK(as(agency, "snmpvacm", "createSec2Group 3 dawn managers").status == 0);
  REQUIRE(units.reboot("reboot", agency));
  CHECK(changes(dawn, "-Ca", "passwd 'of oak and ash' 'of oak and birch'"));
  CHECK(has(read(dawn.with("of oak and birch", "of elm and yew")), "\"LK-101\""));

  // volatile(2): lost upon reboot (RFC 2579 StorageType).
  REQUIRE(changes(agency, "", "create night vergeset"));
  CHECK(as(agency, "snmpset", column(12, "night") + " i 2").status == 0);
  REQUIRE(units.reboot("reboot", agency));
  CHECK(unknown({"night"}));
}

TEST_CASE("with --keep users outlive the simulator, in a file for its owner alone", "[agent]") {
  TwoUsers units;
  const std::vector<std::string> keep{"--keep", units.path("kept")};
  REQUIRE(units.start(keep));
  const User changed = works.with("of beech and lime", "of beech and lime");
  REQUIRE(changes(works, "-Ca -Cx", "passwd '" + factory_secret + "' 'of beech and lime'"));
  REQUIRE(changes(agency, "", "create night vergeset"));
  REQUIRE(as(agency, "snmpvacm", "createSec2Group 3 night managers").status == 0);
  units.stop(SIGKILL);
  const std::string file = units.path("kept/LK-101.users");
  struct stat found {};
  REQUIRE(::stat(file.c_str(), &found) == 0);
  CHECK((found.st_mode & 0777U) == 0600U);
  for (const std::string& secret :
       {factory_secret, std::string("of beech and lime"), std::string("of oak and ash")})
    CHECK(run("grep -c '" + secret + "' '" + file + "'").text == "0\n");

  std::this_thread::sleep_for(200ms);  // the units of the one that was killed go
  REQUIRE(units.start(keep));
  CHECK(opens(changed));
  CHECK(opens({"night", "SHA-256", "of oak and ash", "AES", "of elm and yew"}));
  CHECK(refused_for_its_key(works));
}

TEST_CASE("a served unit refuses, ignores and loses what changes its users, as it is told", "[agent]") {
  TwoUsers units;
  REQUIRE(units.start());
  const std::string passwd = "passwd '" + factory_secret + "' 'of beech and lime'";
  const User changed = works.with("of beech and lime", "of beech and lime");

  CHECK(units.tell("LK-101 refuse usmUserTable noAccess 1").text == "ok\n");
  CHECK_FALSE(changes(works, "-Ca -Cx", passwd));
  CHECK(opens(works));
  CHECK(units.tell("LK-101 refuse usmUserAuthKeyChange genErr 1").text == "ok\n");
  CHECK_FALSE(changes(agency, "-Ca", passwd + " works"));
  CHECK(opens(works));
  CHECK(units.tell("LK-101 ignore usmUserTable 1").text == "ok\n");
  CHECK(changes(agency, "-Ca -Cx", passwd + " works"));
  CHECK(opens(works));
  CHECK(units.tell("LK-101 drop-response 1").text == "ok\n");
  CHECK_FALSE(changes(agency, "-Ca -Cx", passwd + " works"));
  CHECK(opens(changed));
  CHECK(units.tell("LK-101 refuse vacmGroupName genErr 1").text == "ok\n");
  CHECK(as(agency, "snmpvacm", "createSec2Group 3 night managers").status != 0);

  const auto wrong = units.tell("LK-101 refuse usmUserTabel genErr 1");
  CHECK(wrong.status == 1);
  CHECK(has(wrong.text, "usmUserTable"));
  CHECK(has(units.tell("LK-101 counters").text, "\nsets-refused 3\n"));
}

TEST_CASE("units know the credentials that --credential names, of every protocol, and change their keys",
          "[agent]") {
  // RFC 3414, RFC 7860, RFC 3826; AES-192 and AES-256 as agents have them since the draft that lapsed:
  // from memory. Names of fleet.yaml, and of net-snmp.
  const std::vector<std::string> auths{"MD5", "SHA-1", "SHA-224", "SHA-256", "SHA-384", "SHA-512"};
  const std::vector<std::string> privacies{"DES", "AES-128", "AES-192", "AES-256"};
  std::string credentials;
  std::string names;
  std::vector<User> users;
  for (const std::string& auth : auths)
    for (const std::string& privacy : privacies) {
      const std::string name = "u" + std::to_string(users.size());
      credentials += credential(name, auth, privacy);
      names += (names.empty() ? "" : ",") + name;
      users.push_back({name, auth == "SHA-1" ? "SHA" : auth, factory_secret, privacy, factory_secret});
    }
  ::setenv("SERVED_FACTORY", factory_secret.c_str(), 1);
  ServedFleet units(served::units_yaml(), 100, fleet_with(credentials));
  REQUIRE(units.start({"--credential", names, "--units", "LK-101"}));
  CHECK(unknown(agency));  // its own, which it was not told to know
  for (const User& user : users) {
    INFO(user.name << " " << user.auth << " " << user.privacy);
    CHECK(opens(user));
    CHECK(changes(user, "-Ca -Cx", "passwd '" + factory_secret + "' 'of beech and lime'"));
    CHECK_FALSE(opens(user));
    CHECK(opens(user.with("of beech and lime", "of beech and lime")));
  }
}

TEST_CASE("the option --credential tells of a name that fleet.yaml does not have", "[agent]") {
  TwoUsers units;
  CHECK_FALSE(static_cast<ServedFleet&>(units).start({"--credential", "larkmoor,work"}));
  CHECK(units.exit_status == 2);
  CHECK(has(units.log(), "--credential work: fleet.yaml has no such credential"));
  CHECK(has(units.log(), "works"));
}

TEST_CASE("a user without privacy, or without authentication too, is let in at that level and above none",
          "[agent]") {
  ServedFleet units(
      served::units_yaml(), 100,
      fleet_with("  signed: {user: signed, auth-secret: {env: SERVED_AUTH}, privacy: none, insecure: old}\n"
                 "  open: {user: open, auth: none, insecure: older}\n"));
  REQUIRE(units.start({"--credential", "larkmoor,signed,open", "--units", "LK-101"}));
  const auto get = [](const std::string& options) {
    return run("snmpget -v3 " + options + " -On -r 0 -t 3 " + unit_address() + " " + rsu_id).text;
  };
  // RFC 3411 3.4.3, RFC 3415 vacmAccessSecurityLevel: the least level at which the access is given.
  CHECK(has(get("-l noAuthNoPriv -u open"), "STRING: \"RSU\""));
  CHECK(has(get("-l authNoPriv -u signed -a SHA-256 -A 'of oak and ash'"), "STRING: \"RSU\""));
  CHECK(has(get("-l noAuthNoPriv -u signed"), "authorizationError"));
  CHECK(has(get("-l authNoPriv -u vergeset -a SHA-256 -A 'of oak and ash'"), "authorizationError"));
  CHECK(opens(agency));
}

TEST_CASE("units know no community, and no keys that vergeset is yet to make", "[agent]") {
  ServedFleet units(served::units_yaml(), 100,
                    fleet_with("  talk: {version: 2c, community: {env: SERVED_AUTH}, insecure: old}\n"
                               "  own: {user: vergeset, keys: store}\nkey-store: {file: kept}\n"));
  CHECK_FALSE(units.start({"--credential", "talk"}));
  CHECK(has(units.log(), "credential talk: is no user of SNMPv3"));
  CHECK_FALSE(units.start({"--credential", "own"}));
  CHECK(has(units.log(), "credential own: its keys are vergeset's to make"));
}
