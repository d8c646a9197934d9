#include "report/factory_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/fleet_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using Result = records::FactoryTry::Result;

std::string says(const records::FactoryTry& one) {
  if (one.result == Result::opens) return one.name + " opens it";
  return one.name + " was not tried: after the tries before, the unit let nobody in";
}

}  // namespace

std::string factory_text(const Screen& screen, const std::vector<change::Audited>& units) {
  Table table(2, {"unit", "from the factory", "tried"});
  std::size_t tried = 0;
  std::size_t open = 0;
  for (const change::Audited& unit : units) {
    if (!unit.doors.empty()) ++tried;
    const bool opens = std::any_of(unit.doors.begin(), unit.doors.end(),
                                   [](const auto& one) { return one.result == Result::opens; });
    if (opens) ++open;
    for (const records::FactoryTry& one : unit.doors) {
      if (one.result != Result::opens && one.result != Result::not_tried) continue;
      table.add({unit.unit->name, says(one), one.at.empty() ? "no" : time_text(one.at)});
    }
  }
  if (table.empty()) return {};
  const std::string counts =
      fmt::format("factory credentials open {} of {}: anyone can look them up", open, counted(tried, "unit"));
  return dim(screen, "doors that stand open") + "\n" + table.text(screen, true) +
         paragraph(screen, counts, 2) + "\n";
}

records::Json factory_json(const change::Audited& unit) {
  records::Json out = records::Json::array();
  for (const records::FactoryTry& one : unit.doors)
    out.push_back({{"name", one.name}, {"result", result_name(one.result)}, {"at", one.at}});
  return out;
}

}  // namespace vergeset::report
