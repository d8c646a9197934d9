#include <fmt/format.h>

#include <algorithm>
#include <memory>

#include "cli/change_run.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept.h"
#include "cli/load.h"
#include "cli/print.h"
#include "records/change_record.h"

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

Result<std::optional<records::Snapshot>> read_snapshot(const records::FolderDisk& disk, int number,
                                                       const std::string& unit, const std::string& name) {
  const std::string path = records::change_path(number, name);
  const auto text = disk.read(path);
  if (!text) return std::optional<records::Snapshot>();
  auto snapshot = records::snapshot_from_yaml(*text);
  if (!snapshot) {
    return Problem{fmt::format("{}: {}; put it back from a copy, or leave the unit out with --except {}",
                               shown(disk, path), snapshot.problem(), unit)};
  }
  return std::optional(*std::move(snapshot));
}

Result<change::UnitGoal> goal_of(const RollbackOptions& options, const records::FolderDisk& disk,
                                 const fleet::Fleet& fleet, const fleet::Unit& unit, int number) {
  const auto snapshot = read_snapshot(disk, number, unit.name, unit.name + ".snapshot.yaml");
  if (!snapshot) return Problem{snapshot.problem()};
  if (!*snapshot)
    return Problem{fmt::format("change {} did not touch {}", records::change_name(number), unit.name)};
  const auto left = read_snapshot(disk, number, unit.name, unit.name + ".left.yaml");
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

bool among(const std::vector<std::string>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

/// Whether the choice can mean units that the files no longer hold: it names none, or by a pattern.
bool open_to_gone(const fleet::Choice& choice) {
  const auto pattern = [](const std::string& name) { return name.find_first_of("*?") != std::string::npos; };
  return choice.names.empty() || std::any_of(choice.names.begin(), choice.names.end(), pattern);
}

/// Units of the change that the files no longer hold keep no other unit from being put back: they are told,
/// and are a problem only where they were named. Leaving one out by name is right, and is done with.
std::string without_gone(const std::vector<std::string>& names, const fleet::Fleet& fleet, int number,
                         fleet::Choice& choice) {
  std::string gone;
  for (const std::string& name : names) {
    if (fleet.unit(name) != nullptr) continue;
    if (among(choice.names, name)) {
      return fmt::format(
          "change {} touched {}, which is no longer in this fleet's files; put its entry back first",
          records::change_name(number), name);
    }
    const bool spared = among(choice.except, name);
    choice.except.erase(std::remove(choice.except.begin(), choice.except.end(), name), choice.except.end());
    if (!spared) gone += (gone.empty() ? "" : ", ") + name;
  }
  if (!gone.empty() && open_to_gone(choice)) {
    print_aside("note: no longer in this fleet's files, and left as they are: " + gone + "\n");
  }
  return {};
}

/// The chosen units that the change touched. One that was named and not touched is a problem.
Result<std::vector<const fleet::Unit*>> units_of(fleet::Choice choice, const records::Disk& disk,
                                                 const fleet::Fleet& fleet, int number) {
  const std::vector<std::string> names = touched(disk, number);
  if (const std::string problem = without_gone(names, fleet, number, choice); !problem.empty()) {
    return Problem{problem};
  }
  const auto all = chosen(fleet, choice);
  if (!all) return Problem{all.problem()};
  std::vector<const fleet::Unit*> units;
  for (const fleet::Unit* unit : *all) {
    if (among(names, unit->name) || among(choice.names, unit->name)) units.push_back(unit);
  }
  if (units.empty() && choice.part.empty()) {
    return Problem{fmt::format("change {} touched none of these units", records::change_name(number))};
  }
  return units;
}

int rollback(const RollbackOptions& options) {
  if (const std::string why = cannot_accept(options.choice); options.run.accept && !why.empty())
    return complain(why);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const records::FolderDisk disk(options.common.records_folder());
  const auto change = change_numbered(disk, options.change);
  if (!change) return complain(change.problem());
  if (change->kind == "rekey") {
    return complain(
        fmt::format("change {} was one of keys, which are not rolled back: vergeset rekey gives its "
                    "units others",
                    records::change_name(change->number)));
  }
  ChangeRun run = options.run;
  run.command = "rollback";
  run.kind = "rollback";
  run.of = records::change_name(change->number);
  run.json = options.common.json;
  const auto lock = take_lock(run, disk.root());
  if (!lock) return complain(lock.problem());
  const auto units = units_of(options.choice, disk, *fleet, change->number);
  if (!units) return complain(units.problem());
  std::vector<change::UnitGoal> goals;
  for (const fleet::Unit* unit : *units) {
    auto goal = goal_of(options, disk, *fleet, *unit, change->number);
    if (!goal) return complain(goal.problem());
    goals.push_back(*std::move(goal));
  }
  const auto live = go_live(*fleet, *units, options.common.records_folder());
  if (!live) return complain(live.problem());
  if (run.accept) accept_replacements(**live, *units);
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
