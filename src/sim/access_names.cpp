#include "sim/access_names.h"

#include <algorithm>
#include <cstdint>
#include <initializer_list>
#include <utility>

namespace vergeset::sim {

namespace {

const smi::Oid& usm_user() {
  static const smi::Oid group{1, 3, 6, 1, 6, 3, 15, 1, 2};
  return group;
}

const smi::Oid& vacm_objects() {
  static const smi::Oid group{1, 3, 6, 1, 6, 3, 16, 1};
  return group;
}

using Named = std::pair<std::string, smi::Oid>;

/// A table, then its columns from the number `first` on.
void add_table(std::vector<Named>& named, const char* table, const smi::Oid& oid, std::uint32_t first,
               std::initializer_list<const char*> columns) {
  named.emplace_back(table, oid);
  for (const char* column : columns) named.emplace_back(column, oid.child(1).child(first++));
}

const std::vector<Named>& objects() {
  static const std::vector<Named> known = [] {
    std::vector<Named> named;
    named.emplace_back("usmUserSpinLock", usm_user().child(1));
    add_table(named, "usmUserTable", usm_user().child(2), 3,
              {"usmUserSecurityName", "usmUserCloneFrom", "usmUserAuthProtocol", "usmUserAuthKeyChange",
               "usmUserOwnAuthKeyChange", "usmUserPrivProtocol", "usmUserPrivKeyChange",
               "usmUserOwnPrivKeyChange", "usmUserPublic", "usmUserStorageType", "usmUserStatus"});
    add_table(named, "vacmSecurityToGroupTable", vacm_objects().child(2), 3,
              {"vacmGroupName", "vacmSecurityToGroupStorageType", "vacmSecurityToGroupStatus"});
    add_table(named, "vacmAccessTable", vacm_objects().child(4), 4,
              {"vacmAccessContextMatch", "vacmAccessReadViewName", "vacmAccessWriteViewName",
               "vacmAccessNotifyViewName", "vacmAccessStorageType", "vacmAccessStatus"});
    named.emplace_back("vacmViewSpinLock", vacm_objects().child(5).child(1));
    add_table(named, "vacmViewTreeFamilyTable", vacm_objects().child(5).child(2), 3,
              {"vacmViewTreeFamilyMask", "vacmViewTreeFamilyType", "vacmViewTreeFamilyStorageType",
               "vacmViewTreeFamilyStatus"});
    return named;
  }();
  return known;
}

}  // namespace

bool of_access(const smi::Oid& oid) {
  return oid.within(usm_user()) || oid.within(vacm_objects());
}

bool names_access(std::string_view name, const smi::Oid& variable) {
  return std::any_of(objects().begin(), objects().end(), [&](const Named& object) {
    return object.first == name && variable.within(object.second);
  });
}

std::vector<std::string> access_names() {
  std::vector<std::string> names;
  for (const auto& [name, oid] : objects()) names.push_back(name);
  return names;
}

}  // namespace vergeset::sim
