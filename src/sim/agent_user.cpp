#include <net-snmp/net-snmp-config.h>
// The other headers of net-snmp want its configuration first.
#include <net-snmp/net-snmp-includes.h>

#include <net-snmp/library/keytools.h>
#include <net-snmp/library/snmpusm.h>

#include <array>
#include <map>

#include "sim/agent_library.h"

namespace vergeset::sim {

namespace {

/// Names of fleet.yaml to those of net-snmp, where they differ.
std::string library_name(const std::string& name, const char* none) {
  static const std::map<std::string, std::string, std::less<>> differing{
      {"SHA-1", "SHA"}, {"AES-128", "AES"}, {"AES-192", "AES192"}, {"AES-256", "AES256"}};
  if (name == "none") return none;
  const auto found = differing.find(name);
  return found == differing.end() ? name : found->second;
}

Result<std::string> key_of(int auth_type, std::string_view password) {
  if (password.size() < 8) return Problem{"a secret has fewer than 8 octets (RFC 3414 11.2)"};
  std::size_t hash_size = 0;
  const oid* hash = sc_get_auth_oid(auth_type, &hash_size);
  std::array<u_char, 128> key{};
  std::size_t size = key.size();
  if (generate_Ku(hash, static_cast<u_int>(hash_size), reinterpret_cast<const u_char*>(password.data()),
                  password.size(), key.data(), &size) != SNMPERR_SUCCESS)
    return Problem{"no key can be made of the secret"};
  std::string made(reinterpret_cast<const char*>(key.data()), size);
  explicit_bzero(key.data(), key.size());
  return made;
}

}  // namespace

Result<AgentUser> make_user(const std::string& name, const std::string& auth, std::string_view auth_secret,
                            const std::string& privacy, std::string_view privacy_secret) {
  AgentUser user;
  user.name = name;
  user.auth_type = usm_lookup_auth_type(library_name(auth, "NOAUTH").c_str());
  if (user.auth_type < 0) return Problem{"net-snmp here has no authentication protocol " + auth};
  user.privacy_type = usm_lookup_priv_type(library_name(privacy, "NOPRIV").c_str());
  if (user.privacy_type < 0) return Problem{"net-snmp here has no privacy protocol " + privacy};
  if (auth == "none") return user;
  auto auth_key = key_of(user.auth_type, auth_secret);
  if (!auth_key) return Problem{auth_key.problem()};
  user.auth_key = *std::move(auth_key);
  if (privacy == "none") return user;
  auto privacy_key = key_of(user.auth_type, privacy_secret);
  if (!privacy_key) return Problem{privacy_key.problem()};
  user.privacy_key = *std::move(privacy_key);
  return user;
}

std::string engine_id_of(const std::string& unit_name) {
  const std::string enterprise("\x80\x00\x1f\x88", 4);
  if (unit_name.size() <= 27) return enterprise + '\x04' + unit_name;
  std::uint64_t digest = seed_of(unit_name);
  std::string octets;
  for (int i = 0; i < 8; ++i, digest >>= 8U) octets += static_cast<char>(static_cast<unsigned char>(digest));
  return enterprise + '\x05' + octets;
}

}  // namespace vergeset::sim
