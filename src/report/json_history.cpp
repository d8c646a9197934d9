#include "report/json.h"

namespace vergeset::report {

Json change_json(const records::ChangeRecord& change) {
  Json units = Json::array();
  for (const records::UnitOutcome& unit : change.units) {
    units.push_back({{"unit", unit.unit},
                     {"outcome", unit.outcome},
                     {"what", unit.what},
                     {"steps_done", unit.steps},
                     {"off_air_ms", unit.off_air_ms}});
  }
  Json files = Json::array();
  for (const auto& [path, digest] : change.files) files.push_back({{"file", path}, {"sha256", digest}});
  return {{"change", change.number},     {"kind", change.kind},      {"of", change.of},
          {"fleet", change.fleet},       {"who", change.who},        {"why", change.why},
          {"approved", change.approved}, {"begun", change.begun},    {"ended", change.ended},
          {"units", std::move(units)},   {"files", std::move(files)}};
}

Json changes_json(const std::vector<records::ChangeRecord>& changes) {
  Json out = Json::array();
  for (const records::ChangeRecord& change : changes) out.push_back(change_json(change));
  return out;
}

Json log_json(const std::vector<LogLine>& lines) {
  Json out = Json::array();
  for (const LogLine& line : lines) {
    out.push_back({{"at", line.at}, {"for", line.purpose}, {"what", line.what}});
  }
  return out;
}

}  // namespace vergeset::report
