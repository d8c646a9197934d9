#include "fleet/credential.h"

#include <fmt/format.h>

#include <algorithm>

#include "fleet/names.h"
#include "smi/suggest.h"

namespace vergeset::fleet {

namespace {

const std::vector<std::string> auth_names = {"MD5", "SHA-1", "SHA-224", "SHA-256", "SHA-384", "SHA-512"};
const std::vector<std::string> privacy_names = {"DES", "AES-128", "AES-192", "AES-256"};

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
  const std::string text = entry.text("a protocol");
  if (std::find(known.begin(), known.end(), text) != known.end()) return text;
  if (text == "none") {
    entry.fault(key + ": none is not supported: SNMPv3 is spoken with both authentication and privacy");
  } else if (entry.is_text()) {
    // Shown only where it is close to a protocol: it may be a secret that someone put here.
    const std::string suggestion = smi::suggestion(text, known);
    entry.fault(fmt::format(
        "expected one of {} for {}{}", fmt::join(known, ", "), key,
        suggestion.empty() ? "; the secret goes under " + key + "-secret" : ", found " + text + suggestion));
  }
  return fallback;
}

/// MD5 and DES are broken; who must still speak them says why.
void check_strength(const Credential& credential, const schema::Entry& map) {
  const auto demand = [&](const std::string& key, const std::string& weak) {
    map.at(key).fault(weak + " is broken; use " + (weak == "MD5" ? "SHA-256" : "AES-128") +
                      ", or state why not: insecure: \"a reason\"");
  };
  if (!credential.insecure.empty()) return;
  if (credential.auth == "MD5") demand("auth", "MD5");
  if (credential.privacy == "DES") demand("privacy", "DES");
}

Credential read_credential(const schema::Entry& name, const schema::Entry& map) {
  map.only({"user", "auth", "auth-secret", "privacy", "privacy-secret", "insecure"});
  Credential credential;
  credential.name = name.text("a credential's name");
  credential.place = name.place();
  const schema::Entry user = map.need("user");
  if (user) credential.user = user.text("the name of an SNMPv3 user");
  if (user.is_text() && (credential.user.empty() || credential.user.size() > 32)) {
    user.fault("expected a user name of 1 to 32 characters");
  }
  credential.auth = read_protocol(map, "auth", auth_names, "SHA-256");
  credential.privacy = read_protocol(map, "privacy", privacy_names, "AES-128");
  credential.auth_secret = read_source(map, "auth-secret");
  credential.privacy_secret = read_source(map, "privacy-secret");
  if (const schema::Entry insecure = map.at("insecure")) credential.insecure = insecure.text("a reason");
  check_strength(credential, map);
  return credential;
}

}  // namespace

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
  return credentials;
}

}  // namespace vergeset::fleet
