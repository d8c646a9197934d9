#include "cli/kept_survey.h"

#include <fmt/format.h>

#include "cli/kept.h"
#include "records/survey_record.h"

namespace vergeset::cli {

Result<KeptSurvey> kept_survey(const records::FolderDisk& disk, const fleet::Unit& unit) {
  const auto survey = records::find_survey(disk, unit.name);
  const std::string remedy = "take one with: vergeset survey " + unit.name;
  if (!survey) return Problem{"no survey of it is kept; " + remedy};
  const std::string path = shown(disk, records::survey_path(unit.name));
  if (!*survey) return Problem{fmt::format("{}: {}; {}", path, survey->problem(), remedy)};
  const records::Survey& kept = **survey;
  if (kept.model != unit.model->name) {
    return Problem{fmt::format("{}: it was read as {}, the inventory says {}; {}", path, kept.model,
                               unit.model->name, remedy)};
  }
  KeptSurvey out{{}, kept.whole};
  change::AsFound& found = out.found;
  for (const records::Kept& one : kept.instances) found.instances[one.oid] = one.value;
  found.taken = kept.taken;
  if (const auto id = smi::from_hex(kept.engine_id)) found.engine_id = *id;
  return out;
}

}  // namespace vergeset::cli
