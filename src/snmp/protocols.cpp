#include "snmp/protocols.h"

#include <span>
#include <string>
#include <vector>

#include "smi/suggest.h"

namespace vergeset::snmp {

namespace {

struct Protocol {
  const char* name;
  int number;
};

constexpr Protocol auth_protocols[] = {
    {"none", NETSNMP_USMAUTH_NOAUTH},           {"MD5", NETSNMP_USMAUTH_HMACMD5},
    {"SHA-1", NETSNMP_USMAUTH_HMACSHA1},        {"SHA-224", NETSNMP_USMAUTH_HMAC128SHA224},
    {"SHA-256", NETSNMP_USMAUTH_HMAC192SHA256}, {"SHA-384", NETSNMP_USMAUTH_HMAC256SHA384},
    {"SHA-512", NETSNMP_USMAUTH_HMAC384SHA512}};

// AES-192 and AES-256 as agents commonly have them (draft-blumenthal-aes-usm-04); no RFC has them.
constexpr Protocol privacy_protocols[] = {{"none", USM_CREATE_USER_PRIV_NONE},
                                          {"DES", USM_CREATE_USER_PRIV_DES},
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

std::string_view name_of(std::span<const Protocol> protocols, int number) {
  for (const Protocol& protocol : protocols) {
    if (protocol.number == number) return protocol.name;
  }
  return {};
}

}  // namespace

Result<int> auth_number(std::string_view name) {
  return find(auth_protocols, "authentication", name);
}

Result<int> privacy_number(std::string_view name) {
  return find(privacy_protocols, "privacy", name);
}

std::string_view auth_name(int auth) {
  return name_of(auth_protocols, auth);
}

std::string_view privacy_name(int privacy) {
  return name_of(privacy_protocols, privacy);
}

ObjectId auth_oid(int auth) {
  std::size_t size = 0;
  const oid* arcs = sc_get_auth_oid(auth, &size);
  return {arcs, size};
}

ObjectId privacy_oid(int privacy) {
  std::size_t size = 0;
  const oid* arcs = sc_get_priv_oid(privacy, &size);
  return {arcs, size};
}

std::size_t hash_size(int auth) {
  const int size = sc_get_proper_auth_length_bytype(auth);
  return size < 0 ? 0 : static_cast<std::size_t>(size);
}

std::size_t privacy_key_size(int privacy) {
  constexpr std::size_t des = 16;  // a key of eight octets and as many for the initialization vector
  if (privacy == USM_CREATE_USER_PRIV_DES) return des;
  const netsnmp_priv_alg_info* const cipher = sc_get_priv_alg_bytype(static_cast<u_int>(privacy));
  return cipher == nullptr ? 0 : static_cast<std::size_t>(cipher->proper_length);
}

std::optional<Problem> make_key(std::string_view kind, int auth, std::string_view password, Key& key) {
  if (password.size() < USM_LENGTH_P_MIN) {
    return Problem{"the " + std::string(kind) +
                   " secret is shorter than the eight octets that SNMPv3 wants (RFC 3414 11.2)"};
  }
  start_library();
  const ObjectId hash = auth_oid(auth);
  key.size = key.octets.size();
  if (generate_Ku(hash.arcs, static_cast<u_int>(hash.size), reinterpret_cast<const u_char*>(password.data()),
                  password.size(), key.octets.data(), &key.size) != SNMPERR_SUCCESS) {
    return Problem{"no key could be made of the " + std::string(kind) +
                   " secret: this system's OpenSSL may forbid the hash"};
  }
  return {};
}

}  // namespace vergeset::snmp
