#pragma once

#include <array>
#include <cstddef>
#include <string>

namespace vergeset::snmp {

/// A key of at most 64 octets (SHA-512) that is overwritten when it goes.
struct Key {
  std::array<unsigned char, 64> octets{};
  std::size_t size = 0;

  Key() = default;
  Key(const Key&) = delete;
  Key& operator=(const Key&) = delete;
  ~Key();
};

/// See network.h. The protocols are numbers of net-snmp's: NETSNMP_USMAUTH_* and
/// USM_CREATE_USER_PRIV_*.
class UserKeys {
 public:
  std::string user;
  int auth = 0;
  Key auth_key;  ///< Ku (RFC 3414 A.2)
  int privacy = 0;
  Key privacy_key;  ///< Ku, by the hash of the authentication protocol (RFC 3414 2.6, RFC 3826 1.2)
};

/// Overwrites in a way that the compiler may not leave out.
void wipe(void* place, std::size_t size);

}  // namespace vergeset::snmp
