#include "snmp/usm_message.h"

#include <openssl/crypto.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <utility>
#include <vector>

#include "smi/secret.h"
#include "snmp/ber.h"
#include "snmp/key_change.h"
#include "snmp/library.h"
#include "snmp/message.h"
#include "snmp/protocols.h"

namespace vergeset::snmp {

namespace {

constexpr std::int64_t usm_model = 3;  // RFC 3411, SnmpSecurityModel
constexpr std::int64_t greatest = 2147483647;
constexpr std::size_t most_engine = 32;  // RFC 3411, SnmpEngineID
constexpr std::size_t most_user = 32;    // RFC 3414, usmUserName
constexpr std::size_t salt_size = 8;     // RFC 3414 8.1.1.1, RFC 3826 3.1.2.1
constexpr std::int64_t least_message = 484;
constexpr unsigned char auth_flag = 1;  // RFC 3412 6.4
constexpr unsigned char privacy_flag = 2;
constexpr unsigned char reportable_flag = 4;

const u_char* as_octets(std::string_view text) {
  return reinterpret_cast<const u_char*>(text.data());
}
u_char* as_octets(std::string& text) {
  return reinterpret_cast<u_char*>(text.data());
}

bool is_positive(std::int64_t number) {
  return number >= 0 && number <= greatest;
}

std::optional<int> level_of_flags(unsigned char flags) {
  const bool authentic = (flags & auth_flag) != 0;
  if ((flags & privacy_flag) == 0) return authentic ? SNMP_SEC_LEVEL_AUTHNOPRIV : SNMP_SEC_LEVEL_NOAUTH;
  return authentic ? std::optional<int>(SNMP_SEC_LEVEL_AUTHPRIV) : std::nullopt;
}

bool read_head(ber::Reader& body, UsmMessage& message) {
  ber::Reader head(body.take(ber::sequence));
  message.id = head.take_number();
  const std::int64_t most = head.take_number();
  const std::string_view flags = head.take(ber::octet_string);
  const std::int64_t model = head.take_number();
  if (head.bad() || !head.rest().empty() || flags.size() != 1 || model != usm_model) return false;
  if (!is_positive(message.id) || most < least_message || !is_positive(most)) return false;
  const auto octet = static_cast<unsigned char>(flags.front());
  const auto level = level_of_flags(octet);
  if (!level) return false;
  message.level = *level;
  message.reportable = (octet & reportable_flag) != 0;
  return true;
}

bool read_security(ber::Reader& body, UsmMessage& message) {
  ber::Reader outer(body.take(ber::octet_string));
  ber::Reader inner(outer.take(ber::sequence));
  message.engine_id = inner.take(ber::octet_string);
  const std::int64_t boots = inner.take_number();
  const std::int64_t time = inner.take_number();
  message.user = inner.take(ber::octet_string);
  message.digest = inner.take(ber::octet_string);
  message.salt = inner.take(ber::octet_string);
  if (outer.bad() || inner.bad() || !outer.rest().empty() || !inner.rest().empty()) return false;
  if (!is_positive(boots) || !is_positive(time)) return false;
  message.boots = static_cast<std::uint32_t>(boots);
  message.time = static_cast<std::uint32_t>(time);
  return message.engine_id.size() <= most_engine && message.user.size() <= most_user;
}

std::uint64_t next_salt() {
  static std::uint64_t salt = [] {
    std::uint64_t number = 0;
    const std::string random = random_octets(sizeof number);
    std::memcpy(&number, random.data(), sizeof number);
    return number;
  }();
  return ++salt;
}

void put_number(u_char* at, std::uint64_t number, std::size_t octets) {
  for (std::size_t i = 0; i < octets; ++i) at[i] = static_cast<u_char>(number >> (8 * (octets - 1 - i)));
}

/// The initialization vector out of the salt: with DES the second half of the key and the salt (RFC 3414
/// 8.1.1.1), with AES the engine's clock and the salt (RFC 3826 3.1.2.1).
std::vector<u_char> vector_of(const UsmKeys& keys, std::uint32_t boots, std::uint32_t time,
                              const u_char* salt) {
  if (keys.privacy == USM_CREATE_USER_PRIV_DES) {
    std::vector<u_char> iv(salt_size);
    for (std::size_t i = 0; i < salt_size; ++i)
      iv[i] = static_cast<u_char>(salt[i] ^ keys.privacy_key.octets[salt_size + i]);
    return iv;
  }
  std::vector<u_char> iv(2 * salt_size);
  put_number(iv.data(), boots, 4);
  put_number(iv.data() + 4, time, 4);
  std::memcpy(iv.data() + salt_size, salt, salt_size);
  return iv;
}

/// Octets that the cipher wants of a key.
u_int cipher_key_size(const UsmKeys& keys) {
  return static_cast<u_int>(keys.privacy == USM_CREATE_USER_PRIV_DES ? salt_size : keys.privacy_key.size);
}

std::string encipher(const UsmKeys& keys, const UsmHead& head, std::string_view plain, std::string& salt) {
  salt.assign(salt_size, '\0');
  const std::uint64_t number = next_salt();
  put_number(as_octets(salt), number, salt_size);
  if (keys.privacy == USM_CREATE_USER_PRIV_DES) put_number(as_octets(salt), head.boots, 4);
  std::vector<u_char> iv = vector_of(keys, head.boots, head.time, as_octets(std::string_view(salt)));
  const ObjectId cipher = privacy_oid(keys.privacy);
  std::string out(plain.size() + 2 * salt_size, '\0');
  std::size_t size = out.size();
  Key key;
  key.octets = keys.privacy_key.octets;
  const int result = sc_encrypt(cipher.arcs, cipher.size, key.octets.data(), cipher_key_size(keys), iv.data(),
                                static_cast<u_int>(iv.size()), as_octets(plain),
                                static_cast<u_int>(plain.size()), as_octets(out), &size);
  out.resize(result == SNMPERR_SUCCESS ? size : 0);
  return out;
}

/// The first octets of the keyed hash, as many as messages of this protocol carry; empty where there is none.
std::string keyed_hash(const UsmKeys& keys, std::string_view octets) {
  const int wanted = sc_get_auth_maclen(keys.auth);
  if (wanted <= 0) return {};
  const ObjectId hash = auth_oid(keys.auth);
  std::string digest(64, '\0');
  std::size_t size = digest.size();
  if (sc_generate_keyed_hash(hash.arcs, hash.size, keys.auth_key.octets.data(),
                             static_cast<u_int>(keys.auth_key.size), as_octets(octets),
                             static_cast<u_int>(octets.size()), as_octets(digest),
                             &size) != SNMPERR_SUCCESS) {
    return {};
  }
  digest.resize(std::min(size, static_cast<std::size_t>(wanted)));
  return digest;
}

bool localize_one(const Principal& principal, std::string_view engine_id, const Key& key, Key& out) {
  if (!principal.engine_id.empty()) {
    out.octets = key.octets;
    out.size = key.size;
    return true;
  }
  const ObjectId hash = auth_oid(principal.auth);
  out.size = out.octets.size();
  return generate_kul(hash.arcs, static_cast<u_int>(hash.size), as_octets(engine_id), engine_id.size(),
                      key.octets.data(), key.size, out.octets.data(), &out.size) == SNMPERR_SUCCESS;
}

/// To the length that the cipher wants.
bool fit(const Principal& principal, Key& key) {
  const std::string_view localized(reinterpret_cast<const char*>(key.octets.data()), key.size);
  auto fitted = fit_privacy_key(auth_name(principal.auth), privacy_name(principal.privacy), localized);
  if (!fitted || fitted->size() > key.octets.size()) return false;
  std::string octets = *std::move(fitted);
  octets.copy(reinterpret_cast<char*>(key.octets.data()), octets.size());
  key.size = octets.size();
  wipe(octets);
  return true;
}

}  // namespace

std::optional<std::int64_t> version_of(std::string_view octets) {
  ber::Reader whole(octets);
  ber::Reader body(whole.take(ber::sequence));
  const std::int64_t version = body.take_number();
  if (whole.bad() || body.bad()) return std::nullopt;
  const bool known = version == SNMP_VERSION_1 || version == SNMP_VERSION_2c || version == SNMP_VERSION_3;
  return known ? std::optional<std::int64_t>(version) : std::nullopt;
}

std::optional<UsmMessage> read_usm_message(std::string_view octets) {
  UsmMessage message;
  ber::Reader outer(octets);
  ber::Reader body(outer.take(ber::sequence));
  if (body.take_number() != SNMP_VERSION_3 || outer.bad() || !outer.rest().empty()) return std::nullopt;
  message.whole = octets;
  if (!read_head(body, message) || !read_security(body, message)) return std::nullopt;
  if (message.level == SNMP_SEC_LEVEL_AUTHPRIV) {
    message.data = body.take(ber::octet_string);
  } else {
    message.data = body.take_whole();
  }
  if (body.bad() || !body.rest().empty()) return std::nullopt;
  return message;
}

std::optional<ScopedPdu> read_scoped_pdu(std::string_view octets) {
  ber::Reader outer(octets);
  ScopedPdu scoped;
  scoped.whole = octets.substr(0, ber::value_size(octets).value_or(0));
  ber::Reader inner(outer.take(ber::sequence));
  scoped.context_engine = inner.take(ber::octet_string);
  inner.take(ber::octet_string);
  scoped.pdu = inner.rest();
  if (outer.bad() || inner.bad() || scoped.pdu.empty()) return std::nullopt;
  return scoped;
}

bool localize(const Principal& principal, std::string_view engine_id, UsmKeys& keys) {
  if (principal.model != Principal::Model::user) return false;
  if (!principal.engine_id.empty() && principal.engine_id != engine_id) return false;
  start_library();
  keys.level = principal.level;
  keys.auth = principal.auth;
  keys.privacy = principal.privacy;
  if (keys.level == SNMP_SEC_LEVEL_NOAUTH) return true;
  if (!localize_one(principal, engine_id, principal.auth_key, keys.auth_key)) return false;
  if (keys.level != SNMP_SEC_LEVEL_AUTHPRIV) return true;
  return localize_one(principal, engine_id, principal.privacy_key, keys.privacy_key) &&
         fit(principal, keys.privacy_key);
}

bool is_authentic(const UsmMessage& message, const UsmKeys& keys) {
  std::string octets(message.whole);
  const auto at = static_cast<std::size_t>(message.digest.data() - message.whole.data());
  if (message.digest.empty() || at + message.digest.size() > octets.size()) return false;
  std::memset(octets.data() + at, 0, message.digest.size());
  const std::string digest = keyed_hash(keys, octets);
  return digest.size() == message.digest.size() && !digest.empty() &&
         CRYPTO_memcmp(digest.data(), message.digest.data(), digest.size()) == 0;
}

std::optional<std::string> decrypted(const UsmMessage& message, const UsmKeys& keys) {
  const bool des = keys.privacy == USM_CREATE_USER_PRIV_DES;
  if (message.salt.size() != salt_size || message.data.empty()) return std::nullopt;
  if (des && message.data.size() % salt_size != 0) return std::nullopt;  // RFC 3414 8.3.2
  std::vector<u_char> iv = vector_of(keys, message.boots, message.time, as_octets(message.salt));
  const ObjectId cipher = privacy_oid(keys.privacy);
  std::string octets(message.data);
  std::string plain(octets.size() + salt_size, '\0');
  std::size_t size = plain.size();
  Key key;
  key.octets = keys.privacy_key.octets;
  if (sc_decrypt(cipher.arcs, cipher.size, key.octets.data(), cipher_key_size(keys), iv.data(),
                 static_cast<u_int>(iv.size()), as_octets(octets), static_cast<u_int>(octets.size()),
                 as_octets(plain), &size) != SNMPERR_SUCCESS ||
      size > plain.size()) {
    return std::nullopt;
  }
  plain.resize(size);
  return plain;
}

std::string write_usm_message(const UsmHead& head, const UsmKeys& keys, std::string_view scoped) {
  const bool authentic = head.level >= SNMP_SEC_LEVEL_AUTHNOPRIV;
  const bool is_private = head.level >= SNMP_SEC_LEVEL_AUTHPRIV;
  const char flags = static_cast<char>((authentic ? auth_flag : 0) | (is_private ? privacy_flag : 0) |
                                       (head.reportable ? reportable_flag : 0));
  std::string salt;
  const std::string hidden = is_private ? encipher(keys, head, scoped, salt) : std::string();
  if (scoped.size() > most_message_octets || (is_private && hidden.empty())) return {};
  const std::string data = is_private ? ber::tagged(ber::octet_string, hidden) : std::string(scoped);
  const std::string digest(
      authentic ? static_cast<std::size_t>(std::max(sc_get_auth_maclen(keys.auth), 0)) : 0, '\0');
  // What stands behind the digest, so that its place can be counted from the end.
  const std::string behind = ber::tagged(ber::octet_string, salt);
  const std::string security =
      ber::tagged(ber::sequence, ber::tagged(ber::octet_string, head.engine_id) + ber::number(head.boots) +
                                     ber::number(head.time) + ber::tagged(ber::octet_string, head.user) +
                                     ber::tagged(ber::octet_string, digest) + behind);
  const std::string global = ber::number(head.id) +
                             ber::number(static_cast<std::int64_t>(most_message_octets)) +
                             ber::tagged(ber::octet_string, {&flags, 1}) + ber::number(usm_model);
  const std::string body = ber::number(SNMP_VERSION_3) + ber::tagged(ber::sequence, global) +
                           ber::tagged(ber::octet_string, security) + data;
  if (body.size() > most_message_octets - 4) return {};
  std::string message = ber::tagged(ber::sequence, body);
  if (!authentic) return message;
  const std::string right = keyed_hash(keys, message);
  if (right.size() != digest.size()) return {};
  message.replace(message.size() - data.size() - behind.size() - digest.size(), digest.size(), right);
  return message;
}

std::string scoped_pdu(std::string_view context_engine, std::string_view pdu) {
  return ber::tagged(ber::sequence, ber::tagged(ber::octet_string, context_engine) +
                                        ber::tagged(ber::octet_string, {}) + std::string(pdu));
}

}  // namespace vergeset::snmp
