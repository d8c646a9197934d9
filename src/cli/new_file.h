#pragma once

#include <string>

namespace vergeset::cli {

/// Makes a file that is not there yet: whole on stable storage under its name, or nothing under it at all.
/// Empty, or what went wrong; a file that stands there already is left as it is.
std::string write_new_file(const std::string& path, const std::string& text);

}  // namespace vergeset::cli
