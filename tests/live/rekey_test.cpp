#include <sys/stat.h>

#include <memory>

#include "catch.h"
#include "sim/served_fleet.h"
#include "smi/value.h"
#include "support/snmpd.h"
#include "support/stored_keys.h"

/// `vergeset rekey` against net-snmp's snmpd; what opens it then is judged by snmpget, snmpset and snmpusm.
/// The tables are those of RFC 3414 (usmUserTable) and RFC 3415 (vacmSecurityToGroupTable).
namespace {

using served::Ran;
using vergeset::test::FleetFolder;
using vergeset::tests::commands_word;
using vergeset::tests::Snmpd;
using vergeset::tests::StoredKey;
using vergeset::tests::StoreFile;
using vergeset::tests::words_of;
using Json = nlohmann::json;

/// As fleet.yaml calls them.
struct Protocols {
  std::string auth = "SHA-256";
  std::string privacy = "AES-128";
};

/// Who a user is to net-snmp's commands, by two passwords.
std::string by_passwords(const std::string& user, const std::string& auth, const std::string& privacy,
                         const Protocols& protocols = {}) {
  return "-v3 -l authPriv -u " + user + " -a " + commands_word(protocols.auth) + " -A '" + auth + "' -x " +
         commands_word(protocols.privacy) + " -X '" + privacy + "'";
}

std::string factory(const Protocols& protocols = {}) {
  return by_passwords("installer", "out of the box", "box of the out", protocols);
}
/// Who may read, and not write.
std::string gatehouse() {
  return by_passwords("gatehouse", "watch by night", "watch by day");
}
std::string agency() {
  return by_passwords("vergeset", "agency by night", "agency by day");
}
std::string depot() {
  return by_passwords("vergeset", "depot by night", "depot by day");
}

constexpr const char* contact = "1.3.6.1.2.1.1.4.0";              // sysContact, RFC 3418
constexpr const char* sets_taken = "1.3.6.1.2.1.11.17.0";         // snmpInSetRequests, RFC 1213
constexpr const char* user_status = "1.3.6.1.6.3.15.1.2.2.1.13";  // usmUserStatus, RFC 3414
constexpr const char* group_name = "1.3.6.1.6.3.16.1.2.1.3";      // vacmGroupName, RFC 3415

/// An agent as from its factory: user installer in group managers, and a user of someone else's.
class Agent {
 public:
  explicit Agent(const Protocols& protocols = {})
      : snmpd_(
            "rwuser operator priv\nrouser gatehouse priv\ngroup managers usm nobody\n"
            "access managers \"\" usm priv exact all all none\nview all included .1\n",
            // What stands here, and not in its configuration, it forgets once it is told to.
            "createUser installer " + commands_word(protocols.auth) + " \"out of the box\" " +
                commands_word(protocols.privacy) +
                " \"box of the out\"\n"
                "createUser operator SHA-256 \"by the gate\" AES \"at the gate\"\n"
                "vacmGroup 1 3 3 0x" +
                vergeset::smi::to_hex("installer") + " 0x" + vergeset::smi::to_hex("managers"),
            "127.0.88.1") {}

  Ran run(const std::string& command, const std::string& who, const std::string& what) const {
    return served::run(command + " " + who + " -On -OQ -Oe -r 1 -t 1 " + place() + " " + what);
  }
  bool opens(const std::string& who) const { return run("snmpget", who, contact).status == 0; }
  /// A name that it does not know, or a key that is not its own (RFC 3414 3.2); not mere silence.
  bool refuses(const std::string& who) const {
    const Ran ran = run("snmpget", who, contact);
    const bool told = ran.text.find("Unknown user name") != std::string::npos ||
                      ran.text.find("Authentication failure") != std::string::npos;
    return ran.status != 0 && told;
  }
  bool writes(const std::string& who, const std::string& text) const {
    const bool written = run("snmpset", who, std::string(contact) + " s '" + text + "'").status == 0;
    return written && run("snmpget", operating, contact).text.find(text) != std::string::npos;
  }
  /// Its users and who is in which group, as its other user reads them.
  std::string users() const {
    return run("snmpbulkwalk", operating, user_status).text + run("snmpbulkwalk", operating, group_name).text;
  }
  bool has_user(const std::string& name) const {
    return users().find("." + std::to_string(name.size()) + dotted(name)) != std::string::npos;
  }
  std::string group_of(const std::string& user) const {
    const std::string row = std::string(group_name) + ".3." + std::to_string(user.size()) + dotted(user);
    return run("snmpget", operating, row + " -Ov").text;
  }
  int sets() const {
    const std::string text = run("snmpget", operating, sets_taken).text;
    return std::stoi(text.substr(text.find("= ") + 2));
  }

