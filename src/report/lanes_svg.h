#pragma once

#include <string>

#include "checks/map_message.h"

namespace vergeset::report {

/// A drawing of a MAP's lanes, north up, as a whole SVG document: one picture below the other where there
/// are several intersections. It holds no script and refers to nothing, and what the message says is text in
/// it and nothing else. Lanes towards the intersection are dark and have a stop line, those away from it are
/// pale; both have arrows and numbers, so that nothing rests on colour alone.
std::string lanes_svg(const j2735::Map& map);

}  // namespace vergeset::report
