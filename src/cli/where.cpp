#include <fmt/format.h>

#include <algorithm>
#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/load.h"
#include "cli/print.h"
#include "report/json.h"
#include "smi/suggest.h"

namespace vergeset::cli {

namespace {

struct WhereOptions {
  Common common;
  std::string unit;
  std::string name;
  bool full = false;
};

std::string no_unit(const fleet::Fleet& fleet, const std::string& name) {
  std::vector<std::string> names;
  for (const fleet::Unit& unit : fleet.units) names.push_back(unit.name);
  const std::string meant = smi::suggestion(name, names);
  return "no unit " + name + " in this fleet" + (meant.empty() ? "; `vergeset units` lists them" : meant);
}

int show_where(const WhereOptions& options) {
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const fleet::Unit* unit = fleet->unit(options.unit);
  if (unit == nullptr) return complain(no_unit(*fleet, options.unit));
  const report::Where found = report::where(*unit, options.name);
  if (found.empty() && !options.name.empty()) {
    const std::vector<std::string> known = report::askable(*unit, *fleet->schema);
    if (std::find(known.begin(), known.end(), options.name) == known.end()) {
      return complain("no setting, table or object " + options.name + " on " + unit->model->title +
                      smi::suggestion(options.name, known));
    }
  }
  if (options.common.json) {
    report::Json document = report::document("where");
    document.update(report::where_json(*unit, found));
    print(report::dump(document));
  } else if (found.empty()) {
    print(fmt::format("no file asks for {} on {}\n", options.name.empty() ? "anything" : options.name,
                      unit->name));
  } else {
    report::Screen screen = screen_here();
    screen.full = options.full;
    print(report::where_text(screen, *unit, found));
  }
  return Exit::done;
}

}  // namespace

Command where_command() {
  const auto options = std::make_shared<WhereOptions>();
  return {"where",
          "Tells which file and line asks for each value of a unit.",
          {{"",
            {{"UNIT", "", "the unit", &options->unit, true},
             {"NAME", "", "one setting, table, TABLE/ROW or object (default: all)", &options->name},
             {"--full", "", "long octet strings whole", &options->full}}},
           section_of(options->common)},
          "vergeset where LK-104 position-tolerance",
          [options] { return show_where(*options); }};
}

}  // namespace vergeset::cli
