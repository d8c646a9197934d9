#include <algorithm>
#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/print.h"
#include "records/disk.h"
#include "records/unit_log.h"
#include "report/json.h"
#include "smi/suggest.h"

namespace vergeset::cli {

namespace {

struct LogOptions {
  Common common;
  std::string unit;
  bool sets = false;
  bool full = false;
};

std::vector<std::string> logged_units(const records::Disk& disk) {
  std::vector<std::string> names;
  for (const std::string& name : disk.list("units")) {
    if (name.size() > 4 && name.substr(name.size() - 4) == ".log")
      names.push_back(name.substr(0, name.size() - 4));
  }
  return names;
}

int show_log(const LogOptions& options) {
  const records::FolderDisk disk(options.common.records_folder());
  const std::vector<std::string> known = logged_units(disk);
  if (std::find(known.begin(), known.end(), options.unit) == known.end()) {
    return complain("no log of " + options.unit + " in " + disk.root() +
                    smi::suggestion(options.unit, known));
  }
  auto lines = report::read_log(disk.read(records::unit_log_path(options.unit)).value_or(""));
  if (options.sets) {
    const auto other = [](const report::LogLine& line) { return !line.is_set(); };
    lines.erase(std::remove_if(lines.begin(), lines.end(), other), lines.end());
  }
  if (options.common.json) {
    report::Json document = report::document("log");
    document["unit"] = options.unit;
    document["lines"] = report::log_json(lines);
    print(report::dump(document));
  } else {
    report::Screen screen = screen_here();
    screen.full = options.full;
    print(report::log_text(screen, lines));
  }
  return Exit::done;
}

}  // namespace

Command log_command() {
  const auto options = std::make_shared<LogOptions>();
  return {"log",
          "Shows every request to a unit and what came of it, newest last.",
          {{"",
            {{"UNIT", "", "the unit", &options->unit, true},
             {"--sets", "", "SETs and what came of them alone", &options->sets},
             {"--full", "", "long octet strings whole", &options->full}}},
           section_of(options->common)},
          "vergeset log LK-104 --sets",
          [options] { return show_log(*options); }};
}

}  // namespace vergeset::cli
