#pragma once

#include <optional>
#include <string>
#include <vector>

#include "change/apply.h"
#include "cli/command.h"
#include "cli/live.h"
#include "records/lock.h"

namespace vergeset::cli {

/// What apply and rollback have in common: how a change is looked at beforehand, asked about and
/// carried out.
struct ChangeRun {
  std::string command;  ///< "apply", "rollback"
  std::string kind;     ///< as the change's record has it
  std::string of;
  std::string why;
  std::string approved;  ///< who approved the work order, and when
  std::string write;     ///< the work order's file; empty: none
  bool json = false;
  bool full = false;
  bool yes = false;
  bool dry_run = false;
  bool rehearse = false;
  bool allow_cut_off = false;
  bool outside_window = false;
  bool accept = false;
  Pace pace;

  bool sends_nothing() const { return dry_run || !write.empty(); }
};

/// The options that fill it.
std::vector<Option> options_of(ChangeRun& run);

/// The records for this change alone; none for a dry run, which changes nothing. A problem where another
/// change is under way, or where records cannot be written.
Result<std::optional<records::Lock>> take_lock(const ChangeRun& run, const std::string& records);

/// Reads the units, shows or writes what would be done, or asks and does it. The exit status.
int carry_out(Live& live, const std::vector<change::UnitGoal>& goals, const ChangeRun& run);

}  // namespace vergeset::cli
