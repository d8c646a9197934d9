#include "snmp/keys.h"

#include <string>

#include "snmp/protocols.h"

namespace vergeset::snmp {

namespace {

const u_char* octets(std::string_view text) {
  return reinterpret_cast<const u_char*>(text.data());
}

Secret secret_of(const Key& key) {
  return Secret::copy_of({reinterpret_cast<const char*>(key.octets.data()), key.size});
}

/// Of a protocol that has keys.
Result<int> hash_number(std::string_view auth) {
  auto number = auth_number(auth);
  if (number && *number == NETSNMP_USMAUTH_NOAUTH) return Problem{"without authentication there is no key"};
  return number;
}

}  // namespace

Result<Secret> password_to_key(std::string_view auth, std::string_view password) {
  const auto number = hash_number(auth);
  if (!number) return Problem{number.problem()};
  Key key;
  if (auto problem = make_key("authentication", *number, password, key)) return *problem;
  return secret_of(key);
}

Result<Secret> localize_key(std::string_view auth, std::string_view key, std::string_view engine_id) {
  const auto number = hash_number(auth);
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
  return secret_of(localized);
}

}  // namespace vergeset::snmp
