#pragma once

#include <string>
#include <vector>

#include "report/json.h"
#include "report/screen.h"

namespace vergeset::report {

/// Units of which no audit was gathered, by the part that they are in.
struct Missing {
  std::string part;                ///< "3/4"
  bool audited = false;            ///< an audit of this part is there and does not hold them
  std::vector<std::string> units;  ///< their names
};

/// "part 3/4 is missing, with 2 units: LK-101, LK-107", one line a part; names only where they are few.
std::string missing_text(const Screen& screen, const std::vector<Missing>& missing);

Json missing_json(const std::vector<Missing>& missing);

}  // namespace vergeset::report
