#pragma once

#include "checks/finding.h"

namespace vergeset::checks {

/// Where a unit of this model tells the version of its firmware (rsuFirmwareVersion of both standards);
/// nothing where it does not.
const schema::Object* firmware_object(const schema::Model& model);

/// Holds a version against the fleet's approved ones, `firmware:` of fleet.yaml. Empty: the unit tells none.
void judge_firmware(const fleet::Fleet& fleet, const schema::Model& model, const std::string& version,
                    Findings& findings);

}  // namespace vergeset::checks
