#include "fleet/credential.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "fleet/names.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

const std::vector<std::string> auth_names = {"none",    "MD5",     "SHA-1",  "SHA-224",
                                             "SHA-256", "SHA-384", "SHA-512"};
const std::vector<std::string> privacy_names = {"none", "DES", "AES-128", "AES-192", "AES-256"};

bool variable_name(const std::string& text) {
  return !text.empty() && (text[0] < '0' || text[0] > '9') &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '_';
         });
}

SecretSource read_source(const schema::Entry& credential, const std::string& key) {
  const schema::Entry map = credential.need(key);
  SecretSource source;
  if (!map) return source;
  source.place = map.place();
  const auto pairs =
      map.is_map() ? map.pairs("a source") : std::vector<std::pair<schema::Entry, schema::Entry>>{};
  if (pairs.size() != 1 || !pairs[0].second.is_text()) {
    map.fault("expected where " + key +
              " comes from, as in {env: NAME}, {file: PATH} or {command: LINE}; a secret never stands in "
              "these files");
    return source;
  }
  const std::string kind = pairs[0].first.text("env, file or command");
  source.where = pairs[0].second.text("a source");
  if (source.where.empty()) {
    pairs[0].second.fault("expected a text behind " + kind + ", found an empty one");
  } else if (kind == "env" && !variable_name(source.where)) {
    pairs[0].second.fault("expected the name of an environment variable: letters, digits and _");
  } else if (kind == "env") {
    source.kind = SecretSource::Kind::environment;
  } else if (kind == "file") {
    source.kind = SecretSource::Kind::file;
  } else if (kind == "command") {
    source.kind = SecretSource::Kind::command;
  } else {
    pairs[0].first.fault("expected env, file or command, found " + kind +
                         smi::suggestion(kind, {"env", "file", "command"}));
  }
  return source;
}

/// One of `known`, or the default where it is not given.
std::string read_protocol(const schema::Entry& credential, const std::string& key,
                          const std::vector<std::string>& known, const std::string& fallback) {
  const schema::Entry entry = credential.at(key);
  if (!entry) return fallback;
  std::string text = entry.text("a protocol");
  if (std::find(known.begin(), known.end(), text) != known.end()) return text;
  if (entry.is_text()) {
    // Shown only where it is close to a protocol: it may be a secret that someone put here.
    const std::string suggestion = smi::suggestion(text, known);
    entry.fault(fmt::format(
        "expected one of {} for {}{}", fmt::join(known, ", "), key,
        suggestion.empty() ? "; the secret goes under " + key + "-secret" : ", found " + text + suggestion));
  }
  return fallback;
}

/// A path or another text that is not empty.
std::string read_text(const schema::Entry& map, const std::string& key, const std::string& expected) {
  const schema::Entry entry = map.at(key);
  if (!entry) return "";
  std::string text = entry.text(expected);
  if (entry.is_text() && text.empty()) entry.fault("expected " + expected + ", found an empty text");
  return text;
}

/// A secret that is not there because nothing wants it; one that stands there is a fault.
void refuse_secret(const schema::Entry& map, const std::string& key, const std::string& why) {
  if (const schema::Entry entry = map.at(key)) entry.fault(key + " is of no use: " + why);
}

void read_user(const schema::Entry& map, Credential& credential) {
  const schema::Entry user = map.need("user");
  if (user) credential.user = user.text("the name of an SNMPv3 user");
  if (user.is_text() && (credential.user.empty() || credential.user.size() > 32)) {
    user.fault("expected a user name of 1 to 32 characters");
  }
  credential.auth = read_protocol(map, "auth", auth_names, "SHA-256");
  const bool none = credential.auth == "none";
  credential.privacy = read_protocol(map, "privacy", privacy_names, none ? "none" : "AES-128");
  if (none && credential.privacy != "none") {
    map.at("privacy").fault(
        "there is no privacy without authentication (RFC 3411 3.4.3); write privacy: none");
  }
}

/// `keys: store`.
bool read_stored(const schema::Entry& map) {
  const schema::Entry keys = map.at("keys");
  if (!keys) return false;
  const std::string text = keys.text("store");
  if (keys.is_text() && text != "store") keys.fault("expected store: the keys that vergeset made and keeps");
  return true;
}

