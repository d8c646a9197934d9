#pragma once

#include "fleet/fleet.h"
#include "records/commissioning.h"
#include "report/acceptance.h"
#include "report/json.h"

namespace vergeset::report {

/// The stages of a commissioning in their order, and what each is called on a sheet.
struct StageName {
  std::string_view name;
  std::string_view states;
  bool at_bench = true;  ///< can be done before the unit is at its pole
};
const std::vector<StageName>& stage_names();

/// The unit's site record with what was measured at the pole in place of what it says.
fleet::Unit as_measured(const fleet::Unit& unit, const records::Commissioning& record);

/// What is still to be said of the unit: checks that do not hold, its site as measured, and what the stages
/// found.
std::vector<checks::Finding> open_findings(const fleet::Fleet& fleet, const fleet::Unit& unit,
                                           const records::Commissioning& record);

/// The sheet of a commissioning as far as it has come.
Acceptance acceptance_of(const fleet::Fleet& fleet, const fleet::Unit& unit,
                         const records::Commissioning& record);

Json acceptance_json(const Acceptance& sheet);

}  // namespace vergeset::report
