#include "fleet/tree.h"

using namespace vergeset;
using namespace vergeset::fleet;

namespace {

const std::string digest(64, 'a');
const std::string fingerprint = "sha256:" + digest;

std::string with_credential(const std::string& credential, const std::string& added = {}) {
  return "fleet: L\ncredentials:\n  " + credential + "\n" + added;
}

void check_credential(const std::string& credential, const std::vector<std::string>& words) {
  check_wrong({{"units.yaml", two_units}}, "fleet.yaml", {with_credential(credential), words});
}

/// The credential `a`, which must be without fault.
Credential credential_of(const std::string& text, const std::string& added = {}) {
  const Tree tree({{"fleet.yaml", with_credential("a: " + text, added)}, {"units.yaml", two_units}});
  INFO(text << "\n" << tree.report());
  REQUIRE_FALSE(tree.faults.any());
  return tree.fleet.credentials.at("a");
}

const std::string secrets = "auth-secret: {env: A}, privacy-secret: {env: P}";

}  // namespace

TEST_CASE("a user may speak at each security level, and says why where it is not the highest") {
  // RFC 3411 3.4.3
  const Credential plain = credential_of("{user: u, auth: none, insecure: units of 2009}");
  CHECK(plain.kind == Credential::Kind::user);
  CHECK(plain.auth == "none");
  CHECK(plain.privacy == "none");
  CHECK(plain.auth_secret.kind == SecretSource::Kind::none);
  CHECK(weaknesses(plain) == std::vector<std::string>{"no authentication", "no privacy"});

  const Credential open =
      credential_of("{user: u, privacy: none, auth-secret: {env: A}, insecure: units of 2009}");
  CHECK(open.auth == "SHA-256");
  CHECK(open.privacy == "none");
  CHECK(open.auth_secret.where == "A");
  CHECK(open.privacy_secret.kind == SecretSource::Kind::none);
  CHECK(weaknesses(open) == std::vector<std::string>{"no privacy"});
  CHECK(weaknesses(credential_of("{user: u, " + secrets + "}")).empty());
}

TEST_CASE("a secret that a level has no use for is refused") {
  check_credential("a: {user: u, auth: none, insecure: old, auth-secret: @@{env: A}}", {"of no use", "none"});
  check_credential(
      "a: {user: u, privacy: none, insecure: old, auth-secret: {env: A}, privacy-secret: @@{env: P}}",
      {"of no use", "privacy is none"});
  check_credential("a: {user: u, auth: none, privacy: @@AES-128, insecure: old, privacy-secret: {env: P}}",
                   {"no privacy without authentication"});
}

TEST_CASE("a community is spoken with in SNMPv1 and SNMPv2c, and says why") {
  for (const std::string version : {"1", "2c"}) {
    const Credential credential =
        credential_of("{version: " + version + ", community: {env: OLD}, insecure: units of 2009}");
    CHECK(credential.kind == Credential::Kind::community);
    CHECK(credential.version == version);
    CHECK(credential.community.where == "OLD");
    REQUIRE(weaknesses(credential).size() == 1);
    CHECK(says(weaknesses(credential).front(), {"SNMPv" + version, "in the clear"}));
  }
  check_credential("a: {version: @@2c, community: {env: C}}", {"in the clear", "insecure:"});
  check_credential("a: {version: @@2, community: {env: C}, insecure: old}", {"1 or 2c", "found 2"});
  check_credential("a: {version: @@3, community: {env: C}, insecure: old}", {"SNMPv3 has no community"});
  check_credential("a: @@{community: {env: C}, insecure: old}", {"version", "missing"});
  check_credential("a: @@{version: 2c, insecure: old}", {"community", "missing"});
  check_credential("a: {version: 2c, community: {env: C}, @@user: u, insecure: old}", {"unknown key"});
  check_credential("a: {version: 2c, community: @@public, insecure: old}", {"where community comes from"});
}

