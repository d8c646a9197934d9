#pragma once

#include <string>

#include "smi/result.h"

namespace vergeset {

/// The whole of a file of at most 64 MiB; the problem ("is missing", "is no file", ...) goes behind the
/// file's name.
Result<std::string> read_text_file(const std::string& path);

}  // namespace vergeset
