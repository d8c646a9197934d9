#pragma once

#include <string>

#include "smi/result.h"

namespace vergeset::fleet {

/// The whole of a file; the problem ("is missing", "is no file", ...) goes behind the file's name.
Result<std::string> read_text_file(const std::string& path);

}  // namespace vergeset::fleet
