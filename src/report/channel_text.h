#pragma once

#include <vector>

#include "fleet/fleet.h"
#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// How much of each channel the messages of each unit take, as the files ask for them: a line a radio and
/// channel, and what the numbers rest on.
std::string channels_text(const Screen& screen, const fleet::Fleet& fleet);
Json channels_json(const fleet::Fleet& fleet);

}  // namespace vergeset::report
