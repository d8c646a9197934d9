#pragma once

#include <string>
#include <vector>

#include "change/audit.h"
#include "report/screen.h"

namespace vergeset::report {

/// Where as-found values are from: the units themselves, their kept surveys, or the file of a walk.
struct From {
  enum class Kind { unit, survey, walk };
  Kind kind = Kind::unit;
  std::string file;  ///< of a walk
};

/// "127.77.0.104:16161", "as surveyed 2026-11-25T02:00Z", "from LK-104.walk".
std::string from_text(const From& from, const change::Audited& unit);

/// What an audit or a comparison found: the units that do not agree, what is to be told of those that do,
/// then one line with the counts. Of a lone unit always all.
std::string audit_text(const Screen& screen, const std::vector<change::Audited>& units,
                       const From& from = {});

/// The same of one unit; always something.
std::string audited_text(const Screen& screen, const change::Audited& unit, const From& from = {});

/// "40 units: 38 agree, 1 drifted, 1 no answer".
std::string audit_summary(const std::vector<change::Audited>& units);

}  // namespace vergeset::report
