#include <algorithm>
#include <iostream>
#include <memory>

#include "checks/before_power.h"
#include "cli/commission_unit.h"
#include "cli/exit_status.h"
#include "cli/interrupt.h"
#include "cli/load.h"
#include "cli/print.h"
#include "fleet/secret_source.h"
#include "records/lock.h"
#include "report/acceptance_made.h"
#include "report/fleet_text.h"
#include "report/words.h"
#include "report/wrap.h"
#include "smi/quantity.h"

namespace vergeset::cli {

namespace {

std::string cautions_text(const report::Screen& screen) {
  std::string text;
  for (const std::string& caution : checks::pole_cautions()) text += report::paragraph(screen, caution);
  return text;
}

/// Between the units of a van, where a person has to connect the next one.
bool next_unit(const fleet::Unit& unit) {
  if (!can_ask()) return true;
  print_aside("Next is " + unit.name + " at " + unit.host + ". Press Enter when it is connected: ");
  std::string line;
  return static_cast<bool>(std::getline(std::cin, line));
}

report::Json json_of(const std::vector<Commissioned>& all) {
  report::Json units = report::Json::array();
  for (const Commissioned& one : all) {
    report::Json unit = report::acceptance_json(one.sheet);
    unit["stopped"] = one.stopped;
    unit["sheet"] = one.sheet_path.empty() ? report::Json() : report::Json(one.sheet_path);
    units.push_back(std::move(unit));
  }
  return units;
}

std::string end_text(const report::Screen& screen, const std::string& records, const Commissioned& one) {
  if (one.sheet_path.empty()) return {};
  const std::string verdict = one.sheet.accepted ? "ready to be signed" : "not to be signed yet";
  return report::paragraph(screen, "sheet: " + records + "/" + one.sheet_path + ".txt and .html, " + verdict,
                           2);
}

Result<double> seconds_of(const std::string& text) {
  const auto quantity = smi::Quantity::parse(text);
  if (!quantity) return Problem{quantity.problem()};
  const auto seconds = smi::number_in_unit(*quantity, "s");
  if (!seconds) return seconds;
  // Some units bring their counters up to date twice a minute only (common practice, no source).
  if (*seconds < 60 || *seconds > 3600) return Problem{"expected 60 to 3600 s, found " + text};
  return seconds;
}

int commission(CommissionOptions options) {
  if (options.choice.names.empty())
    return complain("name the units to commission: vergeset commission UNIT...");
  if (const std::string why = cannot_accept(options.choice); options.accept && !why.empty())
    return complain(why);
  const auto watch = seconds_of(options.watch);
  if (!watch) return complain("--watch: " + watch.problem());
  options.watch_s = *watch;
  auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  // On a bench a unit is not where it will hang.
  if (options.bench) fleet->position_within_m.reset();
  const auto units = chosen(*fleet, options.choice);
  if (!units) return complain(units.problem());
  const std::string records = options.common.records_folder();
  if (const std::string why = records::cannot_write(records); !why.empty()) return complain(why);
  Faults faults;
  PoleAnswers answers;
  if (!options.answers.empty()) answers = PoleAnswers::read(options.answers, *fleet, faults);
  if (faults.any()) {
    print_aside(report::faults_text(faults));
    return Exit::bad_input;
  }
  const report::Screen screen = options.common.json ? screen_aside() : screen_here();
  const auto say = [&](const std::string& text) { options.common.json ? print_aside(text) : print(text); };
  say(cautions_text(screen) + "\n");
  std::vector<Commissioned> all;
  for (const fleet::Unit* unit : *units) {
    if (!all.empty() && !next_unit(*unit)) break;
    all.push_back(commission_unit(*fleet, *unit, answers, options));
    say(end_text(screen, records, all.back()));
    if (all.back().status == Exit::interrupted || interrupt_noted()) break;
  }
  fleet::forget_secret_variables();
  int status = Exit::done;
  for (const Commissioned& one : all) status = std::max(status, one.status);
  const auto ready = std::ranges::count_if(all, [](const Commissioned& one) { return one.sheet.accepted; });
  say(report::counted(units->size(), "unit") + ": " + std::to_string(ready) + " ready to be signed\n");
  if (options.common.json) {
    report::Json document = report::document("commission");
    document["units"] = json_of(all);
    print(report::dump(document));
  }
  return status;
}

}  // namespace

Command commission_command() {
  const auto options = std::make_shared<CommissionOptions>();
  return {
      "commission",
      "Brings units into service, from the pole to a sheet to sign.",
      {{"",
        with({{"--answers", "FILE", "answers to the checks, for where there is no terminal",
               &options->answers},
              {"--bench", "", "what can be done before the unit is at its pole", &options->bench},
              {"--watch", "TIME", "how long counters of messages are watched", &options->watch},
              {"--why", "TEXT", "why, for the records", &options->why},
              {"--yes", "", "do not ask before keys and settings are changed", &options->yes},
              {"--allow-cut-off", "", "also set what can cut this manager off", &options->allow_cut_off},
              {"--outside-window", "", "though the maintenance window is closed", &options->outside_window},
              accept_option(options->accept)},
             options_of(options->pace))},
       section_of(options->choice),
       section_of(options->common)},
      "vergeset commission LK-104",
      [options] { return commission(*options); }};
}

}  // namespace vergeset::cli
