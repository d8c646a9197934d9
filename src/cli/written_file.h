#pragma once

#include <string>

namespace vergeset::cli {

/// Who may read a file that is made.
enum class Readers {
  owner,    ///< it shows how a fleet is set
  anybody,  ///< as a collector that runs as somebody else
};

/// Writes a file that is made anew each time: whole, or not at all. One that is there keeps its mode. Empty,
/// or why it could not be written.
std::string write_file(const std::string& path, const std::string& text, Readers readers);

}  // namespace vergeset::cli
