#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept.h"
#include "cli/last_outcome.h"
#include "cli/load.h"
#include "cli/print.h"
#include "report/json.h"

namespace vergeset::cli {

namespace {

struct Units {
  Common common;
  fleet::Choice choice;
};

int list_units(const Units& options) {
  if (const std::string why = no_records(options.common); !why.empty()) return complain(why);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const auto units = chosen(*fleet, options.choice);
  if (!units) return complain(units.problem());
  const records::FolderDisk disk(options.common.records_folder());
  const auto last = last_outcomes(disk, *units);
  if (options.common.json) {
    report::Json document = report::document("units");
    document["units"] = report::units_json(*units, last);
    print(report::dump(document));
  } else {
    print(report::units_text(screen_here(), *units, last));
  }
  return Exit::done;
}

}  // namespace

Command units_command() {
  const auto options = std::make_shared<Units>();
  return {"units",
          "Lists units with address, model, groups and last outcome.",
          {section_of(options->choice), section_of(options->common)},
          "vergeset units --group signals --except LK-10?",
          [options] { return list_units(*options); }};
}

}  // namespace vergeset::cli
