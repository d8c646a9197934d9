#include <fmt/format.h>

#include <algorithm>

#include "schema/draft.h"
#include "smi/suggest.h"

namespace vergeset::schema {

namespace {

const Object* named_column(const Entry& entry, const Table& table, std::string_view expected) {
  const std::string name = entry.text(expected);
  if (!entry.is_text()) return nullptr;
  std::vector<std::string> known;
  for (const Object* column : table.columns) {
    if (column->name == name) return column;
    known.push_back(column->name);
  }
  entry.fault(fmt::format("{} is no column of {}{}", name, table.name, smi::suggestion(name, known)));
  return nullptr;
}

void resolve_index(const Entry& entry, Table& table) {
  const Object* column = named_column(entry, table, "the column that is the index");
  if (column == nullptr) return;
  if (column->syntax.form != smi::Form::integer) {
    entry.fault(
        fmt::format("the index {} is {}; a table has one integer index", column->name, column->syntax.str()));
    return;
  }
  table.index = column->name;
  const std::vector<smi::Range>& ranges = column->syntax.ranges;
  if (!ranges.empty()) table.index_range = {ranges.front().low, ranges.back().high};
}

void resolve_status(const TableDraft& draft, Table& table) {
  if (draft.status) {
    const Object* column = named_column(draft.status, table, "the column that is the RowStatus");
    if (column != nullptr && column->syntax.form != smi::Form::row_status) {
      draft.status.fault(
          fmt::format("{} is {}; the status of a row is RowStatus", column->name, column->syntax.str()));
    } else {
      table.status = column;
    }
    return;
  }
  for (const Object* column : table.columns) {
    if (column->syntax.form != smi::Form::row_status) continue;
    draft.key.fault(fmt::format("{} has the RowStatus column {}; write `status: {}`", table.name,
                                column->name, column->name));
  }
}

void resolve_most(const Entry& entry, Table& table, const Model& model) {
  if (!entry) return;
  const Object* object = named_object(entry, model, "the scalar that says how many rows there may be");
  if (object == nullptr) return;
  if (object->table != nullptr || object->syntax.form != smi::Form::integer) {
    entry.fault(object->name +
                " is no scalar number; `most:` names the scalar that says how many rows there may be");
    return;
  }
  table.most = object;
}

void gather_columns(Model& model) {
  for (auto& [name, object] : model.objects) {
    if (object.table == nullptr) continue;
    Table& table = model.tables.find(object.table->name)->second;
    table.columns.push_back(&object);
    if (table.needs_standby) object.traits.needs_standby = true;
  }
  const auto by_number = [](const Object* a, const Object* b) { return a->oid < b->oid; };
  for (auto& [name, table] : model.tables) std::sort(table.columns.begin(), table.columns.end(), by_number);
}

/// A default is checked against the syntax that stands in the end. Where a later file has narrowed
/// the syntax, that file is to blame.
void fill_default(const ObjectDraft& draft, Object& object) {
  if (!draft.initial) return;
  const std::string text = draft.initial.text("the value of a factory unit");
  if (!draft.initial.is_text()) return;
  const auto value = smi::encode(object.syntax, text);
  if (value) {
    object.initial = *value;
    return;
  }
  const bool narrowed = draft.syntax && draft.syntax.file() != draft.initial.file();
  const Entry& blamed = narrowed ? draft.syntax : draft.initial;
  blamed.fault(
      fmt::format("the default \"{}\" does not fit {}: {}", text, object.syntax.str(), value.problem()));
}

struct Claim {
  smi::Oid oid;
  std::size_t order = 0;
  std::string name;
  const Entry* key = nullptr;
};

std::vector<Claim> claims_of(const Draft& draft) {
  std::vector<Claim> claims;
  for (const auto& [name, object] : draft.objects) {
    claims.push_back({draft.model->objects.find(name)->second.oid, object.order, name, &object.key});
  }
  for (const auto& [name, table] : draft.tables) {
    claims.push_back({draft.model->tables.find(name)->second.oid, table.order, name, &table.key});
  }
  std::sort(claims.begin(), claims.end(), [](const Claim& a, const Claim& b) { return a.order < b.order; });
  return claims;
}

/// Each identifier once, and no scalar inside a table.
void check_oids(const Draft& draft) {
  std::map<smi::Oid, const Claim*> taken;
  const std::vector<Claim> claims = claims_of(draft);
  for (const Claim& claim : claims) {
    if (claim.oid.empty()) continue;
    const auto [at, fresh] = taken.try_emplace(claim.oid, &claim);
    if (!fresh) {
      claim.key->fault(fmt::format("{} has the object identifier {} of {}, at {}", claim.name,
                                   claim.oid.str(), at->second->name, at->second->key->place().str()));
    }
    const auto object = draft.model->objects.find(claim.name);
    if (object == draft.model->objects.end() || object->second.table != nullptr) continue;
    for (const auto& [name, table] : draft.model->tables) {
      if (table.oid.empty() || claim.oid == table.oid || !claim.oid.within(table.oid)) continue;
      claim.key->fault(
          fmt::format("{} stands inside the table {}; make it a column there", claim.name, name));
    }
  }
}

}  // namespace

const Object* named_object(const Entry& entry, const Model& model, std::string_view expected) {
  const std::string name = entry.text(expected);
  if (!entry.is_text()) return nullptr;
  if (const Object* object = model.object(name)) return object;
  std::vector<std::string> known;
  for (const auto& [object_name, object] : model.objects) known.push_back(object_name);
  entry.fault(fmt::format("{} is no object of {}{}", name, model.name, smi::suggestion(name, known)));
  return nullptr;
}

void finish_tables(Draft& draft) {
  Model& model = *draft.model;
  gather_columns(model);
  for (const auto& [name, table_draft] : draft.tables) {
    Table& table = model.tables.find(name)->second;
    if (!table.columns.empty()) {
      resolve_index(table_draft.index, table);
      resolve_status(table_draft, table);
    }
    resolve_most(table_draft.most, table, model);
  }
  for (const auto& [name, object_draft] : draft.objects) {
    fill_default(object_draft, model.objects.find(name)->second);
  }
  check_oids(draft);
  model.index_objects();
}

}  // namespace vergeset::schema