  /// By net-snmp's own snmpusm: snmpd changes the keys of users alone that were made from another (RFC 3414
  /// usmUserCloneFrom).
  bool make_gatehouse() const {
    const std::string usm = "snmpusm " + operating + " -r 1 -t 1 ";
    return served::run(usm + place() + " create gatehouse operator").status == 0 &&
           served::run(usm + "-Ca " + place() + " passwd 'by the gate' 'watch by night' gatehouse").status ==
               0 &&
           served::run(usm + "-Cx " + place() + " passwd 'at the gate' 'watch by day' gatehouse").status == 0;
  }

  std::string place() const { return snmpd_.host() + ":" + std::to_string(snmpd_.port()); }
  std::uint16_t port() const { return snmpd_.port(); }
  void restart() { snmpd_.restart(); }

 private:
  static std::string dotted(const std::string& name) {
    std::string out;
    for (const char c : name) out += "." + std::to_string(static_cast<unsigned char>(c));
    return out;
  }
  const std::string operating = by_passwords("operator", "by the gate", "at the gate");
  Snmpd snmpd_;
};

constexpr const char* store_file = "{file: keys/larkmoor.keys}";

std::string fleet_yaml(const Protocols& protocols, const Protocols& wanted, const std::string& store) {
  const auto of = [](const Protocols& ones) {
    return ", auth: " + ones.auth + ", privacy: " + ones.privacy +
           (ones.auth == "MD5" || ones.privacy == "DES" ? ", insecure: units of 2009" : "") + "}\n";
  };
  return "fleet: Larkmoor keys desk\ncredentials:\n"
         "  factory: {user: installer, auth-secret: {env: REKEY_FACTORY_AUTH}, "
         "privacy-secret: {env: REKEY_FACTORY_PRIV}" +
         of(protocols) + "  own: {user: vergeset, keys: store" + of(wanted) +
         "  agency: {user: vergeset, auth-secret: {env: REKEY_AGENCY_AUTH}, "
         "privacy-secret: {env: REKEY_AGENCY_PRIV}}\n"
         "  depot: {user: vergeset, auth-secret: {env: REKEY_DEPOT_AUTH}, "
         "privacy-secret: {env: REKEY_DEPOT_PRIV}}\n"
         "  gatehouse: {user: gatehouse, auth-secret: {env: REKEY_GATE_AUTH}, "
         "privacy-secret: {env: REKEY_GATE_PRIV}}\n"
         "  gatehouse-own: {user: gatehouse, keys: store}\n"
         "  operator: {user: operator, auth-secret: {env: REKEY_OPERATOR_AUTH}, "
         "privacy-secret: {env: REKEY_OPERATOR_PRIV}}\n"
         "  operator-own: {user: operator, keys: store}\n"
         "credential: own\nfactory-credentials: [factory]\nkey-store: " +
         store + "\nretries: 2\ntimeout: 700 ms\nsettings: {system-contact: Larkmoor signals desk}\n";
}

/// LK-901 and so on, each an agent of its own.
class Desk {
 public:
  explicit Desk(const Protocols& protocols = {}, const Protocols& wanted = {}, int units = 1,
                const std::string& store = store_file)
      : folder_({{"fleet.yaml", fleet_yaml(protocols, wanted, store)},
                 {"models/agent.yaml",
                  "model: plain-agent\ntitle: plain SNMP agent\nroot: 1.3.6.1.4.1.8072\n"
                  "recognise: {object: sysObjectID}\nscalars: {}\n"},
                 {"models/common.yaml", "settings:\n  system-contact: {on: {plain-agent: sysContact}}\n"}}) {
    ::setenv("REKEY_FACTORY_AUTH", "out of the box", 1);
    ::setenv("REKEY_FACTORY_PRIV", "box of the out", 1);
    ::setenv("REKEY_GATE_AUTH", "watch by night", 1);
    ::setenv("REKEY_OPERATOR_AUTH", "by the gate", 1);
    ::setenv("REKEY_OPERATOR_PRIV", "at the gate", 1);
    ::setenv("REKEY_GATE_PRIV", "watch by day", 1);
    ::setenv("REKEY_AGENCY_AUTH", "agency by night", 1);
    ::setenv("REKEY_AGENCY_PRIV", "agency by day", 1);
    ::setenv("REKEY_DEPOT_AUTH", "depot by night", 1);
    ::setenv("REKEY_DEPOT_PRIV", "depot by day", 1);
    ::setenv("SNMPCONFPATH", "/dev/null", 1);
    ::setenv("SNMP_PERSISTENT_DIR", "/dev/null", 1);
    ::setenv("MIBS", "", 1);
    std::string inventory = "units:\n";
    for (int i = 0; i < units; ++i) {
      agents_.push_back(std::make_unique<Agent>(protocols));
      inventory += "  LK-90" + std::to_string(i + 1) +
                   ": {address: 127.0.88.1, port: " + std::to_string(agents_.back()->port()) +
                   ", model: plain-agent}\n";
    }
    folder_.write("units.yaml", inventory);
  }

