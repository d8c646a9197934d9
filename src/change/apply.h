#pragma once

#include <functional>
#include <string>
#include <vector>

#include "change/settle.h"
#include "records/change_record.h"

namespace vergeset::change {

/// A unit and what it is to become.
struct UnitGoal {
  const fleet::Unit* unit = nullptr;
  Goal goal;
};

/// The purpose of a preview that no change follows.
inline const std::string dry_run = "dry run";

/// What a unit would get, from reading it: for a dry run, for the question before a change, for the
/// size of its waves.
struct Preview {
  const fleet::Unit* unit = nullptr;
  UnitResult result;        ///< settled: would be changed; nothing to do; refused; no answer
  AsFound found;            ///< of a dry run
  std::string opener = {};  ///< of a change of keys: the way that opened it
};

/// What the steps of a dry run would touch, as found.
records::Snapshot as_found_of(const Preview& preview);

/// Reads every unit and works out its steps; sends no SET. In the order of `goals`. `purpose` stands in the
/// units' logs.
std::vector<Preview> preview(const World& world, const std::vector<UnitGoal>& goals, bool allow_cut_off,
                             std::size_t at_once, const std::string& purpose = dry_run);

/// Sizes of the waves over `units` units: `waves` of fleet.yaml, a share rounded up, at least one unit
/// each, the last one taking what is left.
std::vector<std::size_t> wave_sizes(const std::vector<fleet::Wave>& waves, std::size_t units);

struct ApplyOptions {
  std::string kind;  ///< "apply", "apply order", "rollback"
  std::string of;
  std::string who;
  std::string why;
  bool allow_cut_off = false;
  std::size_t at_once = 256;
  int failures_allowed = 0;  ///< in a wave
  /// Whether the next wave may start (the window is open, nobody pressed Ctrl-C); empty where it may,
  /// otherwise why not.
  std::function<std::string()> may_go_on;
  std::function<void(std::size_t wave, std::size_t of, std::size_t units)> wave_begins;
  std::function<void(const fleet::Unit&, const UnitResult&)> unit_ends;
  Watcher watcher;
  std::string approved = {};  ///< who approved the work order, and when
};

struct ChangeResult {
  int number = 0;                 ///< 0 where nothing had to be changed and no record was made
  std::vector<UnitResult> units;  ///< in the order of the goals
  std::string stopped;            ///< why not all waves were started; empty
};

/// One change over the units of `previews` that would be changed, in waves. A wave with more failures
/// than allowed stops the change; what has not started is held. Units whose steps can cut the manager
/// off go one at a time, after all others.
ChangeResult apply(const World& world, const std::vector<UnitGoal>& goals,
                   const std::vector<Preview>& previews, const ApplyOptions& options);

/// What a change does to the unit of one preview. What it returns is on record.
using CarryOut = std::function<snmp::Task<UnitResult>(std::size_t preview, const SettleOptions& options,
                                                      records::Journal& journal)>;

/// The same for a change of any kind.
ChangeResult in_waves(const World& world, const std::vector<Preview>& previews, const ApplyOptions& options,
                      const CarryOut& carry_out);

/// SHA-256 of every file of the fleet.
std::vector<std::pair<std::string, std::string>> digests(const fleet::Fleet& fleet);

}  // namespace vergeset::change
