#pragma once

#include <array>
#include <string>
#include <vector>

#include "smi/oid.h"
#include "smi/result.h"

namespace vergeset::sim {

/// Who an agent knows and what it lets them do, as it keeps it over a restart: rows of usmUserTable with
/// their keys Kul (RFC 3414 2.6: they open this engine alone; passwords and keys Ku are nowhere in it),
/// and the rows of vacmSecurityToGroupTable, vacmAccessTable and vacmViewTreeFamilyTable (RFC 3415 4).
struct AccessTables {
  struct User {
    std::string engine_id;
    std::string name;
    std::string security_name;
    smi::Oid clone_from;
    smi::Oid auth_protocol;
    smi::Oid privacy_protocol;
    std::string auth_key;
    std::string privacy_key;
    std::string public_value;
    int status = 1;
    int storage = 3;
    bool operator==(const User&) const = default;
  };
  struct Group {
    int model = 3;
    std::string security_name;
    std::string group;
    int status = 1;
    int storage = 3;
    bool operator==(const Group&) const = default;
  };
  struct Access {
    std::string group;
    std::string context_prefix;
    int model = 3;
    int level = 3;
    int context_match = 1;
    std::array<std::string, 3> views;  ///< to read, to write, to be notified of
    int status = 1;
    int storage = 3;
    bool operator==(const Access&) const = default;
  };
  struct View {
    std::string name;
    smi::Oid subtree;
    std::string mask;
    int type = 1;
    int status = 1;
    int storage = 3;
    bool operator==(const View&) const = default;
  };

  std::vector<User> users;
  std::vector<Group> groups;
  std::vector<Access> accesses;
  std::vector<View> views;
  bool operator==(const AccessTables&) const = default;
};

/// What a reboot leaves: rows that are volatile are gone (RFC 2579 StorageType).
AccessTables lasting(AccessTables tables);

/// As text, one JSON object a row under the name of its table, and back. A problem names the line.
std::string access_text(const AccessTables& tables);
Result<AccessTables> access_of_text(const std::string& text);

}  // namespace vergeset::sim
