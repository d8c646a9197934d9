#pragma once

#include <vector>

#include "change/rekey.h"
#include "cli/change_run.h"

namespace vergeset::cli {

/// A change of keys as a job. All that is given outlives it.
Job rekey_job(Live& live, const std::vector<change::KeyGoal>& goals, const change::KeyTools& tools,
              const Pace& pace);

}  // namespace vergeset::cli
