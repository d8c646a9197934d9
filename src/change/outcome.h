#pragma once

#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "change/difference.h"
#include "change/sequence.h"
#include "checks/health.h"

namespace vergeset::change {

/// What became of a unit in a change (design 1, Words).
enum class Outcome { settled, nothing_to_do, restored, refused, no_answer, held, needs_attention };

std::string_view outcome_name(Outcome outcome);

struct UnitResult {
  std::string unit;
  Outcome outcome = Outcome::held;
  std::string what;                     ///< one line: why, and what to do; empty for settled
  std::vector<Difference> differences;  ///< as compared before the first SET
  std::vector<Remark> remarks;
  Sequence sequence;
  std::vector<checks::Finding> health;  ///< after the change
  int steps_done = 0;
  std::chrono::milliseconds off_air{0};  ///< measured
  bool still_off_air = false;            ///< it had not come back on air when its change ended
  bool records_failed = false;           ///< a record could not be written
  bool unfinished = false;               ///< its outcome is not on record: recovery is to end it
};

}  // namespace vergeset::change
