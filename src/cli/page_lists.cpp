#include "cli/page_lists.h"

#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <map>

#include "fleet/fleet.h"
#include "fleet/site.h"

namespace vergeset::cli {

namespace {

std::string row(std::string_view name, std::string_view text) {
  return fmt::format("| `{}` | {} |\n", name, text);
}

std::string table(std::string_view heading, const std::string& rows) {
  return fmt::format("| {} | |\n| --- | --- |\n{}", heading, rows);
}

std::string limits() {
  std::string rows;
  for (const fleet::Limit& limit : fleet::limit_names()) {
    const double usual = fleet::Limits{}.*limit.number;
    const std::string number = std::isfinite(usual)
                                   ? fmt::format("{}{}{}", usual, limit.unit.empty() ? "" : " ", limit.unit)
                                   : "none";
    rows += row(limit.name, fmt::format("{} (usual: {})", limit.meaning, number));
  }
  return table("limit", rows);
}

std::string rules() {
  std::string rows;
  for (const fleet::Rule& rule : fleet::rules()) {
    rows += row(rule.name,
                fmt::format("{} ({}; {})", rule.meaning, fleet::severity_name(rule.usual), rule.source));
  }
  return table("rule", rows);
}

std::string site_fields() {
  std::string rows;
  for (const auto& [name, meaning] : fleet::site_fields()) rows += row(name, meaning);
  return table("field", rows);
}

std::string with_unit(const schema::CommonSetting& setting) {
  return setting.unit.empty() ? setting.about : setting.about + ", with a unit as in " + setting.unit;
}

std::string common_settings(const schema::Schema& schema) {
  std::string rows;
  for (const auto& [name, setting] : schema.settings) rows += row(name, with_unit(setting));
  std::string out = table("setting", rows);
  for (const auto& [name, common] : schema.tables) {
    rows.clear();
    for (const auto& [column, setting] : common.columns) rows += row(column, with_unit(setting));
    out += fmt::format("\nTable `{}`, {}:\n\n{}", name, common.about, table("column", rows));
  }
  return out;
}

std::string models_list(const schema::Schema& schema) {
  std::string rows;
  for (const auto& [name, model] : schema.models) rows += row(name, model->title);
  return table("model", rows);
}

}  // namespace

Result<std::string> page_list(const std::string& name, const std::string& schemas) {
  if (name == "limits") return limits();
  if (name == "rules") return rules();
  if (name == "site fields") return site_fields();
  Faults faults;
  const schema::Schema schema = schema::load_schema(schemas, "", faults);
  if (faults.any()) return Problem{"the models in " + schemas + " have faults"};
  if (name == "common settings") return common_settings(schema);
  if (name == "models") return models_list(schema);
  return Problem{"no list of the program is called " + name};
}

}  // namespace vergeset::cli