  Ran vergeset(const std::string& words) const {
    return served::run(std::string(PROGRAM) + " " + words + " --fleet '" + folder_.path() + "'");
  }
  /// Its exit status, with what it said beside a check that fails.
  int rekey(const std::string& words = "") const {
    const Ran ran = vergeset("rekey --yes " + words);
    UNSCOPED_INFO("rekey --yes " << words << "\n" << ran.text);
    return ran.status;
  }
  Agent& agent(std::size_t i = 0) const { return *agents_[i]; }
  std::string path(const std::string& name) const { return folder_.path() + "/" + name; }
  StoreFile store() const { return StoreFile(path("keys/larkmoor.keys")); }
  StoredKey opening(const std::string& unit = "LK-901") const { return store().last(unit, "opens"); }

 private:
  std::vector<std::unique_ptr<Agent>> agents_;
  FleetFolder folder_;
};

/// Every file below a folder, one after another.
std::string octets_below(const std::string& folder) {
  std::string all;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    if (!entry.is_regular_file()) continue;
    std::ifstream file(entry.path(), std::ios::binary);
    all.append(std::istreambuf_iterator<char>(file), {});
  }
  return all;
}

std::string upper(std::string text) {
  for (char& c : text) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return text;
}

TEST_CASE("a unit gets a user with keys of its own, by which snmpget reads and snmpset writes") {
  const Desk desk;
  Agent& agent = desk.agent();
  REQUIRE(agent.writes(factory(), "as from the factory"));
  const std::string group = agent.group_of("installer");
  REQUIRE_THAT(group, Catch::Contains("managers"));
  REQUIRE(desk.rekey() == 0);
  const StoredKey own = desk.opening();
  REQUIRE(own.user == "vergeset");
  CHECK(agent.opens(words_of(own)));
  CHECK(agent.writes(words_of(own), "with keys of its own"));
  CHECK(agent.refuses(factory()));
  CHECK(agent.opens(by_passwords("operator", "by the gate", "at the gate")));
  CHECK(agent.group_of("vergeset") == group);
  CHECK_FALSE(agent.has_user("installer"));
  // What it was given it keeps over a start: StorageType nonVolatile (RFC 3414 usmUserStorageType).
  agent.restart();
  CHECK(agent.opens(words_of(own)));
  CHECK(agent.refuses(factory()));
}

TEST_CASE("run again, a unit's keys are others and those before are refused") {
  const Desk desk;
  Agent& agent = desk.agent();
  REQUIRE(desk.rekey() == 0);
  const StoredKey first = desk.opening();
  // A user that was made by cloning changes its keys after a start too.
  if (GENERATE(false, true)) agent.restart();
  REQUIRE(desk.rekey() == 0);
  const StoredKey second = desk.opening();
  CHECK(first.auth_key != second.auth_key);
  CHECK(first.privacy_key != second.privacy_key);
  CHECK(agent.opens(words_of(second)));
  CHECK(agent.refuses(words_of(first)));
  // Neither of the two goes with the other half of the keys before.
  StoredKey mixed = second;
  mixed.privacy_key = first.privacy_key;
  CHECK_FALSE(agent.opens(words_of(mixed)));
}

