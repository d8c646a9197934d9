#pragma once

#include "change/audit.h"
#include "change/outcome.h"

namespace vergeset::cli {

/// What a script learns of a command (design 7). Where several hold, the highest of 3 to 6.
enum Exit {
  done = 0,
  internal = 1,
  bad_input = 2,
  drift = 3,
  no_answer = 4,
  trouble = 5,  ///< some units restored, refused, held or in need of attention
  interrupted = 6,
};

Exit exit_of(change::Outcome outcome);
Exit exit_of(change::Verdict verdict);
/// After a change: a unit of which a finding is an error is in need of attention.
Exit exit_of(const change::UnitResult& unit);
/// Of an audit: so is one that anyone can open with a factory credential, however it is set.
Exit exit_of(const change::Audited& unit);

}  // namespace vergeset::cli
