#include <memory>
#include <set>

#include "change/factory_doors.h"
#include "cli/audit_keep.h"
#include "cli/common.h"
#include "cli/doors.h"
#include "cli/exit_status.h"
#include "cli/live.h"
#include "cli/print.h"
#include "fleet/secret_source.h"
#include "report/audit_text.h"
#include "report/factory_text.h"
#include "report/insecure_text.h"
#include "report/json.h"

namespace vergeset::cli {

namespace {

struct AuditOptions {
  Common common;
  fleet::Choice choice;
  bool full = false;
  bool accept = false;
  Pace pace;
};

std::vector<change::Audited> read(Live& live, const std::vector<const fleet::Unit*>& units,
                                  const Pace& pace) {
  const Watching watching(live, units.size(), pace);
  std::set<std::string> names;
  for (const fleet::Unit* unit : units) names.insert(unit->name);
  const change::Before before = records::last_counted(live.disk, std::move(names));
  return change::audit(live.world, units, "audit", pace.at_once, before);
}

int audit(const AuditOptions& options) {
  const auto ready = make_ready(options.common, options.choice, options.accept, Secrets::more_are_read);
  if (!ready) return Exit::bad_input;
  Live& live = *ready->live;
  const auto doors = doors_of(ready->fleet);
  if (!doors) return complain(doors.problem());
  fleet::forget_secret_variables();
  records::AuditHead head = head_of(ready->fleet, options.choice, live.clock.now());
  auto audited = read(live, ready->units, options.pace);
  change::try_doors(live.world, *doors, audited, options.pace.at_once);
  head.ended = records::stamp(live.clock.now());
  const std::string kept = keep(live.disk, head, audited);
  const auto insecure = report::insecure_units(ready->fleet, ready->units);
  int status = Exit::done;
  for (const change::Audited& unit : audited) status = std::max<int>(status, exit_of(unit));
  if (options.common.json) {
    report::Json document = report::document("audit");
    document["fleet"] = ready->fleet.name;
    document["record"] = kept;
    document["units"] = report::audit_json(audited);
    document["insecure"] = report::insecure_json(insecure);
    print(report::dump(document));
  } else {
    report::Screen screen = screen_here();
    screen.full = options.full;
    print(report::factory_text(screen, audited) + report::audit_text(screen, audited));
    if (!insecure.empty()) print("\n" + report::insecure_text(screen, insecure));
  }
  return status;
}

}  // namespace

Command audit_command() {
  const auto options = std::make_shared<AuditOptions>();
  return {
      "audit",
      "Reads units, tells which have drifted, and keeps the result.",
      {{"", with({{"--full", "", "long octet strings whole", &options->full}, accept_option(options->accept)},
                 options_of(options->pace))},
       section_of(options->choice),
       section_of(options->common)},
      "vergeset audit --group signals --json",
      [options] { return audit(*options); }};
}

}  // namespace vergeset::cli
