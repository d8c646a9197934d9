#include "snmp/key_change.h"

#include "catch.h"
#include "smi/value.h"
#include "snmp/keys.h"
#include "snmp/library.h"

using namespace vergeset;
using namespace vergeset::snmp;

namespace {

const std::string engine_of_a3 = *smi::from_hex("000000000000000000000002");  // RFC 3414 A.3

std::string localized(std::string_view auth, std::string_view password) {
  const auto key = password_to_key(auth, password);
  return std::string(localize_key(auth, key->text(), engine_of_a3)->text());
}

/// What net-snmp's agent makes of a KeyChange.
std::string decoded(int auth, std::string old_key, std::string change) {
  const auto octets = [](std::string& text) { return reinterpret_cast<u_char*>(text.data()); };
  std::string key(old_key.size(), '\0');
  std::size_t size = key.size();
  std::size_t hash_size = 0;
  const oid* const hash = sc_get_auth_oid(auth, &hash_size);
  REQUIRE(decode_keychange(hash, static_cast<u_int>(hash_size), octets(old_key), old_key.size(),
                           octets(change), change.size(), octets(key), &size) == SNMPERR_SUCCESS);
  return key;
}

}  // namespace

TEST_CASE("a key change is the one that RFC 3414 works out") {
  struct Example {
    const char* auth;
    std::size_t size;
    const char* change;
  };
  // RFC 3414 A.5, from maplesyrup to newsyrup, the random octets all zero.
  for (const Example& example :
       {Example{"MD5", 16, "000000000000000000000000000000008805615141676cc9196174e742a32551"},
        Example{"SHA-1", 20,
                "00000000000000000000000000000000000000009c1017f4fd483d2de8d5fadbf84392cb06457051"},
        Example{"SHA-1", 16, "000000000000000000000000000000007ef8d8a4c9cdb26b47591cd852ff88b5"}}) {
    CAPTURE(example.auth, example.size);
    const std::string before = localized(example.auth, "maplesyrup").substr(0, example.size);
    const std::string after = localized(example.auth, "newsyrup").substr(0, example.size);
    const auto change = key_change(example.auth, before, after, std::string(example.size, '\0'));
    REQUIRE(change);
    CHECK(smi::to_hex(*change) == example.change);
    CHECK(*changed_key(example.auth, before, *change) == after);
  }
}

TEST_CASE("net-snmp reads the new key out of a key change, with each hash") {
  struct Hash {
    const char* auth;
    int number;
  };
  for (const Hash& hash :
       {Hash{"MD5", NETSNMP_USMAUTH_HMACMD5}, Hash{"SHA-1", NETSNMP_USMAUTH_HMACSHA1},
        Hash{"SHA-224", NETSNMP_USMAUTH_HMAC128SHA224}, Hash{"SHA-256", NETSNMP_USMAUTH_HMAC192SHA256},
        Hash{"SHA-384", NETSNMP_USMAUTH_HMAC256SHA384}, Hash{"SHA-512", NETSNMP_USMAUTH_HMAC384SHA512}}) {
    CAPTURE(hash.auth);
    const std::string before = random_octets(auth_key_size(hash.auth));
    const std::string after = random_octets(before.size());
    const auto change = key_change(hash.auth, before, after, random_octets(before.size()));
    REQUIRE(change);
    // Reference: net-snmp's decode_keychange().
    CHECK(smi::to_hex(decoded(hash.number, before, *change)) == smi::to_hex(after));
  }
}

TEST_CASE("a key longer than the hash is changed block by block") {
  // RFC 3414 section 5, KeyChange: "temp" of each further block is made of the one before it.
  const std::string before = random_octets(32);
  const std::string after = random_octets(32);
  const std::string random = random_octets(32);
  const auto change = key_change("SHA-1", before, after, random);
  REQUIRE(change);
  CHECK(*changed_key("SHA-1", before, *change) == after);
  // The first block does not depend on what follows.
  const auto first = key_change("SHA-1", before, after.substr(0, 20) + std::string(12, 'x'), random);
  CHECK(first->substr(0, 32 + 20) == change->substr(0, 32 + 20));
  CHECK(first->substr(32 + 20) != change->substr(32 + 20));
}

TEST_CASE("keys of other lengths and unknown hashes are refused, and not shown") {
  const auto change = key_change("SHA-256", "old key", "newer key", "random octets");
  REQUIRE_FALSE(change);
  CHECK(change.problem().find("key ") != std::string::npos);
  CHECK(change.problem().find("newer") == std::string::npos);
  CHECK_FALSE(key_change("none", "0123456789abcdef", "0123456789abcdef", "0123456789abcdef"));
  CHECK_FALSE(changed_key("SHA-256", "0123456789abcdef", "short"));
}

TEST_CASE("privacy keys have the length that their protocol takes") {
  // RFC 3414 8.2.1 and RFC 3826 3.1.2.1: sixteen octets.
  CHECK(privacy_key_size("DES") == 16);
  CHECK(privacy_key_size("AES-128") == 16);
  const std::string key = localized("SHA-1", "maplesyrup");
  CHECK(*fit_privacy_key("SHA-1", "AES-128", key) == key.substr(0, 16));
  CHECK(fit_privacy_key("SHA-1", "AES-192", key)->substr(0, 20) == key);
  CHECK(fit_privacy_key("SHA-1", "AES-256", key)->size() == 32);
}
