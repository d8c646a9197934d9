#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "change/apply.h"
#include "change/rehearse.h"
#include "cli/command.h"
#include "cli/live.h"
#include "records/lock.h"
#include "report/screen.h"

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
  bool within = false;  ///< of a larger piece of work: with `json` it tells its text aside, and no document
  std::function<void(const change::ChangeResult&)> ended = {};  ///< told what came of it

  bool sends_nothing() const { return dry_run || !write.empty(); }
};

/// The options that fill it.
std::vector<Option> options_of(ChangeRun& run);

/// The records for this change alone; none for a dry run, which changes nothing. A problem where another
/// change is under way, or where records cannot be written.
Result<std::optional<records::Lock>> take_lock(const ChangeRun& run, const std::string& records);

/// A kind of change: what it finds beforehand, what it does, and how a person is told.
struct Job {
  std::function<std::vector<change::Preview>(const std::string& purpose)> preview;
  std::function<change::ChangeResult(const std::vector<change::Preview>&, const change::ApplyOptions&)> apply;
  std::function<std::string(const report::Screen&, const std::vector<change::Preview>&)> dry_run_text;
  std::function<std::string(const report::Screen&, const std::vector<change::Preview>&,
                            const std::vector<std::size_t>& waves)>
      preview_text;
  /// What is said before the question.
  std::function<std::string(const report::Screen&, const std::vector<change::Preview>&)> caution;
  bool always_asks = false;  ///< not only where units leave operate
  std::string unasked;       ///< why it has to be asked, where there is no terminal
  /// Carries it out on twins first; from then on apply() does what was rehearsed.
  std::function<std::vector<change::Rehearsal>(std::vector<change::Preview>&, const std::string& program)>
      rehearse = {};
};

/// Reads the units, shows or writes what would be done, or asks and does it. The exit status.
int carry_out(Live& live, const Job& job, const ChangeRun& run);
int carry_out(Live& live, const std::vector<change::UnitGoal>& goals, const ChangeRun& run);

}  // namespace vergeset::cli
