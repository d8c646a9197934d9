#include <algorithm>
#include <filesystem>
#include <memory>

#include "checks/message_findings.h"
#include "checks/site.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/local_time.h"
#include "cli/print.h"
#include "report/channel_text.h"
#include "report/findings_text.h"
#include "report/insecure_text.h"
#include "report/json.h"

namespace vergeset::cli {

namespace {

struct CheckOptions {
  Common common;
  bool full = false;
  bool rules = false;
  bool load = false;
};

/// What the files alone can tell of each unit.
std::vector<checks::UnitFindings> findings_of(const fleet::Fleet& fleet) {
  return checks::joined(fleet,
                        {checks::site_findings(fleet), checks::message_findings(fleet, this_second())});
}

int exit_of(const std::vector<checks::UnitFindings>& units) {
  const bool serious = std::ranges::any_of(units, [](const checks::UnitFindings& unit) {
    return checks::worst(unit.findings) == fleet::Severity::error;
  });
  return serious ? Exit::trouble : Exit::done;
}

int check(const CheckOptions& options) {
  const Common& common = options.common;
  if (!common.json && !is_fleet(common)) return Exit::bad_input;
  Faults faults;
  std::vector<checks::UnitFindings> findings;
  fleet::Fleet fleet = fleet::load_fleet(common.fleet, schemas_folder(), faults);
  if (common.json) {
    report::Json document = report::document("check");
    document["faults"] = report::faults_json(faults);
    if (!faults.any()) {
      document.update(report::fleet_json(fleet));
      document["insecure"] = report::insecure_json(report::insecure_units(fleet));
      findings = findings_of(fleet);
      document["findings"] = report::findings_json(findings);
      document["channels"] = report::channels_json(fleet);
      if (options.rules) document.update(report::rules_json(fleet));
    }
    print(report::dump(document));
  } else if (faults.any()) {
    print_aside(report::faults_text(faults));
  } else if (options.rules) {
    print(report::rules_text(screen_here(), fleet));
  } else if (options.load) {
    print(report::channels_text(screen_here(), fleet));
  } else {
    report::Screen screen = screen_here();
    screen.full = options.full;
    print(report::fleet_text(screen, fleet));
    const auto insecure = report::insecure_units(fleet);
    if (!insecure.empty()) print("\n" + report::insecure_text(screen, insecure));
    findings = findings_of(fleet);
    if (!findings.empty()) print("\n" + report::findings_text(screen, findings));
  }
  return faults.any() ? Exit::bad_input : exit_of(findings);
}

}  // namespace

Command check_command() {
  const auto options = std::make_shared<CheckOptions>();
  return {"check",
          "Tells faults and doubts of a fleet's files. Sends nothing.",
          {{"",
            {{"--full", "", "all units of each finding by name", &options->full},
             {"--load", "", "how much of each channel the messages of each unit take", &options->load},
             {"--rules", "", "the rules and limits of findings, and what they are here", &options->rules}}},
           section_of(options->common)},
          "vergeset check --fleet inventories/larkmoor",
          [options] { return check(*options); }};
}

}  // namespace vergeset::cli
