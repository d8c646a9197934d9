#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "smi/result.h"

namespace vergeset::snmp {

/// Changing a key without ever sending it (RFC 3414 section 5, KeyChange): the unit makes the new key out of
/// the old one and of what is sent. Who knows the old key reads the new one out of it, so a KeyChange is kept
/// as secret as a key.

/// Octets of the keys Kul that a user of these protocols has: the digest's length for authentication; for
/// privacy 16 with DES (its pre-IV counts, RFC 3414 8.2.1) and AES-128, 24 and 32 with AES-192 and AES-256.
/// 0 for none and what is unknown.
std::size_t auth_key_size(std::string_view auth);
std::size_t privacy_key_size(std::string_view privacy);

/// The KeyChange from one localized key to another of the same length, with as many octets of `random`. The
/// hash is that of the user's authentication protocol, for its privacy key too.
Result<std::string> key_change(std::string_view auth, std::string_view old_key, std::string_view new_key,
                               std::string_view random);

/// What a unit makes of it: the new key. For simulated units.
Result<std::string> changed_key(std::string_view auth, std::string_view old_key, std::string_view change);

/// The localized privacy key of a unit from a localized key of the hash's length: its first octets, or where
/// the privacy protocol wants more than the hash has, lengthened as agents commonly do it
/// (draft-reeder-snmpv3-usm-3desede, draft-blumenthal-aes-usm-04).
Result<std::string> fit_privacy_key(std::string_view auth, std::string_view privacy,
                                    std::string_view localized);

/// As many octets from the system's generator for secrets.
std::string random_octets(std::size_t count);

}  // namespace vergeset::snmp
