#pragma once

#include <memory>
#include <string>

#include "smi/result.h"
#include "snmp/network.h"

namespace vergeset::snmp {

/// A user's keys Kul at one engine (RFC 3414 2.6), for keeping them and for changing them. The privacy key is
/// as long as its protocol takes it.
struct LocalKeys {
  std::string user;
  std::string auth;  ///< protocols as in fleet.yaml
  std::string auth_key;
  std::string privacy;
  std::string privacy_key;
  std::string engine_id;

  LocalKeys() = default;
  LocalKeys(const LocalKeys&) = default;
  LocalKeys(LocalKeys&&) = default;
  LocalKeys& operator=(const LocalKeys&) = default;
  LocalKeys& operator=(LocalKeys&&) = default;
  ~LocalKeys();  ///< wipes the keys
};

/// Those of a principal at this engine. Problems: it is no user of SNMPv3 with authentication and privacy, or
/// its keys are another engine's.
Result<LocalKeys> local_keys(const Principal& principal, const std::string& engine_id);

/// Who speaks with these keys, to their engine alone.
Result<std::shared_ptr<const Principal>> principal_of(const LocalKeys& keys);

}  // namespace vergeset::snmp