void read_user_credential(const schema::Entry& map, Credential& credential) {
  map.only({"user", "auth", "auth-secret", "privacy", "privacy-secret", "keys", "insecure"});
  read_user(map, credential);
  credential.stored = read_stored(map);
  const auto read = [&](const std::string& key, const std::string& protocol, SecretSource& source) {
    const std::string secret = key + "-secret";
    if (credential.stored) {
      refuse_secret(map, secret, "the keys are those of the key store (keys: store)");
    } else if (protocol == "none") {
      refuse_secret(map, secret, key + " is none");
    } else {
      source = read_source(map, secret);
    }
  };
  read("auth", credential.auth, credential.auth_secret);
  read("privacy", credential.privacy, credential.privacy_secret);
}

void read_community_credential(const schema::Entry& map, Credential& credential) {
  map.only({"version", "community", "insecure"});
  const schema::Entry version = map.need("version");
  credential.version = "2c";
  if (version) credential.version = version.text("1 or 2c");
  if (version.is_text() && credential.version != "1" && credential.version != "2c") {
    version.fault("expected version 1 or 2c, found " + credential.version +
                  "; SNMPv3 has no community, but user, auth-secret and privacy-secret");
  }
  credential.community = read_source(map, "community");
}

std::string read_fingerprint(const schema::Entry& map) {
  const schema::Entry entry = map.at("fingerprint");
  if (!entry) return "";
  const std::string text = entry.text("a fingerprint");
  if (!entry.is_text()) return "";
  const auto fingerprint = parse_fingerprint(text);
  if (!fingerprint) {
    entry.fault(fmt::format(
        "expected a fingerprint as in sha256:1f:0a:..., 64 hex digits behind sha256:, found {}", text));
  }
  return fingerprint.value_or("");
}

/// `oldest-tls:`; whether it is one that RFC 8996 forbids.
bool read_oldest(const schema::Entry& map) {
  const schema::Entry entry = map.at("oldest-tls");
  if (!entry) return false;
  const std::string text = entry.text("1.0 or 1.2");
  if (entry.is_text() && text != "1.0" && text != "1.2") entry.fault("expected 1.0 or 1.2, found " + text);
  return text == "1.0";
}

void read_certificate_credential(const schema::Entry& map, Credential& credential) {
  map.only({"transport", "certificate", "key", "trust", "fingerprint", "oldest-tls", "insecure"});
  const schema::Entry transport = map.need("transport");
  std::string text = "tls";
  if (transport) text = transport.text("tls or dtls");
  if (transport.is_text() && text != "tls" && text != "dtls") {
    transport.fault("expected tls or dtls, found " + text + smi::suggestion(text, {"tls", "dtls"}));
  }
  Certificate& certificate = credential.certificate;
  certificate.datagrams = text == "dtls";
  map.need("certificate");
  certificate.file = read_text(map, "certificate", "the path of our certificate");
  certificate.key = read_source(map, "key");
  certificate.trust = read_text(map, "trust", "the path of the certificates that units' are signed by");
  certificate.fingerprint = read_fingerprint(map);
  certificate.old_versions = read_oldest(map);
}

/// A weakness, and the key under which it was asked for.
struct Weakness {
  const char* key;
  std::string what;
  const char* instead;
};

std::vector<Weakness> weaknesses_of(const Credential& credential) {
  std::vector<Weakness> found;
  if (credential.kind == Credential::Kind::community) {
    found.push_back({"version",
                     "SNMPv" + credential.version + " sends its community and all values in the clear",
                     "SNMPv3: user, auth-secret and privacy-secret"});
  }
  if (credential.certificate.old_versions) {
    found.push_back({"oldest-tls", "TLS 1.0 is broken", "1.2"});
  }
  if (credential.kind != Credential::Kind::user) return found;
  if (credential.auth == "none") found.push_back({"auth", "no authentication", "SHA-256"});
  if (credential.auth == "MD5") found.push_back({"auth", "MD5 is broken", "SHA-256"});
  if (credential.privacy == "none") found.push_back({"privacy", "no privacy", "AES-128"});
  if (credential.privacy == "DES") found.push_back({"privacy", "DES is broken", "AES-128"});
  return found;
}

/// Who must still speak so says why.
void check_strength(const Credential& credential, const schema::Entry& map) {
  const schema::Entry insecure = map.at("insecure");
  const std::vector<Weakness> found = weaknesses_of(credential);
  if (!insecure) {
    for (const Weakness& one : found) {
      const schema::Entry entry = map.at(one.key);
      (entry ? entry : map)
          .fault(fmt::format("{}; use {}, or state why not: insecure: \"a reason\"", one.what, one.instead));
    }
    return;
  }
  const std::string& reason = credential.insecure;
  if (!insecure.is_text()) return;
  if (reason.empty() || reason == "true" || reason == "yes" || reason == "on") {
    insecure.fault("expected why this is so, as in insecure: \"units of 2014 know nothing better\"");
  } else if (found.empty() && !map.blamed()) {
    insecure.fault("nothing about this credential is insecure; take this line out");
  }
}

