#include "snmp/key_change.h"

#include <openssl/evp.h>
#include <openssl/rand.h>

#include <array>
#include <span>
#include <stdexcept>
#include <vector>

namespace vergeset::snmp {

namespace {

struct Hash {
  std::string_view auth;
  const char* name;  ///< OpenSSL's
  std::size_t size;  ///< octets
};

constexpr std::array<Hash, 6> hashes{{{"MD5", "MD5", 16},
                                      {"SHA-1", "SHA1", 20},
                                      {"SHA-224", "SHA224", 28},
                                      {"SHA-256", "SHA256", 32},
                                      {"SHA-384", "SHA384", 48},
                                      {"SHA-512", "SHA512", 64}}};

const Hash* hash_of(std::string_view auth) {
  for (const Hash& hash : hashes) {
    if (hash.auth == auth) return &hash;
  }
  return nullptr;
}

Problem unknown(std::string_view auth) {
  return Problem{"no hash goes with the authentication protocol '" + std::string(auth) + "'"};
}

/// Empty where this system's OpenSSL forbids the hash.
std::string digest(const Hash& hash, std::string_view text) {
  std::string out(hash.size, '\0');
  unsigned size = 0;
  const EVP_MD* const kind = EVP_get_digestbyname(hash.name);
  if (kind == nullptr ||
      EVP_Digest(text.data(), text.size(), reinterpret_cast<unsigned char*>(out.data()), &size, kind,
                 nullptr) != 1 ||
      size != hash.size)
    return {};
  return out;
}

/// What the old key and the random octets hide the new key with: H(old || random), and for longer keys
/// H(that || random) and so on (RFC 3414 section 5, KeyChange, step 3).
std::string mask(const Hash& hash, std::string_view old_key, std::string_view random) {
  std::string out;
  std::string last(old_key);
  while (out.size() < old_key.size()) {
    last = digest(hash, last.append(random));
    if (last.empty()) return {};
    out += last;
  }
  out.resize(old_key.size());
  return out;
}

std::string exclusive_or(std::string_view a, std::string_view b) {
  std::string out(a);
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = static_cast<char>(out[i] ^ b[i]);
  return out;
}

Problem forbidden(std::string_view auth) {
  return Problem{"this system's OpenSSL does not make digests of " + std::string(auth)};
}

}  // namespace

std::size_t auth_key_size(std::string_view auth) {
  const Hash* const hash = hash_of(auth);
  return hash == nullptr ? 0 : hash->size;
}

std::size_t privacy_key_size(std::string_view privacy) {
  if (privacy == "DES" || privacy == "AES-128") return 16;
  if (privacy == "AES-192") return 24;
  return privacy == "AES-256" ? 32 : 0;
}

Result<std::string> key_change(std::string_view auth, std::string_view old_key, std::string_view new_key,
                               std::string_view random) {
  const Hash* const hash = hash_of(auth);
  if (hash == nullptr) return unknown(auth);
  if (old_key.empty() || old_key.size() != new_key.size() || random.size() != new_key.size()) {
    return Problem{"a key changes into one of its own length, with as many random octets: here " +
                   std::to_string(old_key.size()) + ", " + std::to_string(new_key.size()) + " and " +
                   std::to_string(random.size())};
  }
  const std::string hidden_by = mask(*hash, old_key, random);
  if (hidden_by.empty()) return forbidden(auth);
  return std::string(random) + exclusive_or(new_key, hidden_by);
}

Result<std::string> changed_key(std::string_view auth, std::string_view old_key, std::string_view change) {
  const Hash* const hash = hash_of(auth);
  if (hash == nullptr) return unknown(auth);
  if (old_key.empty() || change.size() != 2 * old_key.size()) {
    return Problem{"a KeyChange has twice the octets of its key: here " + std::to_string(change.size()) +
                   " and " + std::to_string(old_key.size())};
  }
  const std::string hidden_by = mask(*hash, old_key, change.substr(0, old_key.size()));
  if (hidden_by.empty()) return forbidden(auth);
  return exclusive_or(change.substr(old_key.size()), hidden_by);
}

Result<std::string> fit_privacy_key(std::string_view auth, std::string_view privacy,
                                    std::string_view localized) {
  const Hash* const hash = hash_of(auth);
  if (hash == nullptr) return unknown(auth);
  const std::size_t size = privacy_key_size(privacy);
  if (size == 0) return Problem{"no key goes with the privacy protocol '" + std::string(privacy) + "'"};
  std::string key(localized);
  while (key.size() < size) {
    const std::string more = digest(*hash, key);
    if (more.empty()) return forbidden(auth);
    key += more;
  }
  key.resize(size);
  return key;
}

std::string random_octets(std::size_t count) {
  std::string out(count, '\0');
  if (RAND_priv_bytes(reinterpret_cast<unsigned char*>(out.data()), static_cast<int>(count)) != 1)
    throw std::runtime_error("the system gives no random octets");
  return out;
}

}  // namespace vergeset::snmp
