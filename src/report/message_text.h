#pragma once

#include <string>

#include "checks/message.h"
#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// What a payload says, for people: a MAP's intersections and lanes, the packets of traveller information
/// with their times, the intersections of a SPAT.
std::string message_text(const Screen& screen, const j2735::Message& message);

/// The same for machines, in the standard's own units.
Json message_json(const j2735::Message& message);

}  // namespace vergeset::report
