#include "schema/common.h"

#include <fmt/format.h>

#include "schema/meaning.h"
#include "smi/suggest.h"

namespace vergeset::schema {

const Model* CommonReader::model_of(const Entry& key) const {
  const std::string name = key.text("a model");
  if (const Model* model = schema_.model(name)) return model;
  std::vector<std::string> known;
  for (const auto& [model_name, model] : schema_.models) known.push_back(model_name);
  key.fault(fmt::format("no model {} is known{}", name, smi::suggestion(name, known)));
  return nullptr;
}

bool CommonReader::fits(const Entry& entry, const Model& model, const Mapping& mapping,
                        const CommonSetting& setting, const CommonTable* table) {
  const Object& object = *mapping.object;
  const Table* wanted = nullptr;
  if (table != nullptr) {
    const auto at = table->on.find(model.name);
    if (at == table->on.end()) {
      entry.fault(fmt::format("{} has no table on {}; map the table there first", table->name, model.name));
      return false;
    }
    wanted = at->second;
  }
  if (object.table != wanted) {
    entry.fault(wanted == nullptr ? fmt::format("{} is a column of {}; a setting is a scalar", object.name,
                                                object.table->name)
                                  : fmt::format("{} is no column of {}", object.name, wanted->name));
    return false;
  }
  if (mapping.from_payload) {
    if (object.syntax.wire() == smi::Type::octet_string) return true;
    entry.fault(fmt::format("{} is {}; a payload is an OCTET STRING", object.name, object.syntax.str()));
    return false;
  }
  if (!object.configuration()) {
    entry.fault(object.name + " is no configuration: it is read-only, an action, or the unit's own");
    return false;
  }
  if (const std::string problem = misfit(setting, object); !problem.empty()) {
    entry.fault(problem);
    return false;
  }
  return true;
}

void CommonReader::map_one(const Entry& entry, const Model& model, CommonSetting& setting,
                           const CommonTable* table) {
  const Mapping mapping = read_mapping(entry, model);
  if (mapping.object == nullptr || !fits(entry, model, mapping, setting, table)) return;
  const std::string name = (table == nullptr ? "" : table->name + ".") + setting.name;
  if (const auto at = setting.on.find(model.name); at != setting.on.end()) {
    taken_.erase({&model, at->second.object});
  }
  if (!mapping.from_payload) {
    const auto [at, fresh] = taken_.try_emplace({&model, mapping.object}, name);
    if (!fresh && at->second != name) {
      entry.fault(
          fmt::format("{} is {} already; an object has one common name", mapping.object->name, at->second));
      return;
    }
  }
  setting.on[model.name] = mapping;
}

void CommonReader::read_on(const Entry& on, CommonSetting& setting, const CommonTable* table) {
  for (const auto& [key, entry] : on.pairs("a map of models to objects")) {
    if (const Model* model = model_of(key)) map_one(entry, *model, setting, table);
  }
}

void CommonReader::read_setting(const Entry& key, const Entry& body) {
  const std::string name = key.text("a name");
  for (const auto& [model_name, model] : schema_.models) {
    if (model->object(name) == nullptr) continue;
    key.fault(fmt::format("{} is an object of {}; a common name is another", name, model_name));
    return;
  }
  if (!body.is_map()) {
    key.fault("a common setting is a map: {about: ..., on: ...}");
    return;
  }
  const auto [at, fresh] = schema_.settings.try_emplace(name);
  CommonSetting& setting = at->second;
  if (fresh) {
    body.only({"about", "unit", "labels", "on", "elsewhere"});
    setting.name = name;
    read_meaning(body, setting);
  } else {
    body.only({"on"});
  }
  read_on(body.need("on"), setting, nullptr);
}

void CommonReader::read_column(const Entry& key, const Entry& body, CommonTable& table) {
  const std::string name = key.text("a name");
  if (!body.is_map()) {
    key.fault("a common column is a map: {on: ...}");
    return;
  }
  const auto [at, fresh] = table.columns.try_emplace(name);
  CommonSetting& column = at->second;
  if (fresh) {
    body.only({"about", "unit", "labels", "on", "elsewhere"});
    column.name = name;
    read_meaning(body, column);
  } else {
    body.only({"on"});
  }
  read_on(body.need("on"), column, &table);
}

void CommonReader::read_table_on(const Entry& on, CommonTable& table) {
  for (const auto& [key, entry] : on.pairs("a map of models to tables")) {
    const Model* model = model_of(key);
    const std::string name = entry.text("a table");
    if (model == nullptr || !entry.is_text()) continue;
    if (const Table* found = model->table(name)) {
      table.on[model->name] = found;
      continue;
    }
    std::vector<std::string> known;
    for (const auto& [table_name, found] : model->tables) known.push_back(table_name);
    entry.fault(fmt::format("{} is no table of {}{}", name, model->name, smi::suggestion(name, known)));
  }
}

void CommonReader::read_table(const Entry& key, const Entry& body) {
  const std::string name = key.text("a name");
  if (!body.is_map()) {
    key.fault("a common table is a map: {about: ..., on: ..., columns: ...}");
    return;
  }
  const auto [at, fresh] = schema_.tables.try_emplace(name);
  CommonTable& table = at->second;
  if (fresh) {
    body.only({"about", "on", "columns"});
    table.name = name;
    table.about = body.need("about").text("what it means");
  } else {
    body.only({"on", "columns"});
  }
  read_table_on(fresh ? body.need("on") : body.at("on"), table);
  for (const auto& [column, fields] : body.at("columns").pairs("a map of columns")) {
    read_column(column, fields, table);
  }
}

void CommonReader::read(const Entry& file) {
  file.only({"settings", "tables"});
  for (const auto& [key, body] : file.at("settings").pairs("a map of settings")) read_setting(key, body);
  for (const auto& [key, body] : file.at("tables").pairs("a map of tables")) read_table(key, body);
}

void CommonReader::inherit(const Model& base, const Model& model) {
  const auto inherit_one = [&](CommonSetting& setting, const std::string& prefix) {
    const auto at = setting.on.find(base.name);
    if (at == setting.on.end() || setting.on.count(model.name) != 0) return;
    Mapping mapping = at->second;
    mapping.object = model.object(mapping.object->name);
    if (!mapping.from_payload) {
      if (!mapping.object->configuration()) return;
      if (!taken_.try_emplace({&model, mapping.object}, prefix + setting.name).second) return;
    }
    setting.on[model.name] = mapping;
  };
  for (auto& [name, setting] : schema_.settings) inherit_one(setting, "");
  for (auto& [name, table] : schema_.tables) {
    if (const auto at = table.on.find(base.name); at != table.on.end()) {
      table.on.try_emplace(model.name, model.table(at->second->name));
    }
    for (auto& [column, setting] : table.columns) inherit_one(setting, name + ".");
  }
}

namespace {

void name_object(Schema& schema, const CommonSetting& setting) {
  for (const auto& [model, mapping] : setting.on) {
    if (mapping.from_payload || mapping.object == nullptr) continue;
    Object& object = schema.models.at(model)->objects.find(mapping.object->name)->second;
    object.common = setting.name;
    const bool wants_words = object.syntax.form == smi::Form::integer && object.syntax.words.empty();
    if (wants_words) object.syntax.words = setting.labels;
  }
}

}  // namespace

void name_objects(Schema& schema) {
  for (const auto& [name, setting] : schema.settings) name_object(schema, setting);
  for (const auto& [name, common] : schema.tables) {
    for (const auto& [model, table] : common.on) {
      schema.models.at(model)->tables.find(table->name)->second.common = name;
    }
    for (const auto& [column, setting] : common.columns) name_object(schema, setting);
  }
}

}  // namespace vergeset::schema