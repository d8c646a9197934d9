#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "smi/oid.h"
#include "smi/value.h"
#include "snmp/network.h"

/// The users of a unit and their groups as SNMP shows them: SNMP-USER-BASED-SM-MIB (RFC 3414 section 5) and
/// SNMP-VIEW-BASED-ACM-MIB (RFC 3415 section 4). Keys cannot be read.
namespace vergeset::change {

/// Columns of usmUserTable (1.3.6.1.6.3.15.1.2.2).
enum class UserColumn : std::uint32_t {
  security_name = 3,
  clone_from = 4,
  auth_protocol = 5,
  auth_key_change = 6,
  own_auth_key_change = 7,
  privacy_protocol = 8,
  privacy_key_change = 9,
  own_privacy_key_change = 10,
  user_public = 11,
  storage_type = 12,
  status = 13
};

/// Columns of vacmSecurityToGroupTable (1.3.6.1.6.3.16.1.2).
enum class GroupColumn : std::uint32_t { group_name = 3, storage_type = 4, status = 5 };

/// usmUserSpinLock.0: a SET that names the number it has is carried out and counts it on (TestAndIncr).
const smi::Oid& user_spin_lock();

/// The instance of a user's column. The indices are an engine id and a name, each with its length in front
/// (RFC 2578 7.7).
smi::Oid user_instance(UserColumn column, const std::string& engine_id, const std::string& user);
/// A member of a group by the User-based Security Model, which is number 3 (RFC 3411, SnmpSecurityModel).
smi::Oid group_instance(GroupColumn column, const std::string& user);

/// Whether a value written there, or read, tells of a key: it is in no log and no record.
bool is_key_change(const smi::Oid& instance);

bool is_group_name(const smi::Oid& instance);

/// "usmUserStatus of vergeset", "usmUserSpinLock.0"; empty for what is none of these objects.
std::string user_object_name(const smi::Oid& instance);

/// "SHA-256", "AES-128", ... as in fleet.yaml, from usmUserAuthProtocol and usmUserPrivProtocol (RFC 3414,
/// RFC 3826, RFC 7860; the AES-192 and AES-256 of net-snmp and of one maker, which no RFC has); "none";
/// otherwise the dotted identifier.
std::string auth_protocol_name(const smi::Oid& protocol);
std::string privacy_protocol_name(const smi::Oid& protocol);

struct UnitUser {
  std::string name;
  std::string auth;  ///< protocols by name; empty where they were not told
  std::string privacy;
  int status = 0;   ///< RowStatus (RFC 2579)
  int storage = 0;  ///< StorageType (RFC 2579)
  bool operator==(const UnitUser&) const = default;
};

struct UnitUsers {
  std::optional<std::int64_t> spin_lock;      ///< none: the unit has none
  std::map<std::string, UnitUser> users;      ///< of its own engine
  std::map<std::string, std::string> groups;  ///< by user
};

/// What a unit says of its users, or why it does not.
struct UsersRead {
  UnitUsers found;
  std::optional<snmp::Error> error;
  explicit operator bool() const { return !error.has_value(); }
};

/// Reads all users of the engine, and the groups of the User-based Security Model. It ends whatever the unit
/// answers: after 512 rows, and at the first answer that does not come behind what was asked for.
snmp::Task<UsersRead> read_users(snmp::Link& link);

}  // namespace vergeset::change
