#pragma once

#include <array>
#include <cstddef>
#include <memory>
#include <string>

#include "smi/secret.h"

namespace vergeset::snmp {

/// A key of at most 64 octets (SHA-512) that is overwritten when it goes.
struct Key {
  std::array<unsigned char, 64> octets{};
  std::size_t size = 0;

  Key() = default;
  Key(const Key&) = delete;
  Key& operator=(const Key&) = delete;
  ~Key() { wipe(octets.data(), octets.size()); }
};

struct Certified;

/// See network.h. The protocols are numbers of net-snmp's: NETSNMP_USMAUTH_* and
/// USM_CREATE_USER_PRIV_*; none where the level does without.
class Principal {
 public:
  enum class Model { user, community, certificate };
  Model model = Model::user;

  // Of SNMPv1 and SNMPv2c.
  int version = 0;  ///< SNMP_VERSION_*
  Secret community;

  // Of the transport security model.
  std::shared_ptr<const Certified> certified;

  // Of the user-based security model.
  std::string user;
  int level = 0;  ///< SNMP_SEC_LEVEL_*
  int auth = 0;
  Key auth_key;  ///< Ku (RFC 3414 A.2)
  int privacy = 0;
  Key privacy_key;  ///< Ku, by the hash of the authentication protocol (RFC 3414 2.6, RFC 3826 1.2)
  /// Where it is not empty the keys are Kul, localized to this engine (RFC 3414 2.6), and open no other.
  std::string engine_id;
};

}  // namespace vergeset::snmp