TEST_CASE(
    "another user gives a user that may only read its keys (RFC 3414 usmUserAuthKeyChange), time after "
    "time") {
  const Desk desk;
  Agent& agent = desk.agent();
  REQUIRE(agent.make_gatehouse());
  REQUIRE(agent.opens(gatehouse()));
  const std::string users = agent.users();
  REQUIRE(desk.rekey("--to gatehouse-own --from gatehouse --by factory") == 0);
  const StoredKey first = desk.opening();
  REQUIRE(first.user == "gatehouse");
  CHECK(agent.opens(words_of(first)));
  CHECK_FALSE(agent.writes(words_of(first), "it may only read"));
  CHECK(agent.refuses(gatehouse()));
  CHECK(agent.users() == users);
  CHECK(agent.writes(factory(), "as before"));

  agent.restart();
  REQUIRE(desk.rekey("--to gatehouse-own --by factory") == 0);
  const StoredKey second = desk.opening();
  CHECK(first.auth_key != second.auth_key);
  CHECK(first.privacy_key != second.privacy_key);
  CHECK(agent.opens(words_of(second)));
  CHECK(agent.refuses(words_of(first)));

  // The unit has another user with stored keys by now: each is found by its own.
  REQUIRE(desk.rekey("--keep-users") == 0);
  REQUIRE(desk.rekey("--keep-users") == 0);
  const StoredKey own = desk.opening();
  REQUIRE(own.user == "vergeset");
  CHECK(agent.opens(words_of(own)));
  CHECK(agent.opens(words_of(second)));
  CHECK(agent.has_user("vergeset"));
  const std::string with_ours = agent.users();

  // And back to passwords.
  REQUIRE(desk.rekey("--to gatehouse --from gatehouse-own --by factory") == 0);
  CHECK(agent.opens(gatehouse()));
  CHECK(agent.refuses(words_of(second)));
  CHECK(agent.users() == with_ours);
}

TEST_CASE("no key of the store stands in the records, in hex or raw") {
  const Desk desk;
  REQUIRE(desk.rekey() == 0);
  REQUIRE(desk.rekey() == 0);
  REQUIRE(desk.vergeset("audit").status == 3);  // sysContact differs; what it read is kept as well
  const std::string records = octets_below(desk.path("records"));
  REQUIRE_THAT(records, Catch::Contains("installer"));
  const StoreFile store = desk.store();
  REQUIRE(store.all().size() == 3);
  for (const StoredKey& key : store.all()) {
    for (const std::string& secret : {key.auth_key, key.privacy_key}) {
      INFO(key.id);
      REQUIRE(secret.size() >= 32);
      CHECK(records.find(secret) == std::string::npos);
      CHECK(records.find(upper(secret)) == std::string::npos);
      CHECK(records.find(*vergeset::smi::from_hex(secret)) == std::string::npos);
    }
  }
  struct stat status {};
  REQUIRE(::stat(desk.path("keys/larkmoor.keys").c_str(), &status) == 0);
  CHECK((status.st_mode & 0777U) == 0600U);  // README, Keys
}

TEST_CASE("a unit that is given passwords opens by them, and there is nothing more to do") {
  const Desk desk;
  const Agent& agent = desk.agent();
  REQUIRE(desk.rekey("--to agency") == 0);
  CHECK(agent.opens(agency()));
  CHECK(agent.writes(agency(), "by passwords"));
  CHECK(agent.refuses(factory()));
  const int sets = agent.sets();
  CHECK(desk.rekey("--to agency") == 0);
  CHECK(agent.sets() == sets);
  REQUIRE(desk.rekey("--to depot") == 0);
  CHECK(agent.opens(depot()));
  CHECK(agent.refuses(agency()));
}

