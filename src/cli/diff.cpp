#include <fmt/format.h>

#include <memory>

#include "change/compare.h"
#include "change/identify.h"
#include "change/message_revisions.h"
#include "checks/message_findings.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept_survey.h"
#include "cli/live.h"
#include "cli/load.h"
#include "cli/local_time.h"
#include "cli/print.h"
#include "cli/walked.h"
#include "report/audit_text.h"
#include "report/findings_text.h"
#include "report/json.h"

namespace vergeset::cli {

namespace {

struct DiffOptions {
  Common common;
  fleet::Choice choice;
  bool survey = false;
  std::string walk;
  bool full = false;
  bool accept = false;
  Pace pace;
};

using Units = std::vector<const fleet::Unit*>;
using Compared = Result<std::vector<change::Audited>>;

/// A unit that was read before, judged as if it had answered now.
change::Audited judge(const fleet::Fleet& fleet, const fleet::Unit& unit, change::AsFound found) {
  change::Audited out;
  out.unit = &unit;
  out.found = std::move(found);
  if (const auto wrong = change::wrong_unit(fleet, unit, out.found)) {
    out.verdict = change::Verdict::wrong_unit;
    out.what = *wrong;
    return out;
  }
  out.comparison = change::compare(unit, out.found);
  const checks::AsRead read = change::as_read(*unit.model, out.found);
  out.position = change::found_at(checks::position_of(read, unit.site, fleet.limits));
  out.health = checks::health(fleet, unit, read);
  change::add_revision_findings(fleet, out.comparison, out.health);
  out.verdict = out.comparison.agrees() ? change::Verdict::agrees : change::Verdict::drifted;
  return out;
}

/// A survey from before a unit was replaced says nothing of the unit that stands there now.
void tell_of_another(const records::KnownUnits& known, change::Audited& unit) {
  const auto expected = known.expected(unit.unit->name);
  if (unit.found.engine_id.empty() || !expected || *expected == unit.found.engine_id) return;
  unit.verdict = change::Verdict::wrong_unit;
  unit.what = fmt::format(
      "this survey is of engine id {}, the unit that is known now has {}; take one with: vergeset "
      "survey {}",
      smi::to_hex(unit.found.engine_id), smi::to_hex(*expected), unit.unit->name);
  unit.comparison = {};
  unit.health.clear();
}

/// A unit without a survey that can be read has given no answer; the others are compared.
Compared against_surveys(const fleet::Fleet& fleet, const Units& units, const records::FolderDisk& disk) {
  const records::KnownUnits known = records::KnownUnits::read(disk);
  std::vector<change::Audited> all;
  for (const fleet::Unit* unit : units) {
    auto kept = kept_survey(disk, *unit);
    if (kept) {
      KeptSurvey survey = *std::move(kept);
      all.push_back(judge(fleet, *unit, std::move(survey.found)));
      tell_of_another(known, all.back());
      continue;
    }
    all.emplace_back();
    all.back().unit = unit;
    all.back().what = kept.problem();
  }
  return all;
}

Compared against_walk(const fleet::Fleet& fleet, const Units& units, const std::string& path) {
  if (units.size() != 1) {
    return Problem{fmt::format("--walk compares one unit; {} are chosen. Name the unit", units.size())};
  }
  const fleet::Unit& unit = *units.front();
  auto found = read_walked(fleet, unit, path);
  if (!found) return Problem{found.problem()};
  std::vector<change::Audited> all;
  all.push_back(judge(fleet, unit, *std::move(found)));
  tell_what_was_walked(all.front());
  return all;
}

Compared against_units(const fleet::Fleet& fleet, const Units& units, const DiffOptions& options) {
  const auto live = go_live(fleet, units, options.common.records_folder());
  if (!live) return Problem{live.problem()};
  if (options.accept) accept_replacements(**live, units);
  const Watching watching(**live, units.size(), options.pace);
  return change::audit((*live)->world, units, "diff", options.pace.at_once);
}

report::From from(const DiffOptions& options) {
  using Kind = report::From::Kind;
  return {options.survey ? Kind::survey : options.walk.empty() ? Kind::unit : Kind::walk, options.walk};
}

void show(const DiffOptions& options, const std::vector<change::Audited>& units,
          const std::vector<checks::UnitFindings>& findings) {
  if (options.common.json) {
    report::Json document = report::document("diff");
    document["from"] = options.survey ? "survey" : options.walk.empty() ? "unit" : "walk";
    document["units"] = report::audit_json(units);
    document["findings"] = report::findings_json(findings);
    return print(report::dump(document));
  }
  report::Screen screen = screen_here();
  screen.full = options.full;
  print(report::audit_text(screen, units, from(options)));
  if (!findings.empty()) print("\n" + report::findings_text(screen, findings));
}

int diff(const DiffOptions& options) {
  if (options.survey && !options.walk.empty()) return complain("--survey and --walk do not go together");
  if (options.accept && (options.survey || !options.walk.empty()))
    return complain("--accept-replacement is of a unit that answers: not with --survey or --walk");
  if (const std::string why = cannot_accept(options.choice); options.accept && !why.empty())
    return complain(why);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const auto units = chosen(*fleet, options.choice);
  if (!units) return complain(units.problem());
  const records::FolderDisk disk(options.common.records_folder());
  const Compared compared = options.survey         ? against_surveys(*fleet, *units, disk)
                            : options.walk.empty() ? against_units(*fleet, *units, options)
                                                   : against_walk(*fleet, *units, options.walk);
  if (!compared) return complain(compared.problem());
  show(options, *compared, checks::message_findings(*fleet, *units, this_second()));
  int status = Exit::done;
  for (const change::Audited& unit : *compared) status = std::max<int>(status, exit_of(unit.verdict));
  return status;
}

}  // namespace

Command diff_command() {
  const auto options = std::make_shared<DiffOptions>();
  return {"diff",
          "Shows what of each unit is not as its files ask. Sends no SET.",
          {{"", with({{"--survey", "", "compare with the kept survey, not the unit", &options->survey},
                      {"--walk", "FILE", "compare with a walk of one unit by snmpwalk -On", &options->walk},
                      {"--full", "", "long octet strings whole", &options->full},
                      accept_option(options->accept)},
                     options_of(options->pace))},
           section_of(options->choice),
           section_of(options->common)},
          "vergeset diff LK-104",
          [options] { return diff(*options); }};
}

}  // namespace vergeset::cli
