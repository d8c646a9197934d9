#pragma once

#include <array>
#include <string_view>

namespace vergeset::cli {

/// A file of the fleet that `vergeset new` writes.
struct FirstFile {
  std::string_view name;  ///< relative to the fleet's folder
  std::string_view text;
};

/// inventories/first as it stood when the program was built (first_fleet.cpp.in), so that no file is needed
/// at run time. fleet.yaml is the last: a folder without it is no fleet yet.
extern const std::array<FirstFile, 4> first_fleet;

}  // namespace vergeset::cli
