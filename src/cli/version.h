#pragma once

#include <string>

namespace vergeset::cli {

/// The program's version and those of its libraries, for a fault to be told with. What a library says of
/// itself as it was loaded, not what was compiled against; where it cannot say, the version in its file's
/// name, and of one that has neither the version that it was built with, which the line says.
std::string version_text();

}  // namespace vergeset::cli
