#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const Files good = {{"fleet.yaml", least_fleet}, {"units.yaml", two_units}};

void check_fleet(const std::string& added, const std::vector<std::string>& words) {
  check_wrong(good, "fleet.yaml", {least_fleet + added, words});
}

void check_credential(const std::string& credential, const std::vector<std::string>& words) {
  check_wrong(good, "fleet.yaml", {"fleet: L\ncredentials:\n  " + credential + "\n", words});
}

}  // namespace

TEST_CASE("a fleet without faults loads whole") {
  const Tree tree({{"fleet.yaml", least_fleet + "timezone: Etc/UTC\nport: 1161\nwaves: [1, 10%, rest]\n"
                                                "failures-allowed: 2\nmode-wait: 2 min\ntimeout: 2 s\n"
                                                "retries: 5\nposition-within: 0.5 km\n"
                                                "window: [Mon-Fri 22:00-05:00, Sat 20:00-08:00]\n"},
                   {"units.yaml", two_units}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const Fleet& fleet = tree.fleet;
  CHECK(fleet.name == "Larkmoor district");
  CHECK(fleet.timezone == "Etc/UTC");
  REQUIRE(fleet.waves.size() == 3);
  CHECK(fleet.waves[0].kind == Wave::Kind::count);
  CHECK(fleet.waves[0].number == 1);
  CHECK(fleet.waves[1].kind == Wave::Kind::percent);
  CHECK(fleet.waves[1].number == 10);
  CHECK(fleet.waves[2].kind == Wave::Kind::rest);
  CHECK(fleet.failures_allowed == 2);
  CHECK(fleet.mode_wait_s == 120);
  CHECK(fleet.timeout_ms == 2000);
  CHECK(fleet.retries == 5);
  CHECK(fleet.position_within_m == 500.0);
  CHECK(fleet.window.spans.size() == 6);
  CHECK(fleet.window.text == "Mon-Fri 22:00-05:00, Sat 20:00-08:00");
  CHECK(fleet.files == std::vector<std::string>{"fleet.yaml", "units.yaml"});
  REQUIRE(fleet.units.size() == 2);
  CHECK(fleet.units[0].name == "LK-101");
  CHECK(fleet.units[0].port == 1161);
  CHECK(fleet.units[0].credential == "larkmoor");
  CHECK(fleet.units[1].model->name == "rsu-4.1");
}

TEST_CASE("what fleet.yaml does not say has its default") {
  const Tree tree(good);
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.fleet.timezone == "UTC");
  CHECK(tree.fleet.waves.empty());
  CHECK(tree.fleet.failures_allowed == 0);
  CHECK(tree.fleet.window.open(3, 720));
  CHECK(tree.fleet.mode_wait_s == 60);
  CHECK(tree.fleet.timeout_ms == 1500);
  CHECK(tree.fleet.retries == 3);
  CHECK_FALSE(tree.fleet.position_within_m.has_value());
  CHECK(tree.unit("LK-101").port == 161);
  const Credential& credential = tree.fleet.credentials.at("larkmoor");
  CHECK(credential.auth == "SHA-256");
  CHECK(credential.privacy == "AES-128");
  CHECK(credential.auth_secret.kind == SecretSource::Kind::environment);
  CHECK(credential.auth_secret.where == "A");
}

TEST_CASE("a folder without fleet.yaml is told to be no fleet") {
  const Tree tree({{"units.yaml", two_units}});
  const auto faults = tree.faults.sorted();
  REQUIRE(faults.size() == 1);
  CHECK(faults[0].text == tree.folder.path() + " is no fleet: it has no fleet.yaml");
}

TEST_CASE("a fleet without units, credentials or a name is told so") {
  const Tree no_units({{"fleet.yaml", least_fleet}});
  REQUIRE(no_units.faults.sorted().size() == 1);
  CHECK(says(no_units.report(), {"fleet.yaml: ", "has no units", "units.yaml or units.csv"}));

  const Tree no_credential({{"fleet.yaml", "fleet: L\n"}, {"units.yaml", two_units}});
  REQUIRE(no_credential.faults.sorted().size() == 1);
  CHECK(says(no_credential.report(), {"fleet.yaml:1:1: ", "names no credential"}));

  const std::string nameless = least_fleet.substr(least_fleet.find('\n') + 1);
  const Tree no_name({{"fleet.yaml", nameless}, {"units.yaml", two_units}});
  REQUIRE(no_name.faults.sorted().size() == 1);
  CHECK(says(no_name.report(), {"fleet.yaml:1:1: ", "fleet", "missing"}));
}

TEST_CASE("a fleet.yaml that is no map, or no YAML, is told once and the rest is read") {
  const Files used = {
      {"units.yaml", "units:\n  LK-101: {address: 127.0.0.1, model: rsu-4.1, credential: larkmoor}\n"},
      {"groups/all.yaml", "settings: {mode: operate}\n"}};
  check_wrong(used, "fleet.yaml",
              {"@@- fleet\n", {"a map with fleet:, credentials: and more", "found a list"}});
  check_wrong(used, "fleet.yaml", {"fleet: L\n@@]\n", {"is no YAML"}});
  check_wrong({{"fleet.yaml", least_fleet}}, "units.yaml", {"@@- LK-101\n", {"a map with units:"}});
  check_wrong({{"fleet.yaml", least_fleet}}, "units.yaml", {"@@LK-101: {}\nunits: {}\n", {"unknown key"}});
}

TEST_CASE("a fleet whose credentials are none is told so") {
  check_wrong(good, "fleet.yaml", {"@@fleet: L\ncredentials: {}\n", {"names no credential"}});
  check_wrong(good, "fleet.yaml", {"fleet: L\ncredentials: @@larkmoor\n", {"each under its name"}});
}

TEST_CASE("an unknown key of fleet.yaml is told with the known one") {
  check_fleet("@@widnow: daily 01:00-02:00\n", {"widnow", "did you mean window"});
}

TEST_CASE("a broken number, time or zone of fleet.yaml is told with its place") {
  check_fleet("timezone: @@Etc/Nowhere\n", {"IANA", "Etc/Nowhere"});
  check_fleet("timezone: @@../../etc/passwd\n", {"IANA", "found ../../etc/passwd"});
  check_fleet("port: @@70000\n", {"1 to 65535", "70000"});
  check_fleet("failures-allowed: @@-1\n", {"a number of units", "-1"});
  check_fleet("retries: @@many\n", {"retries", "many"});
  check_fleet("mode-wait: @@60\n", {"needs a number and a unit", "60 s", "found 60"});
  check_fleet("mode-wait: @@60 m\n", {"mode-wait"});
  check_fleet("timeout: @@5 ms\n", {"50 ms", "found 5 ms"});
  check_fleet("position-within: @@far\n", {"as in 500 m", "found far"});
}

TEST_CASE("waves are numbers, shares and at last the rest") {
  check_fleet("waves: [1, @@0%, rest]\n", {"a number of units", "0%"});
  check_fleet("waves: [1, @@101%, rest]\n", {"101%"});
  check_fleet("waves: [@@0, rest]\n", {"found 0"});
  check_fleet("waves: [1, @@some, rest]\n", {"found some"});
  check_fleet("waves: [rest, @@10%]\n", {"put rest last"});
  check_fleet("waves: @@[1, 10%]\n", {"end with rest"});
}

TEST_CASE("a window that is none is told with its place") {
  check_fleet("window: [Mon-Fri 22:00-05:00, @@Sum 20:00-08:00]\n", {"Mon .. Sun", "Sum"});
  check_fleet("window: @@Mon 22-05\n", {"as in Mon-Fri 22:00-05:00", "found Mon 22-05"});
  check_fleet("window: @@Mon 22:60-23:00\n", {"00:00 to 24:00", "22:60"});
  check_fleet("window: @@Mon 22:00-25:00\n", {"25:00"});
  check_fleet("window: @@daily 22:00-22:00\n", {"open before they close"});
}

TEST_CASE("a credential without user or secrets is told what it lacks") {
  check_credential("@@a: x", {"user, auth-secret and privacy-secret"});
  check_credential("a: @@{auth-secret: {env: A}, privacy-secret: {env: P}}", {"user", "missing"});
  check_credential("a: @@{user: u, privacy-secret: {env: P}}", {"auth-secret", "missing"});
  check_credential("a: @@{user: u, auth-secret: {env: A}}", {"privacy-secret", "missing"});
  check_credential("a: {user: @@'', auth-secret: {env: A}, privacy-secret: {env: P}}", {"1 to 32"});
  check_credential("a: {user: u, auth-secret: {@@envv: A}, privacy-secret: {env: P}}",
                   {"env, file or command", "envv", "did you mean env"});
  check_credential("a: {user: u, auth-secret: {env: @@9x}, privacy-secret: {env: P}}",
                   {"name of an environment variable"});
  check_credential("a: {user: u, auth-secret: {file: @@''}, privacy-secret: {env: P}}", {"empty"});
  check_credential("a: {user: u, @@auht: MD5, auth-secret: {env: A}, privacy-secret: {env: P}}",
                   {"auht", "did you mean auth"});
}

TEST_CASE("a secret comes from an environment variable, a file or a command") {
  const Tree tree(
      {{"fleet.yaml",
        "fleet: L\ncredentials:\n"
        "  a: {user: u, auth-secret: {file: keys/auth}, privacy-secret: {command: pass show rsu}}\n"},
       {"units.yaml", two_units}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  const Credential& credential = tree.fleet.credentials.at("a");
  CHECK(credential.auth_secret.kind == SecretSource::Kind::file);
  CHECK(credential.auth_secret.where == "keys/auth");
  CHECK(credential.privacy_secret.kind == SecretSource::Kind::command);
  CHECK(credential.privacy_secret.place == Place{"fleet.yaml", 3, 64});
}

TEST_CASE("broken or unknown protocols are refused unless there is a reason") {
  const std::string secrets = "auth-secret: {env: A}, privacy-secret: {env: P}}";
  check_credential("a: {user: u, auth: @@MD5, " + secrets, {"MD5 is broken", "insecure:"});
  check_credential("a: {user: u, privacy: @@DES, " + secrets, {"DES is broken", "insecure:"});
  check_credential("a: {user: u, auth: @@sha256, " + secrets, {"found sha256", "did you mean SHA-256"});
  check_credential("a: {user: u, privacy: @@AES, " + secrets, {"AES-128, AES-192, AES-256"});

  const Tree tree({{"fleet.yaml",
                    "fleet: L\ncredentials:\n  a: {user: u, auth: MD5, privacy: DES, insecure: "
                    "units of 2014, " +
                        secrets + "\n"},
                   {"units.yaml", two_units}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.fleet.credentials.at("a").insecure == "units of 2014");
}

TEST_CASE("a secret that stands in fleet.yaml is refused and never shown") {
  for (const std::string credential :
       {"a: {user: u, auth-secret: maplesyrup, privacy-secret: {env: P}}",
        "a: {user: u, auth-secret: {env: maple-syrup}, privacy-secret: {env: P}}",
        "a: {user: u, auth: maplesyrup, auth-secret: {env: A}, privacy-secret: {env: P}}",
        "a: {user: u, auth-secret: [maplesyrup], privacy-secret: {env: P}}", "a: maplesyrup"}) {
    const Tree tree(
        {{"fleet.yaml", "fleet: L\ncredentials:\n  " + credential + "\n"}, {"units.yaml", two_units}});
    INFO(credential);
    CHECK(tree.faults.any());
    CHECK(tree.report().find("syrup") == std::string::npos);
  }
}

TEST_CASE("the default credential must be there, and is the only one where there is but one") {
  check_fleet("credential: @@larkmor\n", {"no credential is called larkmor", "did you mean larkmoor"});

  const std::string two =
      least_fleet + "  second: {user: v, auth-secret: {env: A}, privacy-secret: {env: P}}\n";
  const Tree none({{"fleet.yaml", two}, {"units.yaml", two_units}});
  REQUIRE(none.faults.sorted().size() == 2);
  CHECK(says(none.report(), {"units.yaml:2:3: ", "unit LK-101 has no credential", "units.yaml:3:3: "}));

  const Tree second({{"fleet.yaml", two + "credential: second\n"}, {"units.yaml", two_units}});
  INFO(second.report());
  REQUIRE_FALSE(second.faults.any());
  CHECK(second.unit("LK-102").credential == "second");
}

TEST_CASE("all faults of a tree are told at once") {
  const Tree tree({{"fleet.yaml", least_fleet + "port: 0\nsettings: {notify-adress: 192.0.2.1}\n"},
                   {"units.yaml", "units:\n  LK-101: {address: 300.1.1.1, model: rsu-4.2}\n"},
                   {"groups/signals.yaml", "settings: {mode: 7, colour: red}\n"}});
  INFO(tree.report());
  CHECK(says(tree.report(), {"fleet.yaml:4:7: ", "fleet.yaml:5:12: ", "units.yaml:2:21: ",
                             "units.yaml:2:39: ", "groups/signals.yaml:1:21: "}));
  CHECK(tree.faults.sorted().size() == 5);
}

TEST_CASE("the newcomer's fleet loads without a fault") {
  Faults faults;
  const Fleet fleet = load_fleet(SOURCE_DIR "/inventories/first", schemas, faults);
  for (const Fault& fault : faults.sorted()) UNSCOPED_INFO(fault.str());
  REQUIRE_FALSE(faults.any());
  REQUIRE(fleet.units.size() == 1);
  CHECK(fleet.units[0].host == "127.0.0.1");
  CHECK(fleet.units[0].port == 16100);
  CHECK(fleet.units[0].desired.values.size() == 4);
}
