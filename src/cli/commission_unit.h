#pragma once

#include <string>

#include "cli/common.h"
#include "cli/pole_answers.h"
#include "fleet/fleet.h"
#include "records/commissioning.h"
#include "report/acceptance.h"

namespace vergeset::cli {

struct CommissionOptions {
  Common common;
  fleet::Choice choice;
  std::string answers;  ///< the file; empty: none
  std::string why;
  std::string watch = "65 s";  ///< how long the counters of messages are watched, as written
  double watch_s = 65;         ///< the same in seconds
  bool bench = false;
  bool yes = false;
  bool outside_window = false;
  bool allow_cut_off = false;
  bool accept = false;
  Pace pace;
};

/// What came of the commissioning of one unit in this run.
struct Commissioned {
  int status = 0;       ///< exit status (exit_status.h)
  std::string stopped;  ///< where it goes on next time, and why; empty: it has ended
  report::Acceptance sheet;
  std::string sheet_path;  ///< below the records, without .txt or .html; empty: none was written
};

/// Brings one unit into service: a person's checks, then stage by stage, each on record before the next
/// begins. What has passed in an earlier run is not done again.
Commissioned commission_unit(const fleet::Fleet& fleet, const fleet::Unit& unit, const PoleAnswers& answers,
                             const CommissionOptions& options);

}  // namespace vergeset::cli
