#include <algorithm>
#include <memory>

#include "change/reach.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/live.h"
#include "cli/print.h"
#include "report/json.h"
#include "report/reach_text.h"

namespace vergeset::cli {

namespace {

struct Options {
  Common common;
  fleet::Choice choice;
  bool full = false;
  Pace pace;
};

std::vector<change::Climbed> climb(const Ready& ready, const Options& options) {
  const Watching watching(*ready.live, ready.units.size(), options.pace);
  change::ReachOptions reach;
  reach.at_once = options.pace.at_once;
  reach.no_keys = [&](const fleet::Unit& unit) {
    const auto found = ready.live->missing.find(unit.credential);
    return found == ready.live->missing.end() ? std::string() : found->second;
  };
  return change::reach(ready.live->world, ready.live->network, ready.units, reach);
}

int exit_of(const std::vector<change::Climbed>& units) {
  int status = Exit::done;
  for (const change::Climbed& unit : units) {
    if (unit.at_top()) continue;
    status = std::max<int>(status, unit.unanswered() ? Exit::no_answer : Exit::trouble);
  }
  return status;
}

int reach(const Options& options) {
  const auto ready = make_ready(options.common, options.choice, false, Secrets::may_be_missing);
  if (!ready) return Exit::bad_input;
  const auto units = climb(*ready, options);
  if (options.common.json) {
    report::Json document = report::document("reach");
    document["units"] = report::reach_json(units);
    print(report::dump(document));
  } else {
    print(report::reach_text(screen_here(), units, options.full));
  }
  return exit_of(units);
}

}  // namespace

Command reach_command() {
  const auto options = std::make_shared<Options>();
  return {"reach",
          "Tells how far this machine gets at units, and what to do then.",
          {{"", with({{"--full", "", "every rung of every unit, not of one alone", &options->full}},
                     options_of(options->pace))},
           section_of(options->choice),
           section_of(options->common)},
          "vergeset reach LK-104",
          [options] { return reach(*options); }};
}

}  // namespace vergeset::cli
