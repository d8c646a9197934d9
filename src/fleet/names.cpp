#include "fleet/names.h"

#include <algorithm>
#include <cctype>

#include "smi/suggest.h"

namespace vergeset::fleet {

bool plain_name(std::string_view name) {
  if (name.empty() || name.size() > 64 || name[0] == '.' || name[0] == '-') return false;
  return std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '-' ||
           c == '_' || c == '.';
  });
}

std::string hint(std::string_view wrong, const std::vector<std::string>& known,
                 const std::string& otherwise) {
  const std::string suggestion = smi::suggestion(wrong, known);
  return suggestion.empty() ? "; " + otherwise : suggestion;
}

std::string bar_to(const schema::Object& object) {
  if (object.traits.action) return "is an action, not a setting";
  if (object.traits.running) return "is written by the unit's own programs or is the state of a query";
  if (!object.settable()) return "is read-only";
  return "";
}

Names::Names(const schema::Schema& schema) : schema_(schema) {
  for (const auto& [model_name, model] : schema.models) {
    for (const auto& [name, object] : model->objects) {
      kinds_.emplace(name, object.table == nullptr ? Kind::scalar : Kind::column);
      if (object.table != nullptr) table_of_.emplace(name, object.table->name);
    }
    for (const auto& [name, table] : model->tables) add_table(name, table);
  }
  for (const auto& [name, setting] : schema.settings) kinds_.emplace(name, Kind::scalar);
  for (const auto& [name, table] : schema.tables) {
    kinds_.emplace(name, Kind::table);
    for (const auto& [model_name, own] : table.on) {
      if (own == nullptr) continue;
      // A table's common columns may be used under either of its names, and so may its own ones.
      for (const auto& [column, setting] : table.columns) columns_[own->name].push_back(column);
      add_table(name, *own);
    }
    for (const auto& [column, setting] : table.columns) columns_[name].push_back(column);
  }
  for (auto& [table, list] : columns_) {
    std::sort(list.begin(), list.end());
    list.erase(std::unique(list.begin(), list.end()), list.end());
  }
  for (const auto& [name, kind] : kinds_) {
    if (kind == Kind::scalar) settings_.push_back(name);
  }
}

void Names::add_table(const std::string& name, const schema::Table& table) {
  kinds_.emplace(name, Kind::table);
  for (const schema::Object* column : table.columns) columns_[name].push_back(column->name);
}

Names::Kind Names::kind(std::string_view name) const {
  const auto found = kinds_.find(name);
  return found == kinds_.end() ? Kind::unknown : found->second;
}

bool Names::has_column(std::string_view table, std::string_view column) const {
  const auto found = columns_.find(table);
  return found != columns_.end() && std::binary_search(found->second.begin(), found->second.end(), column);
}

std::string Names::models_with(std::string_view name) const {
  std::string text;
  for (const auto& [model_name, model] : schema_.models) {
    if (model->object(name) == nullptr && model->table(name) == nullptr) continue;
    text += (text.empty() ? "" : ", ") + model_name;
  }
  return text;
}

std::string Names::bar_everywhere(std::string_view name) const {
  std::string bar;
  if (schema_.settings.count(std::string(name)) != 0) return bar;
  for (const auto& [model_name, model] : schema_.models) {
    const schema::Object* const object = model->object(name);
    if (object == nullptr) continue;
    bar = bar_to(*object);
    if (bar.empty()) break;
  }
  return bar;
}

std::vector<std::string> Names::tables() const {
  std::vector<std::string> list;
  for (const auto& [name, kind] : kinds_) {
    if (kind == Kind::table) list.push_back(name);
  }
  return list;
}

std::vector<std::string> Names::columns(std::string_view table) const {
  const auto found = columns_.find(table);
  return found == columns_.end() ? std::vector<std::string>{} : found->second;
}

std::vector<std::string> Names::own() const {
  std::vector<std::string> list;
  for (const auto& [name, kind] : kinds_) {
    if (!models_with(name).empty()) list.push_back(name);
  }
  return list;
}

namespace {

void check_setting(const Written& setting, const Names& names, Faults& faults) {
  const std::string bar = names.bar_everywhere(setting.name);
  switch (names.kind(setting.name)) {
    case Names::Kind::scalar:
      if (!bar.empty()) {
        faults.add(setting.name_place, setting.name + " " + bar + ": it cannot be asked for");
      }
      return;
    case Names::Kind::table:
      faults.add(setting.name_place, setting.name + " is a table: it goes under tables:");
      return;
    case Names::Kind::column:
      faults.add(setting.name_place,
                 setting.name + " is a column of a table: it goes into a row under tables:");
      return;
    case Names::Kind::unknown:
      faults.add(setting.name_place,
                 "no model has a setting " + setting.name + smi::suggestion(setting.name, names.settings()));
  }
}

void check_row(const RowBlock& row, const std::string& table, const Names& names, Faults& faults) {
  const auto check = [&](const std::string& column, const Place& place) {
    if (names.has_column(table, column)) return;
    faults.add(place, table + " has no column " + column + smi::suggestion(column, names.columns(table)));
  };
  for (const Written& column : row.columns) check(column.name, column.name_place);
  for (const Written& member : row.match) check(member.text, member.place);
}

void check_table(const TableBlock& table, const Names& names, Faults& faults) {
  if (names.kind(table.name) == Names::Kind::table) {
    for (const RowBlock& row : table.rows) check_row(row, table.name, names, faults);
    return;
  }
  const bool other = names.kind(table.name) != Names::Kind::unknown;
  faults.add(table.place,
             other ? table.name + " is no table: a setting goes under settings:"
                   : "no model has a table " + table.name + smi::suggestion(table.name, names.tables()));
}

void check_trait(const TraitAsk& trait, const Names& names, Faults& faults) {
  if (!names.models_with(trait.target).empty()) return;
  const bool common = names.kind(trait.target) != Names::Kind::unknown;
  faults.add(trait.target_place, common ? "traits go by a standard's own names, and " + trait.target +
                                              " is a common one; name the object or table of the model"
                                        : "no model has an object or table " + trait.target +
                                              smi::suggestion(trait.target, names.own()));
}

void check_block(const Block& block, const Names& names, Faults& faults) {
  for (const Written& setting : block.settings) check_setting(setting, names, faults);
  for (const TableBlock& table : block.tables) check_table(table, names, faults);
  for (const TraitAsk& trait : block.traits) check_trait(trait, names, faults);
}

}  // namespace

void check_names(const Layer& layer, const Names& names, Faults& faults) {
  check_block(layer.plain, names, faults);
  for (const Layer::Only& only : layer.only) {
    if (names.schema().model(only.model) == nullptr) {
      std::vector<std::string> models;
      for (const auto& [name, model] : names.schema().models) models.push_back(name);
      faults.add(only.place, "no model is called " + only.model + smi::suggestion(only.model, models));
      continue;
    }
    check_block(only.block, names, faults);
  }
}

}  // namespace vergeset::fleet
