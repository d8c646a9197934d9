#pragma once

#include <algorithm>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "sim/status.h"
#include "smi/oid.h"
#include "smi/value.h"
#include "snmp/local_keys.h"

namespace vergeset::faults {

/// The users of a simulated unit and their groups: usmUserTable by RFC 3414 section 5, with usmUserSpinLock,
/// cloning and KeyChange, and vacmSecurityToGroupTable by RFC 3415. A user without a group may do nothing.
class UsmTables {
 public:
  struct User {
    std::string auth;
    std::string privacy;
    std::string auth_key;
    std::string privacy_key;
    std::string shown;   ///< usmUserPublic
    bool cloned = true;  ///< it has been made from another
    std::int64_t status = 1;
    bool operator==(const User&) const = default;
  };

  void add(const snmp::LocalKeys& keys, const std::string& group);

  /// What becomes of a request of theirs before it is looked at (RFC 3414 3.2).
  enum class Verdict { welcome, unknown_user, wrong_auth, wrong_privacy };
  Verdict lets_in(const snmp::LocalKeys& keys) const;
  /// By its group (RFC 3415): "readers" may not write, "shut out" may not even read.
  bool may_read(const std::string& user) const { return in_group_but(user, {"shut out"}); }
  bool may_write(const std::string& user) const { return in_group_but(user, {"shut out", "readers"}); }

  static bool owns(const smi::Oid& oid);
  std::map<smi::Oid, smi::Value> instances() const;

  /// All of it or nothing.
  sim::Status set(const std::vector<std::pair<smi::Oid, smi::Value>>& varbinds, const std::string& by);

  const std::map<std::string, User>& users() const { return users_; }
  const std::map<std::string, std::string>& groups() const { return groups_; }
  std::int64_t lock() const { return lock_; }
  /// Another manager takes the lock.
  void count_lock_on() { lock_ = lock_ == 2147483647 ? 0 : lock_ + 1; }
  std::string engine_id;

 private:
  bool in_group_but(const std::string& user, const std::vector<std::string>& shut_out) const {
    const auto group = groups_.find(user);
    return group != groups_.end() &&
           std::find(shut_out.begin(), shut_out.end(), group->second) == shut_out.end();
  }
  std::optional<sim::Status> one(const smi::Oid& oid, const smi::Value& value, const std::string& by);
  sim::Status user_column(std::uint32_t column, const std::string& name, const smi::Value& value,
                          const std::string& by);

  std::map<std::string, User> users_;
  std::map<std::string, std::string> groups_;
  std::int64_t lock_ = 41;
};

}  // namespace vergeset::faults
