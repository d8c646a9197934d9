#include "cli/exit_status.h"

#include "change/factory_doors.h"

namespace vergeset::cli {

Exit exit_of(change::Outcome outcome) {
  switch (outcome) {
    case change::Outcome::settled:
    case change::Outcome::nothing_to_do:
      return Exit::done;
    case change::Outcome::no_answer:
      return Exit::no_answer;
    case change::Outcome::restored:
    case change::Outcome::refused:
    case change::Outcome::held:
    case change::Outcome::needs_attention:
      break;
  }
  return Exit::trouble;
}

Exit exit_of(change::Verdict verdict) {
  switch (verdict) {
    case change::Verdict::agrees:
      return Exit::done;
    case change::Verdict::no_answer:
      return Exit::no_answer;
    case change::Verdict::drifted:
    case change::Verdict::wrong_unit:
      break;
  }
  return Exit::drift;
}

Exit exit_of(const change::UnitResult& unit) {
  const bool serious = checks::worst(unit.health) == fleet::Severity::error;
  return serious ? Exit::trouble : exit_of(unit.outcome);
}

Exit exit_of(const change::Audited& unit) {
  const bool serious = checks::worst(unit.health) == fleet::Severity::error;
  return serious || change::stands_open(unit) ? Exit::trouble : exit_of(unit.verdict);
}

}  // namespace vergeset::cli
