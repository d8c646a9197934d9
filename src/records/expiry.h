#pragma once

#include <cstdint>
#include <string>

namespace vergeset::records {

/// What a unit has only for a time, as an audit found it.
struct Expiry {
  std::string what;       ///< "enrolment certificate", "application certificate for PSID 0x20"
  std::int64_t at = 0;    ///< when it ends, milliseconds since 1970
  bool or_later = false;  ///< the unit counts no further than that
  bool renewed = false;   ///< units get the next one by themselves
  bool operator==(const Expiry&) const = default;
};

}  // namespace vergeset::records
