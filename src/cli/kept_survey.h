#pragma once

#include "change/as_found.h"
#include "fleet/fleet.h"
#include "records/disk.h"

namespace vergeset::cli {

/// A unit as a kept survey has it.
struct KeptSurvey {
  change::AsFound found;
  bool whole = false;  ///< every object of the model was asked for
};

/// The kept survey of a unit; a problem that says what to do where there is none, it cannot be read, or it
/// was read as another model than the inventory says.
Result<KeptSurvey> kept_survey(const records::FolderDisk& disk, const fleet::Unit& unit);

}  // namespace vergeset::cli
