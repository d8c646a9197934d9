#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

#include "smi/result.h"
#include "snmp/library.h"
#include "snmp/principal.h"

namespace vergeset::snmp {

/// The library's numbers of protocols by the names of fleet.yaml; `none` has one too. A problem lists those
/// that are known.
Result<int> auth_number(std::string_view name);
Result<int> privacy_number(std::string_view name);
/// And back; empty for a number that is none of theirs.
std::string_view auth_name(int auth);
std::string_view privacy_name(int privacy);

struct ObjectId {
  const oid* arcs;
  std::size_t size;
};
ObjectId auth_oid(int auth);
ObjectId privacy_oid(int privacy);

/// Octets of a hash, and of the part of a privacy key that its protocol uses (RFC 3414 8.2.1, RFC
/// 3826 3.1.2.1).
std::size_t hash_size(int auth);
std::size_t privacy_key_size(int privacy);

/// The key Ku of a password. `kind` is for the problem.
std::optional<Problem> make_key(std::string_view kind, int auth, std::string_view password, Key& key);

}  // namespace vergeset::snmp
