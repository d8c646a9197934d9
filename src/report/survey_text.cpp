#include "report/survey_text.h"

#include <fmt/format.h>

#include <set>

#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

SurveyCount count(const schema::Model& model, const change::AsFound& found) {
  SurveyCount counts;
  std::set<const schema::Object*> objects;
  for (const auto& [oid, value] : found.instances) {
    if (value.absent()) {
      ++counts.absent;
    } else if (const schema::Object* object = model.object_at(oid)) {
      objects.insert(object);
    }
  }
  counts.objects = objects.size();
  for (const auto& [name, table] : model.tables) counts.rows += found.rows_of(table).size();
  return counts;
}

std::string survey_text(const Screen& screen, const std::vector<change::Audited>& units) {
  Table table(0, {"unit", "objects", "rows", "not there", "note"});
  std::vector<std::string> words;
  for (const change::Audited& unit : units) {
    const bool was_read = unit.verdict == change::Verdict::agrees;
    words.emplace_back(was_read ? "read" : std::string(verdict_name(unit.verdict)));
    if (!was_read) {
      table.add({unit.unit->name, "", "", "", fmt::format("{}: {}", words.back(), unit.what)});
      continue;
    }
    const SurveyCount counts = count(*unit.unit->model, unit.found);
    table.add({unit.unit->name, std::to_string(counts.objects), std::to_string(counts.rows),
               std::to_string(counts.absent), ""});
  }
  return table.text(screen, true) + summary({"read", "wrong unit", "no answer"}, words) + "\n";
}

}  // namespace vergeset::report