TEST_CASE("units that share secrets open by the same two passwords, which stand in the key store") {
  const Desk desk({}, {}, 2);
  REQUIRE(desk.rekey("--shared") == 0);
  const StoreFile store = desk.store();
  REQUIRE(store.shared().size() == 1);
  const Json& pair = store.shared().front();
  const std::string who = by_passwords(pair.at("user"), pair.at("auth_secret"), pair.at("privacy_secret"));
  for (const std::size_t i : {0U, 1U}) {
    CHECK(desk.agent(i).writes(who, "one pair for all"));
    CHECK(desk.agent(i).refuses(factory()));
  }
  // Localized (RFC 3414 2.6): what opens one unit does not open the other.
  const StoredKey of_first = desk.opening("LK-901");
  CHECK(desk.agent(0).opens(words_of(of_first)));
  CHECK(desk.agent(1).refuses(words_of(of_first)));
}

/// KeyChange of RFC 3414 5 and A.5, each side's made by one of the two and taken by the same snmpd.
TEST_CASE("snmpusm goes on from keys that vergeset gave, and vergeset from those that snmpusm gave") {
  const Desk desk;
  const Agent& agent = desk.agent();
  const auto passwd = [&](const std::string& words, const std::string& who, const std::string& from,
                          const std::string& to) {
    const Ran ran = served::run("snmpusm " + words + " " + who + " " + agent.place() + " passwd '" + from +
                                "' '" + to + "'");
    INFO(ran.text);
    CHECK(ran.status == 0);
  };
  REQUIRE(desk.rekey("--to agency") == 0);
  passwd("-Ca", agency(), "agency by night", "depot by night");
  CHECK(agent.refuses(agency()));
  passwd("-Cx", by_passwords("vergeset", "depot by night", "agency by day"), "agency by day", "depot by day");
  REQUIRE(agent.opens(depot()));
  REQUIRE(desk.rekey("--from depot") == 0);
  CHECK(agent.opens(words_of(desk.opening())));
  CHECK(agent.refuses(depot()));
  REQUIRE(desk.rekey("--to depot") == 0);
  CHECK(agent.opens(depot()));
  passwd("-Ca", depot(), "depot by night", "agency by night");
  CHECK(agent.opens(by_passwords("vergeset", "agency by night", "depot by day")));
}

/// RFC 7860 for the longer hashes. Keys longer than the hash's are made and changed too.
TEST_CASE("other protocols' keys are changed as well") {
  const auto protocols = GENERATE(Protocols{"MD5", "DES"}, Protocols{"SHA-1", "AES-128"},
                                  Protocols{"SHA-512", "AES-256"}, Protocols{"SHA-1", "AES-256"});
  INFO(protocols.auth << " with " << protocols.privacy);
  const Desk desk(protocols, protocols);
  const Agent& agent = desk.agent();
  REQUIRE(agent.opens(factory(protocols)));
  REQUIRE(desk.rekey() == 0);
  const StoredKey first = desk.opening();
  CHECK(agent.writes(words_of(first), "first keys"));
  CHECK(agent.refuses(factory(protocols)));
  REQUIRE(desk.rekey() == 0);
  CHECK(agent.writes(words_of(desk.opening()), "second keys"));
  CHECK(agent.refuses(words_of(first)));
}

TEST_CASE("a dry run shows the steps, sends no SET, changes no user and stores no key") {
  const Desk desk;
  const Agent& agent = desk.agent();
  const std::string users = agent.users();
  const int sets = agent.sets();
  const Ran text = desk.vergeset("rekey --dry-run");
  INFO(text.text);
  CHECK(text.status == 0);
  CHECK_THAT(text.text, Catch::Contains("add user vergeset, made from installer"));
  CHECK_THAT(text.text, Catch::Contains("no SET was sent"));
  const Ran document = desk.vergeset("rekey --dry-run --json --shared");
  CHECK(document.status == 0);
  const Json json = Json::parse(document.text, nullptr, false);
  REQUIRE(json.is_object());
  CHECK(json.at("command") == "rekey");
  CHECK(json.at("dry_run") == true);
  CHECK(json.at("units").at(0).at("sequence").at("steps").size() == 6);
  CHECK(agent.users() == users);
  CHECK(agent.sets() == sets);
  CHECK_FALSE(std::filesystem::exists(desk.path("keys")));
  // Nobody is there to answer the question, so nothing is sent either.
  const Ran unasked =
      served::run(std::string(PROGRAM) + " rekey --fleet '" + desk.path("") + "' < /dev/null");
  INFO(unasked.text);
  CHECK(unasked.status != 0);
  CHECK(agent.sets() == sets);
}

