#pragma once

#include <string>
#include <vector>

#include "change/apply.h"
#include "report/screen.h"

namespace vergeset::report {

/// A dry run of a change of keys: for each unit what opens it now and each step, then the counts.
std::string rekey_dry_run_text(const Screen& screen, const std::vector<change::Preview>& previews);

/// What a change of keys is about to do, for the person who is asked: units that cannot be changed and why,
/// what opens how many units now, what is done how often, and how it falls into waves.
std::string rekey_preview_text(const Screen& screen, const std::vector<change::Preview>& previews,
                               const std::vector<std::size_t>& waves);

/// What a person must know before keys are changed; empty where none would be.
std::string rekey_caution_text(const Screen& screen, const std::vector<change::Preview>& previews);

}  // namespace vergeset::report
