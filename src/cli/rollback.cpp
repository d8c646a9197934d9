#include <fmt/format.h>

#include <algorithm>
#include <memory>

#include "cli/change_run.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/print.h"
#include "records/change_record.h"
#include "smi/words.h"

namespace vergeset::cli {

namespace {

struct RollbackOptions {
  Common common;
  fleet::Choice choice;
  ChangeRun run;
  std::string change;
  bool force = false;
};

/// The units of a change that a snapshot was taken of: those it was about to touch.
std::vector<std::string> touched(const records::Disk& disk, int number) {
  constexpr std::string_view end = ".snapshot.yaml";
  std::vector<std::string> units;
  for (const std::string& name : disk.list("changes/" + records::change_name(number))) {
    const bool snapshot = name.size() > end.size() && name.substr(name.size() - end.size()) == end;
    if (snapshot) units.push_back(name.substr(0, name.size() - end.size()));
  }
  return units;
}

Result<std::optional<records::Snapshot>> read_snapshot(const records::Disk& disk, int number,
                                                       const std::string& name) {
  const std::string path = records::change_path(number, name);
  const auto text = disk.read(path);
  if (!text) return std::optional<records::Snapshot>();
  auto snapshot = records::snapshot_from_yaml(*text);
  if (!snapshot) return Problem{path + ": " + snapshot.problem()};
  return std::optional(*std::move(snapshot));
}

Result<change::UnitGoal> goal_of(const RollbackOptions& options, const records::Disk& disk,
                                 const fleet::Fleet& fleet, const fleet::Unit& unit, int number) {
  const auto snapshot = read_snapshot(disk, number, unit.name + ".snapshot.yaml");
  if (!snapshot) return Problem{snapshot.problem()};
  if (!*snapshot)
    return Problem{fmt::format("change {} did not touch {}", records::change_name(number), unit.name)};
  const auto left = read_snapshot(disk, number, unit.name + ".left.yaml");
  if (!left) return Problem{left.problem()};
  if ((*snapshot)->model != unit.model->name) {
    return Problem{fmt::format("{} was {} then, the inventory says {} now", unit.name, (*snapshot)->model,
                               unit.model->name)};
  }
  return change::UnitGoal{
      &unit, change::goal_of_snapshot(fleet, unit, **snapshot, *left,
                                      fmt::format("change {}, as found", records::change_name(number)),
                                      options.force)};
}

/// The chosen units that the change touched. One that was named and not touched is a problem.
Result<std::vector<const fleet::Unit*>> units_of(const RollbackOptions& options, const records::Disk& disk,
                                                 const fleet::Fleet& fleet, int number) {
  const std::vector<std::string> names = touched(disk, number);
  for (const std::string& name : names) {
    if (fleet.unit(name) == nullptr) {
      return Problem{fmt::format("change {} touched {}, which is no longer in this fleet's files",
                                 records::change_name(number), name)};
    }
  }
  auto chosen = fleet::choose(fleet, options.choice);
  if (!chosen) return chosen;
  std::vector<const fleet::Unit*> units;
  for (const fleet::Unit* unit : *chosen) {
    const bool named = std::find(options.choice.names.begin(), options.choice.names.end(), unit->name) !=
                       options.choice.names.end();
    const bool was_touched = std::find(names.begin(), names.end(), unit->name) != names.end();
    if (was_touched || named) units.push_back(unit);
  }
  if (units.empty()) {
    return Problem{fmt::format("change {} touched none of these units", records::change_name(number))};
  }
  return units;
}

int rollback(const RollbackOptions& options) {
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const records::FolderDisk disk(options.common.records_folder());
  const auto number = smi::whole_number(options.change);
  const bool sane = number && *number > 0 && *number < 1000000000;
  const auto change = sane ? records::find_change(disk, static_cast<int>(*number)) : std::nullopt;
  if (!change) {
    return complain(
        fmt::format("no change {} in {}; `vergeset changes` lists them", options.change, disk.root()));
  }
  const auto units = units_of(options, disk, *fleet, change->number);
  if (!units) return complain(units.problem());
  std::vector<change::UnitGoal> goals;
  for (const fleet::Unit* unit : *units) {
    auto goal = goal_of(options, disk, *fleet, *unit, change->number);
    if (!goal) return complain(goal.problem());
    goals.push_back(*std::move(goal));
  }
  const auto live = go_live(*fleet, *units, options.common.records_folder());
  if (!live) return complain(live.problem());
  ChangeRun run = options.run;
  run.command = "rollback";
  run.kind = "rollback";
  run.of = records::change_name(change->number);
  run.json = options.common.json;
  return carry_out(**live, goals, run);
}

}  // namespace

Command rollback_command() {
  const auto options = std::make_shared<RollbackOptions>();
  std::vector<Option> own{{"CHANGE", "", "the number of the change", &options->change, true}};
  for (Option& option : options_of(options->run)) own.push_back(std::move(option));
  own.push_back({"--force", "", "also what someone else has changed since", &options->force});
  return {"rollback",
          "Puts units back as a change found them; itself a change.",
          {{"", own}, section_of(options->choice), section_of(options->common)},
          "vergeset rollback 42 LK-104 --dry-run",
          [options] { return rollback(*options); }};
}

}  // namespace vergeset::cli