TEST_CASE("a reason says why, and stands only where something is insecure") {
  for (const std::string none : {"true", "yes", "''"}) {
    check_credential("a: {user: u, auth: MD5, " + secrets + ", insecure: @@" + none + "}", {"expected why"});
  }
  check_credential("a: {user: u, " + secrets + ", insecure: @@units of 2014}", {"nothing", "is insecure"});
}

TEST_CASE("a credential by certificate names what is ours and what is trusted") {
  const Credential credential = credential_of(
      "{transport: dtls, certificate: tls/manager.crt, key: {file: tls/manager.key}, trust: tls/ca.crt, "
      "fingerprint: \"sha256:" +
      std::string(32, 'A') + ":" + std::string(32, 'b') + "\"}");
  CHECK(credential.kind == Credential::Kind::certificate);
  CHECK(credential.certificate.datagrams);
  CHECK(credential.certificate.file == "tls/manager.crt");
  CHECK(credential.certificate.key.where == "tls/manager.key");
  CHECK(credential.certificate.trust == "tls/ca.crt");
  CHECK(credential.certificate.fingerprint == "sha256:" + std::string(32, 'a') + std::string(32, 'b'));
  CHECK(weaknesses(credential).empty());

  const std::string old = "{transport: tls, certificate: c, key: {file: k}, trust: t, oldest-tls: ";
  CHECK(credential_of(old + "1.0, insecure: net-snmp 5.9}").certificate.old_versions);
  CHECK_FALSE(credential_of(old + "1.2}").certificate.old_versions);
  check_credential("a: {transport: tls, certificate: c, key: {file: k}, trust: t, oldest-tls: @@1.0}",
                   {"TLS 1.0 is broken", "insecure:"});
  check_credential("a: {transport: tls, certificate: c, key: {file: k}, trust: t, oldest-tls: @@1.1}",
                   {"expected 1.0 or 1.2"});

  const std::string rest = "certificate: c, key: {file: k}, trust: t}";
  check_credential("a: {transport: @@udp, " + rest, {"tls or dtls", "found udp"});
  check_credential("a: @@{" + rest, {"transport", "missing"});
  check_credential("a: @@{transport: tls, key: {file: k}, trust: t}", {"certificate", "missing"});
  check_credential("a: @@{transport: tls, certificate: c, trust: t}", {"key", "missing"});
  check_credential("a: {transport: tls, certificate: @@'', key: {file: k}, trust: t}", {"empty"});
  check_credential(
      "a: {transport: tls, certificate: c, key: {file: k}, trust: t, fingerprint: @@\"sha1:aa\"}",
      {"sha256:1f:0a", "found sha1:aa"});
}

