#include <fmt/format.h>

#include <memory>

#include "change/draft_tree.h"
#include "change/identify.h"
#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/kept_survey.h"
#include "cli/live.h"
#include "cli/load.h"
#include "cli/print.h"
#include "cli/walked.h"
#include "fleet/names.h"
#include "report/draft_text.h"
#include "report/fleet_text.h"
#include "report/json.h"

namespace vergeset::cli {

namespace {

struct DraftOptions {
  Common common;
  fleet::Choice choice;
  std::string out;
  std::string group = "as-found";
  bool survey = false;
  std::string walk;
  bool accept = false;
  Pace pace;
};

using ReadUnits = Result<std::vector<change::Audited>>;
using ChosenUnits = std::vector<const fleet::Unit*>;

void judge_read(const fleet::Fleet& fleet, change::Audited& unit) {
  const auto wrong = change::wrong_unit(fleet, *unit.unit, unit.found);
  unit.verdict = wrong ? change::Verdict::wrong_unit : change::Verdict::agrees;
  if (wrong) unit.what = *wrong;
}

/// Of a survey that is not whole nobody knows what else the unit holds.
ReadUnits from_surveys(const fleet::Fleet& fleet, const ChosenUnits& units, const records::FolderDisk& disk) {
  std::vector<change::Audited> all;
  for (const fleet::Unit* unit : units) {
    change::Audited& one = all.emplace_back();
    one.unit = unit;
    auto kept = kept_survey(disk, *unit);
    if (!kept) {
      one.what = kept.problem();
    } else if (!kept->whole) {
      one.what = "its survey holds what the files need and no more; take one with: vergeset survey " +
                 unit->name + " --whole";
    } else {
      KeptSurvey survey = *std::move(kept);
      one.found = std::move(survey.found);
      judge_read(fleet, one);
    }
  }
  return all;
}

ReadUnits from_walk(const fleet::Fleet& fleet, const ChosenUnits& units, const std::string& path) {
  if (units.size() != 1)
    return Problem{fmt::format("--walk is of one unit; {} are chosen. Name the unit", units.size())};
  auto found = read_walked(fleet, *units.front(), path);
  if (!found) return Problem{found.problem()};
  change::Audited one;
  one.unit = units.front();
  one.found = *std::move(found);
  judge_read(fleet, one);
  std::vector<change::Audited> all;
  all.push_back(std::move(one));
  return all;
}

ReadUnits from_units(const fleet::Fleet& fleet, const ChosenUnits& units, const DraftOptions& options) {
  const auto live = go_live(fleet, units, options.common.records_folder());
  if (!live) return Problem{live.problem()};
  if (options.accept) accept_replacements(**live, units);
  const Watching watching(**live, units.size(), options.pace);
  return change::read_units((*live)->world, units, true, options.pace.at_once);
}

ReadUnits read_as_asked(const fleet::Fleet& fleet, const ChosenUnits& units, const DraftOptions& options) {
  if (options.survey) return from_surveys(fleet, units, records::FolderDisk(options.common.records_folder()));
  if (!options.walk.empty()) return from_walk(fleet, units, options.walk);
  return from_units(fleet, units, options);
}

/// Without the strokes at its end.
std::string folder_of(const std::string& out) {
  const std::size_t end = out.find_last_not_of('/');
  return out.substr(0, end == std::string::npos ? 1 : end + 1);
}

/// Why these options do not go together; empty where they do.
std::string amiss(const DraftOptions& options) {
  if (options.survey && !options.walk.empty()) return "--survey and --walk do not go together";
  if (options.accept && (options.survey || !options.walk.empty()))
    return "--accept-replacement is of a unit that answers: not with --survey or --walk";
  if (options.out.empty()) return "--out needs the name of a new folder";
  if (options.accept) return cannot_accept(options.choice);
  if (!fleet::plain_name(options.group))
    return "a group's name has letters, digits, - _ and .; found " + options.group;
  return {};
}

int draft(const DraftOptions& options) {
  if (const std::string why = amiss(options); !why.empty()) return complain(why);
  const auto fleet = load(options.common);
  if (!fleet) return Exit::bad_input;
  const auto units = chosen(*fleet, options.choice);
  if (!units) return complain(units.problem());
  const change::DraftPlan plan{schemas_folder(), options.group, folder_of(options.out)};
  // Before a thousand units are read for nothing.
  if (const std::string why = change::cannot_draft(*fleet, plan); !why.empty()) return complain(why);
  const ReadUnits read = read_as_asked(*fleet, *units, options);
  if (!read) return complain(read.problem());
  int status = Exit::done;
  std::vector<change::ToDescribe> found;
  for (const change::Audited& unit : *read) {
    status = std::max<int>(status, exit_of(unit.verdict));
    if (unit.verdict == change::Verdict::agrees)
      found.push_back({unit.unit, &unit.found, !options.walk.empty()});
  }
  const auto drafted = change::draft_tree(*fleet, found, plan);
  if (!drafted) return complain(drafted.problem());
  if (!drafted->not_described.empty()) status = std::max<int>(status, Exit::trouble);
  const report::DraftShown shown{fleet->folder, plan.out, options.group, *read, *drafted};
  if (options.common.json) {
    print(report::dump(report::draft_json(shown)));
  } else {
    print(report::draft_text(screen_here(), shown));
  }
  return status;
}

}  // namespace

Command draft_command() {
  const auto options = std::make_shared<DraftOptions>();
  Option out{"--out", "DIR", "the new folder", &options->out};
  out.required = true;
  return {"draft",
          "Writes the files that describe units as they are.",
          {{"", with({out,
                      {"--as", "NAME", "what the new group is called (default: as-found)", &options->group},
                      {"--survey", "", "", &options->survey},
                      {"--walk", "FILE", "from whole kept surveys, or a walk of one unit", &options->walk},
                      accept_option(options->accept)},
                     options_of(options->pace))},
           section_of(options->choice),
           section_of(options->common)},
          "vergeset draft --out ../drafted",
          [options] { return draft(*options); }};
}

}  // namespace vergeset::cli
