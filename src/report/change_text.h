#pragma once

#include <string>
#include <vector>

#include "change/apply.h"
#include "report/screen.h"

namespace vergeset::report {

/// A dry run: for each unit what differs and the steps that would remove it, then the counts.
std::string dry_run_text(const Screen& screen, const std::vector<change::Preview>& previews);

/// What a change is about to do, for the person who is asked: units that cannot be changed and why,
/// what would change on how many units, and how it falls into waves. Where none would change, the end of
/// the change has the counts.
std::string preview_text(const Screen& screen, const std::vector<change::Preview>& previews,
                         const std::vector<std::size_t>& waves);

/// What a person must know before units leave operate or rows change (design, "Cautions"); empty where
/// none of it applies.
std::string caution_text(const Screen& screen, const std::vector<change::Preview>& previews);

/// How a change falls into waves; empty for one.
std::string in_waves_text(const Screen& screen, const std::vector<std::size_t>& waves);

/// "wave 2 of 3: 4 units".
std::string wave_line(std::size_t wave, std::size_t of, std::size_t units);

/// What became of one unit, as it ends. `name_width` aligns the names of a change.
std::string unit_end_text(const Screen& screen, int name_width, const change::UnitResult& unit);

/// The end of a change: why it stopped, what was held, and the line with the counts.
std::string change_end_text(const Screen& screen, const change::ChangeResult& change);

}  // namespace vergeset::report