TEST_CASE("a unit spoken to by certificate has port 10161 and may have a fingerprint of its own") {
  const std::string by_certificate = "a: {transport: tls, certificate: c, key: {file: k}}";
  const Tree tree({{"fleet.yaml", with_credential(by_certificate)},
                   {"units.yaml",
                    "units:\n"
                    "  LK-101: {address: 127.0.0.1, model: rsu-4.1, fingerprint: \"" +
                        fingerprint + "\"}\n"}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.unit("LK-101").port == 10161);  // RFC 6353 7.1: snmptls
  CHECK(tree.unit("LK-101").fingerprint == fingerprint);

  const Tree csv(
      {{"fleet.yaml", with_credential(by_certificate, "port: 20161\n")},
       {"units.csv", "unit,address,model,fingerprint\nLK-101,127.0.0.1,rsu-4.1," + fingerprint + "\n"}});
  INFO(csv.report());
  REQUIRE_FALSE(csv.faults.any());
  CHECK(csv.unit("LK-101").port == 20161);
  CHECK(csv.unit("LK-101").fingerprint == fingerprint);

  check_wrong({{"fleet.yaml", with_credential(by_certificate)}}, "units.yaml",
              {"units:\n  @@LK-101: {address: 127.0.0.1, model: rsu-4.1}\n",
               {"nothing says which certificate unit LK-101 has", "trust:"}});
  check_wrong({{"fleet.yaml", with_credential(by_certificate)}}, "units.yaml",
              {"units:\n  LK-101: {address: 127.0.0.1, model: rsu-4.1, fingerprint: @@\"sha256:aa\"}\n",
               {"64 hex digits"}});
  check_wrong(
      {{"fleet.yaml", least_fleet}}, "units.yaml",
      {"units:\n  LK-101: {address: 127.0.0.1, model: rsu-4.1, fingerprint: @@\"" + fingerprint + "\"}\n",
       {"not spoken to by certificate"}});
}

TEST_CASE("keys that vergeset keeps need a key store") {
  const Credential stored =
      credential_of("{user: u, keys: store}", "key-store: {file: keys/larkmoor.keys}\n");
  CHECK(stored.stored);
  CHECK(stored.auth == "SHA-256");
  CHECK(stored.auth_secret.kind == SecretSource::Kind::none);
  check_credential("@@a: {user: u, keys: store}", {"the fleet has none", "key-store:"});
  check_wrong({{"units.yaml", two_units}}, "fleet.yaml",
              {with_credential("a: {user: u, keys: @@file}", "key-store: {file: k}\n"), {"expected store"}});
  check_wrong(
      {{"units.yaml", two_units}}, "fleet.yaml",
      {with_credential("a: {user: u, keys: store, auth-secret: @@{env: A}}", "key-store: {file: k}\n"),
       {"of no use", "key store"}});
}

TEST_CASE("a key store is a file or two commands") {
  const Tree commands(
      {{"fleet.yaml", least_fleet + "key-store: {get: pass show keys, put: pass insert -mf keys}\n"},
       {"units.yaml", two_units}});
  INFO(commands.report());
  REQUIRE_FALSE(commands.faults.any());
  REQUIRE(commands.fleet.key_store);
  CHECK(commands.fleet.key_store->file.empty());
  CHECK(commands.fleet.key_store->get == "pass show keys");
  CHECK(commands.fleet.key_store->put == "pass insert -mf keys");

  const auto check_store = [](const std::string& store, const std::vector<std::string>& words) {
    check_wrong({{"units.yaml", two_units}}, "fleet.yaml",
                {least_fleet + "key-store: " + store + "\n", words});
  };
  check_store("@@{file: a, get: b, put: c}", {"not both"});
  check_store("@@{get: b}", {"both get and put"});
  check_store("@@keys", {"where keys are kept"});
  check_store("{file: @@''}", {"empty"});
  check_store("{@@flie: a, file: b}", {"flie", "did you mean file"});
}

TEST_CASE("factory credentials are credentials of the fleet, each once") {
  const std::string two = least_fleet + "  factory: {user: admin, " + secrets + "}\n";
  const Tree tree({{"fleet.yaml", two + "credential: larkmoor\nfactory-credentials: [factory, larkmoor]\n"},
                   {"units.yaml", two_units}});
  INFO(tree.report());
  REQUIRE_FALSE(tree.faults.any());
  CHECK(tree.fleet.factory_credentials == std::vector<std::string>{"factory", "larkmoor"});

  const auto check_list = [&](const std::string& list, const std::vector<std::string>& words) {
    check_wrong({{"units.yaml", two_units}}, "fleet.yaml",
                {two + "credential: larkmoor\n" + list + "\n", words});
  };
  check_list("factory-credentials: [@@factry]", {"no credential is called factry", "did you mean factory"});
  check_list("factory-credentials: [factory, @@factory]", {"twice"});
  const std::string stored = least_fleet + "  own: {user: v, keys: store}\nkey-store: {file: k}\n";
  check_wrong({{"units.yaml", two_units}}, "fleet.yaml",
              {stored + "credential: larkmoor\nfactory-credentials: [@@own]\n", {"made by vergeset"}});
}

TEST_CASE("a command that gives a secret is not given those of the environment") {
  const Credential given = credential_of(
      "{user: u, auth-secret: {env: A}, privacy-secret: {command: give}}\n"
      "  b: {version: 2c, community: {env: C}, insecure: units of 2009}",
      "credential: a\n");
  CHECK(given.privacy_secret.withheld == std::vector<std::string>{"A", "C"});
  CHECK(given.auth_secret.withheld.empty());
}
