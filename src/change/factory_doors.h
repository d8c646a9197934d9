#pragma once

#include <memory>
#include <string>
#include <vector>

#include "change/audit.h"

namespace vergeset::change {

/// A way in that units have as they leave the factory, and that anyone can look up.
struct FactoryDoor {
  std::string name;        ///< "credential factory", "community public"
  std::string credential;  ///< its name in fleet.yaml; empty for a community
  std::shared_ptr<const snmp::Principal> principal;
};

/// Tries each door of each unit that an audit has read, and of each that refused our own user: it may be as
/// the factory made it. What came of it is put into Audited::doors.
///
/// Units lock out who fails too often. So each door is tried by one request that is sent once, with a pause
/// before it; not again within twelve hours (records/factory_tries.h), where what is known is told; and after
/// each that was refused the unit is read with its own credential, which ends a row of failures (common
/// practice, no source) and shows whether it still lets us in: where it does not, no other door of it is
/// tried. A stranger (records/known_units.h) and a unit that gave no answer are not tried.
void try_doors(const World& world, const std::vector<FactoryDoor>& doors, std::vector<Audited>& units,
               std::size_t at_once);

/// Whether any of them lets in what it had from the factory, or was left alone because it let nobody in.
bool stands_open(const Audited& unit);

}  // namespace vergeset::change
