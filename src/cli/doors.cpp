#include "cli/doors.h"

#include "cli/live.h"

namespace vergeset::cli {

Result<std::vector<change::FactoryDoor>> doors_of(const fleet::Fleet& fleet) {
  std::vector<change::FactoryDoor> doors;
  for (const std::string& name : fleet.factory_credentials) {
    auto principal = principal_of(fleet, fleet.credentials.at(name));
    if (!principal) return Problem{principal.problem()};
    doors.push_back({"credential " + name, name, *std::move(principal)});
  }
  for (const std::string& community : fleet.factory_communities) {
    auto principal = snmp::community_principal("2c", Secret::copy_of(community));
    if (!principal) return Problem{principal.problem()};
    doors.push_back({"community " + community, "", *std::move(principal)});
  }
  return doors;
}

}  // namespace vergeset::cli
