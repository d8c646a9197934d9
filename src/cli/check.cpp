#include <filesystem>
#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/print.h"
#include "report/insecure_text.h"
#include "report/json.h"

namespace vergeset::cli {

namespace {

int check(const Common& common) {
  if (!common.json && !is_fleet(common)) return Exit::bad_input;
  Faults faults;
  fleet::Fleet fleet = fleet::load_fleet(common.fleet, schemas_folder(), faults);
  if (common.json) {
    report::Json document = report::document("check");
    document["faults"] = report::faults_json(faults);
    if (!faults.any()) {
      document.update(report::fleet_json(fleet));
      document["insecure"] = report::insecure_json(report::insecure_units(fleet));
    }
    print(report::dump(document));
  } else if (faults.any()) {
    print_aside(report::faults_text(faults));
  } else {
    print(report::fleet_text(screen_here(), fleet));
    const auto insecure = report::insecure_units(fleet);
    if (!insecure.empty()) print("\n" + report::insecure_text(screen_here(), insecure));
  }
  return faults.any() ? Exit::bad_input : Exit::done;
}

}  // namespace

Command check_command() {
  const auto common = std::make_shared<Common>();
  return {"check",
          "Reads all files of a fleet and tells every fault. Sends nothing.",
          {section_of(*common)},
          "vergeset check --fleet inventories/larkmoor",
          [common] { return check(*common); }};
}

}  // namespace vergeset::cli
