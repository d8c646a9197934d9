#include "report/json.h"
#include "smi/inert.h"

namespace vergeset::report {

namespace {

Json asked_json(const fleet::Asked& asked) {
  return {{"file", asked.place.file},
          {"line", asked.place.line},
          {"column", asked.place.column},
          {"layer", asked.layer},
          {"text", asked.text}};
}

Json desired_json(const fleet::DesiredValue& value) {
  Json overrode = Json::array();
  for (const fleet::Asked& weaker : value.overrode) overrode.push_back(asked_json(weaker));
  return {{"setting", value.name},
          {"object", value.object->name},
          {"desired", value_json(value.object->syntax, value.object->unit, value.value)},
          {"asked", asked_json(value.asked)},
          {"overrode", std::move(overrode)}};
}

Json row_json(const fleet::DesiredRow& row) {
  Json match = Json::array();
  for (const std::size_t i : row.match) match.push_back(row.columns[i].name);
  Json columns = Json::array();
  for (const fleet::DesiredValue& column : row.columns) columns.push_back(desired_json(column));
  Json out{{"row", row.label},
           {"index", nullptr},
           {"match", std::move(match)},
           {"match_message", nullptr},
           {"present", row.present},
           {"asked", asked_json(row.asked)},
           {"columns", std::move(columns)}};
  if (row.index) out["index"] = *row.index;
  if (row.match_payload) out["match_message"] = row.match_payload->message_id;
  return out;
}

Json unit_json(const fleet::Unit& unit) {
  return {{"unit", unit.name},
          {"host", unit.host},
          {"port", unit.port},
          {"model", unit.model->name},
          {"groups", unit.groups}};
}

}  // namespace

Json document(const std::string& command) {
  return {{"vergeset", 1}, {"command", command}};
}

std::string dump(const Json& document) {
  return smi::inert_json(document.dump(2, ' ', false, Json::error_handler_t::replace)) + "\n";
}

std::string dump_line(const Json& document) {
  return smi::inert_json(document.dump(-1, ' ', false, Json::error_handler_t::replace)) + "\n";
}

Json value_json(const smi::Syntax& syntax, const std::string& unit, const smi::Value& value) {
  return {{"words", change::in_words(syntax, unit, value)},
          {"type", smi::type_name(value.type)},
          {"value", smi::exact_text(value)}};
}

Json faults_json(const Faults& faults) {
  Json out = Json::array();
  for (const Fault& fault : faults.sorted()) {
    out.push_back({{"file", fault.place.file},
                   {"line", fault.place.line},
                   {"column", fault.place.column},
                   {"text", fault.text}});
  }
  return out;
}

Json fleet_json(const fleet::Fleet& fleet) {
  Json models = Json::object();
  for (const fleet::Unit& unit : fleet.units) {
    if (unit.model == nullptr) continue;
    Json& count = models[unit.model->name];
    count = count.is_null() ? 1 : count.get<int>() + 1;
  }
  Json groups = Json::array();
  for (const auto& [name, place] : fleet.groups) groups.push_back(name);
  return {{"fleet", fleet.name},
          {"units", fleet.units.size()},
          {"units_by_model", std::move(models)},
          {"groups", std::move(groups)},
          {"files", fleet.files}};
}

Json units_json(const std::vector<const fleet::Unit*>& units,
                const std::map<std::string, LastOutcome>& last) {
  Json out = Json::array();
  for (const fleet::Unit* unit : units) {
    Json one = unit_json(*unit);
    const auto found = last.find(unit->name);
    one["last"] = nullptr;
    if (found != last.end()) {
      one["last"] = {{"outcome", found->second.outcome}, {"of", found->second.of}, {"at", found->second.at}};
    }
    out.push_back(std::move(one));
  }
  return out;
}

Json where_json(const fleet::Unit& unit, const Where& where) {
  Json settings = Json::array();
  for (const fleet::DesiredValue* value : where.values) settings.push_back(desired_json(*value));
  Json tables = Json::array();
  for (const fleet::DesiredTable* table : where.tables) {
    Json rows = Json::array();
    for (const fleet::DesiredRow& row : table->rows) {
      if (where.shows(row)) rows.push_back(row_json(row));
    }
    tables.push_back({{"table", table->name},
                      {"object", table->table->name},
                      {"others", others_name(table->others)},
                      {"rows", std::move(rows)}});
  }
  Json left_out = Json::array();
  for (const fleet::LeftOut* one : where.left_out) {
    left_out.push_back({{"setting", one->name}, {"why", one->why}, {"asked", asked_json(one->asked)}});
  }
  return {{"unit", unit.name},
          {"model", unit.model->name},
          {"settings", std::move(settings)},
          {"tables", std::move(tables)},
          {"left_out", std::move(left_out)}};
}

}  // namespace vergeset::report
