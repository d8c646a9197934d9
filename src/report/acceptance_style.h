#pragma once

#include <string_view>

namespace vergeset::report {

/// The style sheet of the acceptance page: a phone, a screen, light and dark, and two sides of paper in black
/// on white. No colour carries meaning. On paper a row has no more lines than its class says (n1, n2, ...).
std::string_view acceptance_style();

}  // namespace vergeset::report
