#include "snmp/keys.h"
#include "catch.h"
#include "smi/value.h"
#include "snmp/library.h"
#include "snmp/principals.h"

using namespace vergeset;
using namespace vergeset::snmp;

namespace {

const std::string engine_of_a3 = *smi::from_hex("000000000000000000000002");

std::string hex(const Result<Secret>& octets) {
  return octets ? smi::to_hex(octets->text()) : octets.problem();
}

std::string problem_of(std::string user, std::string_view auth, std::string auth_secret,
                       std::string_view privacy, std::string privacy_secret) {
  const auto made = usm_principal(std::move(user), auth, Secret(std::move(auth_secret)), privacy,
                                  Secret(std::move(privacy_secret)));
  return made ? "" : made.problem();
}

}  // namespace

TEST_CASE("a password becomes the MD5 keys of RFC 3414") {
  const auto key = password_to_key("MD5", "maplesyrup");
  CHECK(hex(key) == "9faf3283884e92834ebc9847d8edd963");  // RFC 3414 A.3.1
  CHECK(hex(localize_key("MD5", key->text(), engine_of_a3)) ==
        "526f5eed9fcce26f8964c2930787d82b");  // RFC 3414 A.3.1
}

TEST_CASE("a password becomes the SHA-1 keys of RFC 3414") {
  const auto key = password_to_key("SHA-1", "maplesyrup");
  CHECK(hex(key) == "9fb5cc0381497b3793528939ff788d5d79145211");  // RFC 3414 A.3.2
  CHECK(hex(localize_key("SHA-1", key->text(), engine_of_a3)) ==
        "6695febc9288e36282235fc7151f128497b38f3f");  // RFC 3414 A.3.2
}

TEST_CASE("the key changes of RFC 3414 lead from one password's keys to the other's") {
  struct Change {
    const char* auth;
    std::size_t size;  ///< of the key: a privacy key is the front of a localized one
    const char* text;  ///< random, then delta
  };
  // RFC 3414 A.5, from maplesyrup to newsyrup
  for (const Change& change :
       {Change{"MD5", 16, "00000000000000000000000000000000 8805615141676cc9196174e742a32551"},
        Change{"SHA-1", 20,
               "0000000000000000000000000000000000000000 9c1017f4fd483d2de8d5fadbf84392cb06457051"},
        Change{"SHA-1", 16, "00000000000000000000000000000000 7ef8d8a4c9cdb26b47591cd852ff88b5"}}) {
    const auto localized = [&](const char* password) {
      const auto key =
          localize_key(change.auth, password_to_key(change.auth, password)->text(), engine_of_a3);
      return std::string(key->text().substr(0, change.size));
    };
    std::string before = localized("maplesyrup");
    std::string octets = *smi::from_hex(change.text);
    std::string after(change.size, '\0');
    std::size_t size = after.size();
    const auto unsigned_octets = [](std::string& text) { return reinterpret_cast<u_char*>(text.data()); };
    std::size_t hash_size = 0;
    const bool md5 = change.auth == std::string("MD5");
    const oid* const hash =
        sc_get_auth_oid(md5 ? NETSNMP_USMAUTH_HMACMD5 : NETSNMP_USMAUTH_HMACSHA1, &hash_size);
    REQUIRE(decode_keychange(hash, static_cast<u_int>(hash_size), unsigned_octets(before), before.size(),
                             unsigned_octets(octets), octets.size(), unsigned_octets(after),
                             &size) == SNMPERR_SUCCESS);
    CHECK(smi::to_hex(after) == smi::to_hex(localized("newsyrup")));
  }
}

TEST_CASE("the SHA-2 family makes keys as long as its hashes") {
  // RFC 7860 4.1: the key has the length of the hash.
  CHECK(password_to_key("SHA-224", "maplesyrup")->text().size() == 28);
  CHECK(password_to_key("SHA-256", "maplesyrup")->text().size() == 32);
  CHECK(password_to_key("SHA-384", "maplesyrup")->text().size() == 48);
  CHECK(password_to_key("SHA-512", "maplesyrup")->text().size() == 64);
}

TEST_CASE("a password of fewer than eight octets is refused without being told") {
  // RFC 3414 11.2
  CHECK_FALSE(password_to_key("SHA-256", "maplesy"));
  CHECK(password_to_key("SHA-256", "maplesyr"));
  const std::string auth = problem_of("keeper", "SHA-256", "maplesy", "AES-128", "long enough");
  CHECK(auth.find("authentication secret") != std::string::npos);
  CHECK(auth.find("maplesy") == std::string::npos);
  const std::string privacy = problem_of("keeper", "SHA-256", "long enough", "AES-128", "oaksap");
  CHECK(privacy.find("privacy secret") != std::string::npos);
  CHECK(privacy.find("oaksap") == std::string::npos);
}

TEST_CASE("an unknown protocol is named with those that are known") {
  const std::string auth = problem_of("keeper", "SHA1", "long enough", "AES-128", "long enough");
  CHECK(auth.find("'SHA1'") != std::string::npos);
  CHECK(auth.find("MD5, SHA-1, SHA-224, SHA-256, SHA-384, SHA-512") != std::string::npos);
  const std::string privacy = problem_of("keeper", "SHA-256", "long enough", "3DES", "long enough");
  CHECK(privacy.find("'3DES'") != std::string::npos);
  CHECK(privacy.find("DES, AES-128, AES-192, AES-256") != std::string::npos);
}

TEST_CASE("a user name has one to 32 octets") {
  // RFC 3414, usmUserName: SnmpAdminString (SIZE(1..32))
  CHECK_FALSE(problem_of("", "MD5", "long enough", "DES", "long enough").empty());
  CHECK(problem_of(std::string(32, 'k'), "MD5", "long enough", "DES", "long enough").empty());
  CHECK_FALSE(problem_of(std::string(33, 'k'), "MD5", "long enough", "DES", "long enough").empty());
}

TEST_CASE("a secret that is moved leaves nothing behind") {
  for (const std::string& text : {std::string("short one"), std::string(200, 's')}) {
    Secret first{std::string(text)};
    const Secret second = std::move(first);
    CHECK(second.text() == text);
    CHECK(first.text().empty());
  }
}