Credential read_credential(const schema::Entry& name, const schema::Entry& map) {
  Credential credential;
  credential.name = name.text("a credential's name");
  credential.place = name.place();
  if (map.at("version") || map.at("community")) {
    credential.kind = Credential::Kind::community;
    read_community_credential(map, credential);
  } else if (map.at("transport") || map.at("certificate")) {
    credential.kind = Credential::Kind::certificate;
    read_certificate_credential(map, credential);
  } else {
    read_user_credential(map, credential);
  }
  if (const schema::Entry insecure = map.at("insecure")) credential.insecure = insecure.text("a reason");
  check_strength(credential, map);
  return credential;
}

template <class Held>
auto sources_of(Held& credential) {
  return std::array{&credential.auth_secret, &credential.privacy_secret, &credential.community,
                    &credential.certificate.key};
}

/// A command that gives one secret has no need of others that stand in variables.
void withhold_secrets(std::map<std::string, Credential>& credentials) {
  const std::vector<std::string> variables = secret_variables(credentials);
  for (auto& [name, credential] : credentials)
    for (SecretSource* source : sources_of(credential))
      if (source->kind == SecretSource::Kind::command) source->withheld = variables;
}

}  // namespace

std::vector<std::string> secret_variables(const std::map<std::string, Credential>& credentials) {
  std::vector<std::string> variables;
  for (const auto& [name, credential] : credentials)
    for (const SecretSource* source : sources_of(credential))
      if (source->kind == SecretSource::Kind::environment) variables.push_back(source->where);
  return variables;
}

std::map<std::string, Credential> read_credentials(const schema::Entry& map) {
  std::map<std::string, Credential> credentials;
  if (map.is_nothing()) return credentials;
  if (!map.is_map()) {
    map.fault("expected credentials, each under its name, with user, auth-secret and privacy-secret");
    return credentials;
  }
  for (const auto& [name, credential] : map.pairs("credentials")) {
    if (!credential.is_map()) {
      name.fault("expected user, auth-secret and privacy-secret of this credential");
      credentials[name.text("a name")] = {};  // known, so that naming it is no further fault
      continue;
    }
    credentials.emplace(name.text("a name"), read_credential(name, credential));
  }
  withhold_secrets(credentials);
  return credentials;
}

std::vector<std::string> weaknesses(const Credential& credential) {
  std::vector<std::string> texts;
  for (Weakness& one : weaknesses_of(credential)) texts.push_back(std::move(one.what));
  return texts;
}

std::optional<KeyStore> read_key_store(const schema::Entry& map) {
  if (!map) return std::nullopt;
  map.only({"file", "get", "put"});
  if (!map.is_map()) {
    map.fault(
        "expected where keys are kept, as in {file: keys/larkmoor.keys} or {get: COMMAND, put: COMMAND}");
    return std::nullopt;
  }
  KeyStore store;
  store.place = map.place();
  store.file = read_text(map, "file", "the path of the key store");
  store.get = read_text(map, "get", "a command that prints the key store");
  store.put = read_text(map, "put", "a command that takes the key store");
  const bool commands = map.at("get") || map.at("put");
  if (map.at("file") && commands) {
    map.fault("a key store is a file, or the commands get and put, not both");
  } else if (!map.at("file") && !(map.at("get") && map.at("put"))) {
    map.fault("expected file, or both get and put: what is put must be got back");
  }
  return store;
}

std::optional<std::string> parse_fingerprint(const std::string& text) {
  constexpr std::string_view hash = "sha256:";
  constexpr int all = 64;
  if (text.rfind(hash, 0) != 0) return std::nullopt;
  std::string fingerprint(hash);
  int digits = 0;
  for (std::size_t i = hash.size(); i < text.size(); ++i) {
    const char c = text[i];
    if (c == ':') continue;
    const bool upper = c >= 'A' && c <= 'F';
    if (!upper && (c < '0' || c > '9') && (c < 'a' || c > 'f')) return std::nullopt;
    fingerprint += upper ? static_cast<char>(c - 'A' + 'a') : c;
    ++digits;
  }
  if (digits != all) return std::nullopt;
  return fingerprint;
}

}  // namespace vergeset::fleet
