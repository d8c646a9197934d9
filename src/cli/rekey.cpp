#include "change/rekey.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <memory>

#include "cli/change_run.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/key_place.h"
#include "cli/key_ways.h"
#include "cli/live.h"
#include "cli/load.h"
#include "cli/print.h"
#include "cli/rekey_job.h"
#include "report/words.h"
#include "snmp/key_change.h"

namespace vergeset::cli {

namespace {

struct RekeyCommand {
  Common common;
  fleet::Choice choice;
  ChangeRun run;
  KeyWishes wishes;
};

/// What is to be done in the files where units were given another credential than they say; empty where
/// nothing is.
std::string elsewhere(const std::vector<const fleet::Unit*>& units, const std::string& to) {
  const auto count = std::count_if(units.begin(), units.end(), [&to](const fleet::Unit* unit) {
    return !to.empty() && unit->credential != to;
  });
  if (count == 0) return {};
  return fmt::format(
      "note: the files name another credential for {}; what has settled wants credential: {} there\n",
      report::counted(static_cast<std::size_t>(count), "unit"), to);
}

int rekey(const RekeyCommand& options) {
  if (const std::string why = cannot_accept(options.choice); options.run.accept && !why.empty())
    return complain(why);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const auto units = chosen(*fleet, options.choice);
  if (!units) return complain(units.problem());
  ChangeRun run = options.run;
  run.command = run.kind = "rekey";
  run.json = options.common.json;
  const auto lock = take_lock(run, options.common.records_folder());
  if (!lock) return complain(lock.problem());
  const auto place = key_place(*fleet);
  if (!place) return complain(place.problem());
  auto opened = open_keys(*fleet, **place);
  if (!opened) return complain(opened.problem());
  records::KeyStore store = *std::move(opened);
  const change::KeyTools tools{store, snmp::random_octets};
  const auto goals = key_goals(*fleet, *units, options.wishes, store, !run.sends_nothing());
  if (!goals) return complain(goals.problem());
  const auto live = go_live(*fleet, {}, options.common.records_folder());
  if (!live) return complain(live.problem());
  if (run.accept) accept_replacements(**live, *units);

  const Job job = rekey_job(**live, *goals, tools, run.pace);
  const int status = carry_out(**live, job, run);
  if (!run.sends_nothing()) print_aside(elsewhere(*units, options.wishes.to));
  return status;
}

}  // namespace

Command rekey_command() {
  const auto options = std::make_shared<RekeyCommand>();
  ChangeRun& run = options->run;
  KeyWishes& wishes = options->wishes;
  const std::vector<Option> own =
      with({{"--from", "CREDENTIAL", "what opens the units now", &wishes.from},
            {"--to", "CREDENTIAL", "what is to (default: the unit's)", &wishes.to},
            {"--by", "CREDENTIAL", "another user there, who gives it its keys", &wishes.by},
            {"--shared", "", "one pair of secrets for all of them", &wishes.shared},
            {"--keep-users", "", "users of the factory stay", &wishes.keep_users},
            accept_option(run.accept),
            {"--dry-run", "", "show the steps; send no SET", &run.dry_run},
            {"--why", "TEXT", "why, for the records", &run.why},
            {"--yes", "", "do not ask", &run.yes},
            {"--outside-window", "", "though the maintenance window is closed", &run.outside_window}},
           options_of(run.pace));
  return {"rekey",
          "Gives units other keys, or users in place of the factory's.",
          {{"", own}, section_of(options->choice), section_of(options->common)},
          "vergeset rekey --group signals --from factory --why \"into service\"",
          [options] { return rekey(*options); }};
}

}  // namespace vergeset::cli
