#include <memory>

#include "cli/change_run.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/order_file.h"
#include "cli/print.h"

namespace vergeset::cli {

namespace {

struct ApplyCommand {
  Common common;
  fleet::Choice choice;
  ChangeRun run;
  std::string order;
  bool second_person = false;
};

bool chooses(const fleet::Choice& choice) {
  return !choice.names.empty() || !choice.groups.empty() || !choice.models.empty() ||
         !choice.except.empty() || !choice.part.empty();
}

int carry_out(const ApplyCommand& options, const fleet::Fleet& fleet,
              const std::vector<const fleet::Unit*>& units, const std::vector<change::UnitGoal>& goals,
              const ChangeRun& run) {
  const auto lock = take_lock(run, options.common.records_folder());
  if (!lock) return complain(lock.problem());
  const auto live = go_live(fleet, units, options.common.records_folder());
  if (!live) return complain(live.problem());
  if (run.accept) accept_replacements(**live, units);
  return carry_out(**live, goals, run);
}

int apply_files(const ApplyCommand& options, const fleet::Fleet& fleet, ChangeRun run) {
  if (fleet.require_second_person && !run.sends_nothing()) {
    return complain(
        "this fleet requires a second person: keep the dry run with --write FILE, have it approved (vergeset "
        "approve "
        "FILE), then carry it out with --order FILE");
  }
  const auto units = chosen(fleet, options.choice);
  if (!units) return complain(units.problem());
  std::vector<change::UnitGoal> goals;
  for (const fleet::Unit* unit : *units) goals.push_back({unit, change::goal_of_files(fleet, *unit)});
  run.kind = "apply";
  return carry_out(options, fleet, *units, goals, run);
}

int apply_order(const ApplyCommand& options, const fleet::Fleet& fleet, ChangeRun run) {
  const auto order = read_order(options.order, fleet);
  if (!order) return complain(order.problem());
  const auto approval = approval_of(options.order, *order);
  if (!approval) return complain("the approval does not hold: " + approval.problem());
  if (!*approval && !run.sends_nothing() && (options.second_person || fleet.require_second_person)) {
    return complain(options.order + " is not approved: someone other than " + change::person_of(order->who) +
                    " has to read it, and approve it with: vergeset approve " + options.order);
  }
  if (*approval) run.approved = (*approval)->who + ", " + (*approval)->approved;
  for (const std::string& file : changed_since(*order, fleet)) {
    print_aside("note: " + file + " has changed since the order was written; what is done is the order\n");
  }
  std::vector<const fleet::Unit*> units;
  std::vector<change::UnitGoal> goals;
  for (const change::OrderedUnit& one : order->units) {
    const fleet::Unit* unit = fleet.unit(one.unit);
    units.push_back(unit);
    goals.push_back({unit, change::goal_of_order(fleet, *unit, one)});
  }
  run.kind = "apply order";
  run.of = options.order;
  if (run.why.empty()) run.why = order->why;
  return carry_out(options, fleet, units, goals, run);
}

int apply(const ApplyCommand& options) {
  const bool ordered = !options.order.empty();
  if (options.second_person && !ordered)
    return complain("--require-second-person is of a work order: carry one out with --order FILE");
  if (ordered && chooses(options.choice)) {
    return complain("a work order names its units: --order goes with no choice of units");
  }
  if (ordered && !options.run.write.empty()) return complain("--order and --write do not go together");
  if (ordered && options.run.accept) {
    return complain(
        "a work order is for the unit that was reviewed: accept the replacement with vergeset survey, and "
        "write a "
        "new order");
  }
  if (const std::string why = cannot_accept(options.choice); options.run.accept && !why.empty())
    return complain(why);
  if (!options.run.write.empty()) {
    const std::string why = cannot_write_order(options.run.write);
    if (!why.empty()) return complain(why);
  }
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  ChangeRun run = options.run;
  run.command = "apply";
  run.json = options.common.json;
  return ordered ? apply_order(options, *fleet, run) : apply_files(options, *fleet, run);
}

}  // namespace

Command apply_command() {
  const auto options = std::make_shared<ApplyCommand>();
  std::vector<Option> own = options_of(options->run);
  own.push_back({"--write", "FILE", "keep the dry run as a work order; send no SET", &options->run.write});
  own.push_back({"--order", "FILE", "carry out a work order, exactly", &options->order});
  own.push_back(
      {"--require-second-person", "", "only where another has approved the order", &options->second_person});
  return {"apply",
          "Sets what is not as the files ask, in waves; verifies it.",
          {{"", own}, section_of(options->choice), section_of(options->common)},
          "vergeset apply --group signals --dry-run",
          [options] { return apply(*options); }};
}

}  // namespace vergeset::cli
