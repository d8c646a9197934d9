#include "fleet/table_asks.h"

#include <algorithm>

namespace vergeset::fleet {

namespace {

/// Why a column cannot be desired, as the end of a message; empty where it can.
std::string column_bar(const schema::Object& column) {
  if (&column == column.table->status) return "is the row's status; `present: no` removes a row";
  if (column.name == column.table->index) return "is the row's index; state `index: 1` instead";
  const std::string bar = bar_to(column);
  return bar.empty() ? bar : bar + ": it cannot be asked for";
}

void gather_column(const Reading& reading, const TableAsks& table, const Ask& ask, RowAsks& row) {
  const Written& written = *ask.written;
  const schema::Model& model = *reading.unit.model;
  Ask whole = ask;
  whole.meaning = column_meaning(table, written.name, model);
  const Meaning& meaning = whole.meaning;
  if (meaning.object == nullptr && meaning.common != nullptr) {
    add_missing(row.missing, written.name, *meaning.common, model, ask);
  } else if (meaning.object == nullptr) {
    if (!reading.names.has_column(table.name, written.name)) return;  // a fault of check_names already
    reading.fault(written.name_place, model.name + " has no " + written.name + "; put it under only: for " +
                                          reading.names.models_with(written.name));
  } else if (meaning.from_payload()) {
    add_ask(reading, row.message, whole);
  } else if (const std::string bar = column_bar(*meaning.object); !bar.empty()) {
    reading.fault(written.name_place, written.name + " " + bar);
  } else {
    add_ask(reading, row.columns[meaning.object->name], whole);
  }
}

std::string shown(const RowBlock& row) {
  if (row.index) return "index " + row.index->text;
  std::string text;
  for (const Written& member : row.match) text += (text.empty() ? "match " : ", ") + member.text;
  return text;
}

void gather_row(const Reading& reading, const Source& source, const RowBlock& block, TableAsks& table) {
  const auto [at, fresh] = table.row_at.try_emplace(block.label, table.rows.size());
  if (fresh) table.rows.emplace_back().label = block.label;
  RowAsks* const row = &table.rows[at->second];
  row->block = &block;
  row->source = &source;
  if (block.index) row->finder.push_back({&source, block.index->place, shown(block), &block});
  if (!block.match.empty()) row->finder.push_back({&source, block.match[0].place, shown(block), &block});
  if (block.present) row->present.push_back({&source, block.present->place, block.present->text, &block});
  for (const Written& column : block.columns) gather_column(reading, table, ask_of(source, column), *row);
}

std::vector<const schema::CommonTable*> commons_of(const schema::Schema& schema, const schema::Model& model,
                                                   const schema::Table& table) {
  std::vector<const schema::CommonTable*> commons;
  for (const auto& [name, common] : schema.tables) {
    const auto found = common.on.find(model.name);
    if (found != common.on.end() && found->second == &table) commons.push_back(&common);
  }
  return commons;
}

/// The table that a block is about on this model; nothing, with what is to be said about it, where
/// the model lacks it.
const schema::Table* table_of(const Reading& reading, const Source& source, const TableBlock& block,
                              std::vector<LeftOut>& left_out) {
  const schema::Model& model = *reading.unit.model;
  const auto common = reading.schema.tables.find(block.name);
  if (common != reading.schema.tables.end()) {
    const auto found = common->second.on.find(model.name);
    if (found != common->second.on.end() && found->second != nullptr) return found->second;
    const Asked asked{block.place, *source.layer, block.name};
    const auto known = std::find_if(left_out.begin(), left_out.end(),
                                    [&](const LeftOut& left) { return left.name == block.name; });
    if (known == left_out.end()) {
      left_out.push_back({block.name, model.name + " has no such table", asked});
    } else {
      known->asked = asked;
    }
    return nullptr;
  }
  const schema::Table* const own = model.table(block.name);
  if (own == nullptr && reading.names.kind(block.name) == Names::Kind::table) {
    reading.fault(block.place, model.name + " has no " + block.name + "; put it under only: for " +
                                   reading.names.models_with(block.name));
  }
  return own;
}

void gather_table(const Reading& reading, const Source& source, const TableBlock& block,
                  std::vector<TableAsks>& tables, std::vector<LeftOut>& left_out) {
  const schema::Table* const own = table_of(reading, source, block, left_out);
  if (own == nullptr) return;
  auto table = std::find_if(tables.begin(), tables.end(), [&](const TableAsks& t) { return t.table == own; });
  if (table == tables.end()) {
    tables.emplace_back();
    table = std::prev(tables.end());
    table->table = own;
    table->commons = commons_of(reading.schema, *reading.unit.model, *own);
  } else if (table->source == &source) {
    reading.fault(block.place, block.name + " and " + table->name +
                                   " are one table on this unit's model; write its rows in one place");
    return;
  }
  table->name = block.name;
  table->source = &source;
  if (block.others) table->others.push_back({&source, block.others->place, block.others->text, nullptr});
  for (const RowBlock& row : block.rows) gather_row(reading, source, row, *table);
}

}  // namespace

Meaning column_meaning(const TableAsks& table, const std::string& name, const schema::Model& model) {
  Meaning meaning;
  for (const schema::CommonTable* common : table.commons) {
    const auto found = common->columns.find(name);
    if (found == common->columns.end()) continue;
    meaning.common = &found->second;
    meaning.mapping = mapping_on(found->second, model);
    if (meaning.mapping != nullptr) meaning.object = meaning.mapping->object;
    if (meaning.object != nullptr || common->name == table.name) return meaning;
  }
  if (meaning.common != nullptr) return meaning;
  const schema::Object* const own = model.object(name);
  if (own != nullptr && own->table == table.table) meaning.object = own;
  return meaning;
}

std::vector<TableAsks> gather_tables(const Reading& reading, const std::vector<Source>& sources,
                                     std::vector<LeftOut>& left_out) {
  std::vector<TableAsks> tables;
  for (const Source& source : sources) {
    for (const TableBlock& block : source.block->tables) {
      gather_table(reading, source, block, tables, left_out);
    }
  }
  return tables;
}

}  // namespace vergeset::fleet
