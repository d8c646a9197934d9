#pragma once

#include <string>
#include <vector>

#include "records/change_record.h"
#include "report/screen.h"

namespace vergeset::report {

/// "apply", "rollback of 0042", "apply order night.yaml".
std::string kind_text(const records::ChangeRecord& change);

/// Of a change without an end: that, and what to do.
std::string unfinished_words();

/// What can become of a unit in a change, in the order in which it is counted up.
const std::vector<std::string>& outcome_words();

/// Every change, oldest first: number, when, who, what it was and how it ended; why in a column where the
/// screen has room for it, otherwise on a line below.
std::string changes_text(const Screen& screen, const std::vector<records::ChangeRecord>& changes);

/// One change: who did what to which unit, when, why, by which files.
std::string change_text(const Screen& screen, const records::ChangeRecord& change);

/// One line of a unit's log.
struct LogLine {
  std::string at;
  std::string purpose;  ///< "change 0042", "audit"
  std::string what;
  bool is_set() const;  ///< a SET or what came of one
};

/// The lines of records/units/<unit>.log; a line that is none of its is kept whole in `what`.
std::vector<LogLine> read_log(const std::string& text);

std::string log_text(const Screen& screen, const std::vector<LogLine>& lines);

}  // namespace vergeset::report
