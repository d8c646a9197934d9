#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "records/change_record.h"
#include "records/disk.h"
#include "smi/oid.h"
#include "smi/value.h"

namespace vergeset::records {

/// One variable binding of a step as the journal announced it.
struct Announced {
  std::string object;
  smi::Oid oid;
  smi::Value value;
};

/// One step as the journal announced it.
struct AnnouncedStep {
  enum class Mode { none, standby, operate };  ///< what its SET asks for, where it is of the mode
  std::string about;
  Mode mode = Mode::none;
  std::vector<Announced> sets;
};

/// What the journal of a change that has not ended says of one unit that was begun: its snapshot is on
/// disk, and SETs may have been sent.
struct HalfDone {
  std::string unit;
  std::size_t steps = 0;                 ///< of its sequence
  std::vector<AnnouncedStep> announced;  ///< the first of them: may have been sent
  std::vector<smi::Oid> set_back;        ///< of steps that put it back, or finished it
  std::string giver;                     ///< of keys: the user that gives another its keys; empty: none
  bool incomplete = false;               ///< a line is missing, or does not tell all: more may have been set
  bool unnumbered = false;               ///< a SET without a serial number may have been sent
  bool restoring = false;                ///< it was being put back
  bool mode_touched = false;             ///< the mode was set, there or back
  /// When standby was first asked for, milliseconds since 1970-01-01T00:00Z; 0 where it was not.
  std::int64_t standby_at = 0;
  std::int64_t last_step_at = 0;  ///< of the last step there or back; 0: none
};

/// A change whose records do not say that it has ended: the program was killed, or its disk failed.
struct Unfinished {
  ChangeRecord change;          ///< units as far as their outcome is on record; the others "held"
  std::vector<HalfDone> units;  ///< those that were begun and have no outcome, in the journal's order
};

/// All of them, oldest first. A line that was torn was never acted on, and is left out.
std::vector<Unfinished> unfinished_changes(const Disk& disk);

}  // namespace vergeset::records
