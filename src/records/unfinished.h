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

/// What the journal of a change that has not ended says of one unit that was begun: its snapshot is on
/// disk, and SETs may have been sent.
struct HalfDone {
  std::string unit;
  std::size_t steps = 0;        ///< of its sequence
  std::size_t announced = 0;    ///< of them: may have been sent
  bool restoring = false;       ///< it was being put back
  std::vector<Announced> sets;  ///< of the steps that were announced, in order
  std::vector<std::vector<Announced>> by_step;
  std::int64_t first_at_ms = 0;  ///< milliseconds since 1970-01-01T00:00Z of its first step; 0: none
};

/// A change whose records do not say that it has ended: the program was killed, or its disk failed.
struct Unfinished {
  ChangeRecord change;          ///< units as far as their outcome is on record; the others "held"
  std::vector<HalfDone> units;  ///< those that were begun and have no outcome, in the journal's order
};

/// All of them, oldest first. A torn last line is what was never acted on: left out.
std::vector<Unfinished> unfinished_changes(const Disk& disk);

}  // namespace vergeset::records