/// What stays so where a change of keys is refused.
struct Untouched {
  explicit Untouched(const Agent& one) : agent(one), users(one.users()), sets(one.sets()) {}
  bool is_so() const { return agent.users() == users && agent.sets() == sets; }
  const Agent& agent;
  std::string users;
  int sets;
};

TEST_CASE("a unit that changes no keys of a user that was not made from another is put back, and says so") {
  const Desk desk;
  const std::string users = desk.agent().users();
  const Ran ran = desk.vergeset("rekey --yes --to operator-own --from operator --by factory");
  CHECK(ran.status == 5);  // restored (README, exit status)
  CHECK_THAT(ran.text, Catch::Contains("restored") && Catch::Contains("usmUserCloneFrom"));
  CHECK(desk.agent().users() == users);
  CHECK(desk.agent().opens(factory()));
}

TEST_CASE("another user gives no keys where those that the user has are not known, and none to itself") {
  const Desk desk;
  REQUIRE(desk.agent().make_gatehouse());
  const Untouched unit(desk.agent());
  const Ran unknown = desk.vergeset("rekey --yes --to gatehouse-own --by factory");
  CHECK(unknown.status == 2);  // bad usage (README, exit status)
  CHECK_THAT(unknown.text, Catch::Contains("no keys that user gatehouse may have on LK-901 now are known"));
  CHECK(desk.rekey("--to gatehouse --from gatehouse --by gatehouse-own") == 2);
  ::setenv("REKEY_GATE_AUTH", "watch by noon", 1);
  const Ran wrong = desk.vergeset("rekey --yes --to gatehouse-own --from gatehouse --by factory");
  CHECK(wrong.status == 5);  // refused (README, exit status)
  CHECK_THAT(wrong.text, Catch::Contains("credential gatehouse"));
  CHECK(unit.is_so());
}

TEST_CASE("a unit whose user has other protocols than the credential is refused before any SET") {
  const Desk desk({"MD5", "DES"});
  const Untouched unit(desk.agent());
  const Ran ran = desk.vergeset("rekey --yes");
  INFO(ran.text);
  CHECK(ran.status == 5);
  CHECK_THAT(ran.text, Catch::Contains("MD5 with DES"));
  CHECK_THAT(ran.text, Catch::Contains("SHA-256 with"));
  CHECK(unit.is_so());
}

TEST_CASE("a key store that others can read is refused before any SET") {
  const Desk desk;
  const Untouched unit(desk.agent());
  std::filesystem::create_directories(desk.path("keys"));
  std::ofstream(desk.path("keys/larkmoor.keys")) << "";
  REQUIRE(::chmod(desk.path("keys/larkmoor.keys").c_str(), 0640) == 0);
  const Ran ran = desk.vergeset("rekey --yes");
  INFO(ran.text);
  CHECK(ran.status == 2);
  CHECK_THAT(ran.text, Catch::Contains("640"));
  CHECK_THAT(ran.text, Catch::Contains("give it mode 600"));
  CHECK(unit.is_so());
}

TEST_CASE("two commands keep the keys as a file does") {
  const Desk desk({}, {}, 1,
                  "{get: \"test ! -e by-hand || cat by-hand\", put: \"umask 077; cat >> by-hand\"}");
  const Agent& agent = desk.agent();
  REQUIRE(desk.rekey() == 0);
  const StoredKey first = StoreFile(desk.path("by-hand")).last("LK-901", "opens");
  CHECK(agent.opens(words_of(first)));
  REQUIRE(desk.rekey() == 0);
  CHECK(agent.opens(words_of(StoreFile(desk.path("by-hand")).last("LK-901", "opens"))));
  CHECK(agent.refuses(words_of(first)));
}

TEST_CASE("where the command that puts keys fails, nothing is sent to the unit") {
  const Desk desk({}, {}, 1, "{get: \"true\", put: \"cat > /dev/null; exit 7\"}");
  const Untouched unit(desk.agent());
  const std::string words = GENERATE("rekey --yes", "rekey --yes --shared");
  const Ran ran = desk.vergeset(words);
  INFO(ran.text);
  CHECK(ran.status != 0);
  CHECK_THAT(ran.text, Catch::Contains("(put)"));
  CHECK(unit.is_so());
  CHECK(desk.agent().opens(factory()));
}

}  // namespace
