#pragma once

#include <string>

#include "fleet/fleet.h"

namespace vergeset::fleet {

/// "Mon-Fri 22:00-05:00", "Sat 20:00-08:00", "daily 01:00-04:00": one span for each day that it opens.
Result<std::vector<Window::Span>> parse_spans(const std::string& text);

}  // namespace vergeset::fleet
