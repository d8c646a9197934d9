#include "snmp/local_keys.h"

#include "smi/secret.h"
#include "snmp/key_change.h"
#include "snmp/keys.h"
#include "snmp/principals.h"
#include "snmp/protocols.h"

namespace vergeset::snmp {

namespace {

std::string octets(const Key& key) {
  return {reinterpret_cast<const char*>(key.octets.data()), key.size};
}

}  // namespace

LocalKeys::~LocalKeys() {
  wipe(auth_key.data(), auth_key.size());
  wipe(privacy_key.data(), privacy_key.size());
}

Result<LocalKeys> local_keys(const Principal& principal, const std::string& engine_id) {
  LocalKeys keys;
  keys.user = principal.user;
  keys.engine_id = engine_id;
  keys.auth = auth_name(principal.auth);
  keys.privacy = privacy_name(principal.privacy);
  if (keys.user.empty() || keys.auth.empty() || keys.privacy.empty() || principal.auth_key.size == 0 ||
      principal.privacy_key.size == 0) {
    return Problem{"it is no user of SNMPv3 with authentication and privacy (RFC 3414)"};
  }
  keys.auth_key = octets(principal.auth_key);
  keys.privacy_key = octets(principal.privacy_key);
  if (!principal.engine_id.empty() && principal.engine_id != engine_id)
    return Problem{"its keys are those of another engine"};
  if (principal.engine_id.empty()) {
    for (std::string* key : {&keys.auth_key, &keys.privacy_key}) {
      auto localized = localize_key(keys.auth, *key, engine_id);
      if (!localized) return Problem{localized.problem()};
      wipe(key->data(), key->size());
      *key = std::string(localized->text());
    }
  }
  auto fitted = fit_privacy_key(keys.auth, keys.privacy, keys.privacy_key);
  if (!fitted) return Problem{fitted.problem()};
  wipe(keys.privacy_key.data(), keys.privacy_key.size());
  keys.privacy_key = *std::move(fitted);
  return keys;
}

Result<std::shared_ptr<const Principal>> principal_of(const LocalKeys& keys) {
  return localized_principal(keys.user, keys.auth, Secret::copy_of(keys.auth_key), keys.privacy,
                             Secret::copy_of(keys.privacy_key), keys.engine_id);
}

}  // namespace vergeset::snmp
