#include <algorithm>
#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept.h"
#include "cli/load.h"
#include "cli/print.h"
#include "records/disk.h"
#include "records/unfinished.h"
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

/// The units of the fleet's files; none where the files are not there or not right: a log is read all the
/// same.
std::vector<std::string> fleet_units(const Common& common) {
  Faults faults;
  const fleet::Fleet fleet = fleet::load_fleet(common.fleet, schemas_folder(), faults);
  std::vector<std::string> names;
  if (faults.any()) return names;
  for (const fleet::Unit& unit : fleet.units) names.push_back(unit.name);
  return names;
}

bool among(const std::vector<std::string>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

/// Empty for a unit of the fleet that has no log yet, otherwise why there is no log to show.
std::string why_no_log(const LogOptions& options, const records::FolderDisk& disk,
                       std::vector<std::string> known) {
  const std::vector<std::string> units = fleet_units(options.common);
  if (among(units, options.unit)) return {};
  known.insert(known.end(), units.begin(), units.end());
  const std::string meant = smi::suggestion(options.unit, known);
  if (units.empty()) return "no log of " + options.unit + " in " + disk.root() + meant;
  return "no such unit: " + options.unit + " is not in this fleet and has no log in " + disk.root() + meant;
}

/// The change that has this unit half done; 0 where none has.
int unfinished_change(const records::Disk& disk, const std::string& name) {
  const auto of_unit = [&](const records::HalfDone& half) { return half.unit == name; };
  for (const records::Unfinished& one : records::unfinished_changes(disk)) {
    if (std::any_of(one.units.begin(), one.units.end(), of_unit)) return one.change.number;
  }
  return 0;
}

int show_log(const LogOptions& options) {
  if (const std::string why = no_records(options.common); !why.empty()) return complain(why);
  const records::FolderDisk disk(options.common.records_folder());
  const std::vector<std::string> known = logged_units(disk);
  const bool logged = among(known, options.unit);
  if (!logged) {
    const std::string why = why_no_log(options, disk, known);
    if (!why.empty()) return complain(why);
  }
  auto lines = report::read_log(disk.read(records::unit_log_path(options.unit)).value_or(""));
  if (options.sets) {
    const auto other = [](const report::LogLine& line) { return !line.is_set(); };
    lines.erase(std::remove_if(lines.begin(), lines.end(), other), lines.end());
  }
  const int unfinished = unfinished_change(disk, options.unit);
  if (options.common.json) {
    report::Json document = report::document("log");
    document["unit"] = options.unit;
    document["unfinished_change"] = unfinished > 0 ? report::Json(unfinished) : report::Json();
    document["lines"] = report::log_json(lines);
    print(report::dump(document));
  } else if (!logged) {
    print("no log of " + options.unit + " yet\n");
  } else {
    report::Screen screen = screen_here();
    screen.full = options.full;
    print(report::log_text(screen, lines));
  }
  if (unfinished > 0) {
    print_aside("note: change " + records::change_name(unfinished) + " has this unit half done; it " +
                report::unfinished_words() + "\n");
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
