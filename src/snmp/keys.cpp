#include <cstring>
#include <span>
#include <string>
#include <utility>

#include "smi/suggest.h"
#include "snmp/library.h"
#include "snmp/udp_network.h"
#include "snmp/user_keys.h"

namespace vergeset::snmp {

namespace {

struct Protocol {
  const char* name;
  int number;
};

constexpr Protocol auth_protocols[] = {
    {"MD5", NETSNMP_USMAUTH_HMACMD5},           {"SHA-1", NETSNMP_USMAUTH_HMACSHA1},
    {"SHA-224", NETSNMP_USMAUTH_HMAC128SHA224}, {"SHA-256", NETSNMP_USMAUTH_HMAC192SHA256},
    {"SHA-384", NETSNMP_USMAUTH_HMAC256SHA384}, {"SHA-512", NETSNMP_USMAUTH_HMAC384SHA512}};

// AES-192 and AES-256 as agents commonly have them (draft-blumenthal-aes-usm-04); no RFC has them.
constexpr Protocol privacy_protocols[] = {{"DES", USM_CREATE_USER_PRIV_DES},
                                          {"AES-128", USM_CREATE_USER_PRIV_AES},
                                          {"AES-192", USM_CREATE_USER_PRIV_AES192},
                                          {"AES-256", USM_CREATE_USER_PRIV_AES256}};

Result<int> find(std::span<const Protocol> protocols, std::string_view kind, std::string_view name) {
  std::vector<std::string> names;
  std::string list;
  for (const Protocol& protocol : protocols) {
    if (name == protocol.name) return protocol.number;
    names.emplace_back(protocol.name);
    list += (list.empty() ? "" : ", ") + names.back();
  }
  return Problem{"unknown " + std::string(kind) + " protocol '" + std::string(name) + "', expected one of " +
                 list + smi::suggestion(name, names)};
}

struct ObjectId {
  const oid* arcs;
  std::size_t size;
};

ObjectId auth_oid(int protocol) {
  std::size_t size = 0;
  const oid* arcs = sc_get_auth_oid(protocol, &size);
  return {arcs, size};
}

const u_char* octets(std::string_view text) {
  return reinterpret_cast<const u_char*>(text.data());
}

/// RFC 3414 A.2: a megabyte of the password, hashed.
std::optional<Problem> make_key(std::string_view kind, int auth, std::string_view password, Key& key) {
  if (password.size() < USM_LENGTH_P_MIN) {
    return Problem{"the " + std::string(kind) +
                   " secret is shorter than the eight octets that SNMPv3 wants (RFC 3414 11.2)"};
  }
  start_library();
  const ObjectId hash = auth_oid(auth);
  key.size = key.octets.size();
  if (generate_Ku(hash.arcs, static_cast<u_int>(hash.size), octets(password), password.size(),
                  key.octets.data(), &key.size) != SNMPERR_SUCCESS) {
    return Problem{"no key could be made of the " + std::string(kind) +
                   " secret: this system's OpenSSL may forbid the hash"};
  }
  return {};
}

}  // namespace

void wipe(void* place, std::size_t size) {
  explicit_bzero(place, size);
}

Key::~Key() {
  wipe(octets.data(), octets.size());
}

Secret::Secret(std::string text) : text_(text) {
  wipe(text.data(), text.size());
}

Secret::Secret(Secret&& other) noexcept {
  *this = std::move(other);
}

Secret& Secret::operator=(Secret&& other) noexcept {
  if (this == &other) return *this;
  wipe(text_.data(), text_.size());
  const std::size_t size = other.text_.size();
  text_ = std::move(other.text_);
  // A short string is copied, not handed over: what stays behind goes too.
  other.text_.resize(std::min(size, other.text_.capacity()));
  wipe(other.text_.data(), other.text_.size());
  other.text_.clear();
  return *this;
}

Secret::~Secret() {
  wipe(text_.data(), text_.size());
}

Result<std::shared_ptr<const UserKeys>> derive_keys(std::string user, std::string_view auth,
                                                    const Secret& auth_secret, std::string_view privacy,
                                                    const Secret& privacy_secret) {
  if (user.empty() || user.size() > 32) {
    return Problem{"an SNMPv3 user name has 1 to 32 octets (RFC 3414, usmUserName), this one has " +
                   std::to_string(user.size())};
  }
  const auto auth_number = find(auth_protocols, "authentication", auth);
  if (!auth_number) return Problem{auth_number.problem()};
  const auto privacy_number = find(privacy_protocols, "privacy", privacy);
  if (!privacy_number) return Problem{privacy_number.problem()};

  auto keys = std::make_shared<UserKeys>();
  keys->user = std::move(user);
  keys->auth = *auth_number;
  keys->privacy = *privacy_number;
  if (auto problem = make_key("authentication", keys->auth, auth_secret.text(), keys->auth_key)) {
    return *problem;
  }
  if (auto problem = make_key("privacy", keys->auth, privacy_secret.text(), keys->privacy_key)) {
    return *problem;
  }
  return std::shared_ptr<const UserKeys>(std::move(keys));
}

Result<std::string> password_to_key(std::string_view auth, std::string_view password) {
  const auto number = find(auth_protocols, "authentication", auth);
  if (!number) return Problem{number.problem()};
  Key key;
  if (auto problem = make_key("authentication", *number, password, key)) return *problem;
  return std::string(key.octets.begin(), key.octets.begin() + static_cast<std::ptrdiff_t>(key.size));
}

Result<std::string> localize_key(std::string_view auth, std::string_view key, std::string_view engine_id) {
  const auto number = find(auth_protocols, "authentication", auth);
  if (!number) return Problem{number.problem()};
  start_library();
  const ObjectId hash = auth_oid(*number);
  Key localized;
  localized.size = localized.octets.size();
  if (generate_kul(hash.arcs, static_cast<u_int>(hash.size), octets(engine_id), engine_id.size(), octets(key),
                   key.size(), localized.octets.data(), &localized.size) != SNMPERR_SUCCESS) {
    return Problem{"a key of " + std::to_string(key.size()) + " octets does not go with " +
                   std::string(auth) + " and an engine id of " + std::to_string(engine_id.size()) +
                   " octets"};
  }
  return std::string(localized.octets.begin(),
                     localized.octets.begin() + static_cast<std::ptrdiff_t>(localized.size));
}

}  // namespace vergeset::snmp
