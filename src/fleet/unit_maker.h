#pragma once

#include <map>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "fleet/fleet_file.h"
#include "fleet/names.h"
#include "fleet/payload_file.h"
#include "fleet/settled.h"
#include "fleet/shape.h"
#include "fleet/unit_entry.h"
#include "fleet/unit_faults.h"

namespace vergeset::fleet {

/// Makes the units of a fleet of their entries, one after the other, so that no more than one entry need be
/// held at a time. Faults do not depend on the order of the entries, but for which of two with one name
/// counts: the first.
class UnitMaker {
 public:
  /// fleet.schema, credentials and groups must be there already.
  UnitMaker(Fleet& fleet, const FleetFile& file, const std::map<std::string, Layer>& groups, Faults& faults);

  void take(const UnitEntry& entry);
  /// Called behind the last: sorts fleet.units by name and tells what shows only over all of them.
  void finish();

  const std::set<std::string>& payload_files() const { return payloads_.files(); }

 private:
  /// Where a unit's entry states what no other unit may have; in the file in which the unit itself stands.
  struct Spot {
    int line = 0;
    int column = 0;
  };
  struct Spots {
    Spot address;
    Spot engine_id;
  };
  bool is_first(const UnitEntry& entry);
  void check_each_alone();
  template <class Of>
  void check_alone(const char* what, Spot Spots::*spot, Of of);

  Fleet& fleet_;
  const FleetFile& file_;
  const std::map<std::string, Layer>& groups_;
  Faults& faults_;
  Names names_;
  Payloads payloads_;
  UnitFaults unit_faults_;
  Settled settled_;
  Shapes shapes_;
  std::unordered_map<std::string, Place> seen_;  ///< by name, the last entry of it
  std::vector<Spots> spots_;                     ///< of fleet.units
};

}  // namespace vergeset::fleet
