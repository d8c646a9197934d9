#include <memory>

#include "cli/common.h"
#include "cli/exit_status.h"
#include "cli/live.h"
#include "cli/print.h"
#include "records/survey_record.h"
#include "report/json.h"
#include "report/survey_text.h"

namespace vergeset::cli {

namespace {

struct SurveyOptions {
  Common common;
  fleet::Choice choice;
  bool whole = false;
  bool accept = false;
  Pace pace;
};

records::Survey survey_of(const change::Audited& unit, bool whole) {
  records::Survey survey{unit.unit->name,
                         unit.unit->model->name,
                         unit.found.taken,
                         smi::to_hex(unit.found.engine_id),
                         whole,
                         {}};
  for (const auto& [oid, value] : unit.found.instances) {
    survey.instances.push_back({unit.unit->model->name_of(oid), oid, value});
  }
  return survey;
}

std::vector<change::Audited> read_units(const Ready& ready, const SurveyOptions& options) {
  const Watching watching(*ready.live, ready.units.size(), options.pace);
  return change::read_units(ready.live->world, ready.units, options.whole, options.pace.at_once);
}

int survey(const SurveyOptions& options) {
  const auto ready = make_ready(options.common, options.choice, options.accept);
  if (!ready) return Exit::bad_input;
  const auto read = read_units(*ready, options);
  int status = Exit::done;
  for (const change::Audited& unit : read) {
    status = std::max<int>(status, exit_of(unit.verdict));
    // A unit that is not the one it should be is not kept under its name.
    if (unit.verdict != change::Verdict::agrees) continue;
    ready->live->disk.write_whole(records::survey_path(unit.unit->name),
                                  records::to_yaml(survey_of(unit, options.whole)));
  }
  if (options.common.json) {
    report::Json document = report::document("survey");
    document["whole"] = options.whole;
    document["units"] = report::survey_json(read);
    print(report::dump(document));
  } else {
    print(report::survey_text(screen_here(), read));
  }
  return status;
}

}  // namespace

Command survey_command() {
  const auto options = std::make_shared<SurveyOptions>();
  return {
      "survey",
      "Reads units and keeps them as found, in records/surveys.",
      {{"",
        with({{"--whole", "", "every object of the model, not what the files need alone", &options->whole},
              accept_option(options->accept)},
             options_of(options->pace))},
       section_of(options->choice),
       section_of(options->common)},
      "vergeset survey LK-104 --whole",
      [options] { return survey(*options); }};
}

}  // namespace vergeset::cli
