#include "fleet/shape.h"

#include <algorithm>

#include "fleet/find_row.h"
#include "fleet/message_kind.h"
#include "fleet/substitute.h"

namespace vergeset::fleet {

namespace {

/// The texts among the strongest asks in which something is put in.
void add_texts(const std::vector<Ask>& asks, std::vector<std::string>& texts) {
  for (const Ask* ask : strongest(asks)) {
    if (has_substitutes(ask->written->text)) texts.push_back(ask->written->text);
  }
}

bool depends(const std::vector<Ask>& asks) {
  if (asks.empty()) return false;
  std::vector<std::string> texts;
  add_texts(asks, texts);
  return !texts.empty();
}

void each_once(std::vector<std::string>& texts) {
  std::sort(texts.begin(), texts.end());
  texts.erase(std::unique(texts.begin(), texts.end()), texts.end());
}

/// What the texts come to on a unit, in one. Nothing where one of them has a fault.
std::optional<std::string> put_in(const std::vector<std::string>& texts, const Unit& unit) {
  std::string key;
  for (const std::string& text : texts) {
    const auto made = substitute(text, unit);
    if (!made) return std::nullopt;
    add_to_key(key, *made);
  }
  return key;
}

std::optional<std::size_t> place_of(const SharedList<DesiredValue>& values, const schema::Object* object) {
  const auto found = std::find_if(values.begin(), values.end(),
                                  [&](const DesiredValue& value) { return value.object == object; });
  if (found == values.end()) return std::nullopt;
  return static_cast<std::size_t>(found - values.begin());
}

/// The hole that asks make in a list of values; false where the first unit has no value there.
bool add_hole(const std::vector<Ask>& asks, const SharedList<DesiredValue>& values,
              std::vector<ValueHole>& holes) {
  if (!depends(asks)) return true;
  const auto at = place_of(values, asks.front().meaning.object);
  if (at) holes.push_back({*at, &asks});
  return at.has_value();
}

/// The index of the row that the strongest layer states, if it is stated.
const Written* index_of(const RowAsks& asks) {
  if (asks.finder.empty()) return nullptr;
  const RowBlock& block = *strongest(asks.finder).front()->row;
  return block.index ? &*block.index : nullptr;
}

bool find_row_hole(const RowAsks& asks, const DesiredRow& row, RowHole& hole) {
  hole.asks = &asks;
  for (const auto& [name, column] : asks.columns) {
    if (!add_hole(column, row.columns, hole.columns)) return false;
    if (!column.empty()) add_texts(column, hole.texts);
  }
  if (!asks.message.empty()) add_texts(asks.message, hole.texts);
  const Written* const index = index_of(asks);
  const bool index_depends = index != nullptr && has_substitutes(index->text);
  if (index_depends) hole.texts.push_back(index->text);
  const auto picks_out = [&](const ValueHole& column) {
    return std::find(row.match.begin(), row.match.end(), column.at) != row.match.end();
  };
  hole.place_depends = index_depends || depends(asks.message) ||
                       std::any_of(hole.columns.begin(), hole.columns.end(), picks_out);
  each_once(hole.texts);
  return true;
}

/// A row of another unit: that of the first, with what depends on the unit settled anew. Nothing where there
/// is a fault in it.
std::shared_ptr<const DesiredRow> fill_row(const Reading& reading, const TableAsks& table, RowHole& hole,
                                           const DesiredRow& first) {
  const auto texts = put_in(hole.texts, reading.unit);
  if (!texts) return nullptr;
  if (auto known = hole.made.find(*texts)) return known;
  const std::size_t faults = reading.faults.count();
  auto row = std::make_shared<DesiredRow>(first);
  row->columns.reserve_own(hole.columns.size());
  for (const ValueHole& column : hole.columns) {
    auto value = settle(reading, *column.asks);
    if (value == nullptr) return nullptr;
    row->columns.put(column.at, std::move(value));
  }
  if (hole.place_depends) {
    row->index.reset();
    row->match.clear();
    row->match_payload.reset();
    find_row(reading, table, *hole.asks, *row);
  }
  check_message_kind(reading, table, *hole.asks, *row);
  if (reading.faults.count() != faults) return nullptr;
  hole.made.keep(*texts, row);
  return row;
}

std::shared_ptr<const DesiredTable> fill_table(const Reading& reading, TableHole& hole,
                                               const DesiredTable& first) {
  const auto texts = put_in(hole.texts, reading.unit);
  if (!texts) return nullptr;
  if (auto known = hole.made.find(*texts)) return known;
  auto table = std::make_shared<DesiredTable>(first);
  table->rows.reserve_own(hole.rows.size());
  for (RowHole& row : hole.rows) {
    auto filled = fill_row(reading, *hole.asks, row, first.rows[row.at]);
    if (filled == nullptr) return nullptr;
    table->rows.put(row.at, std::move(filled));
  }
  if (hole.places_depend) {
    const std::size_t faults = reading.faults.count();
    check_rows_differ(reading, *table);
    if (reading.faults.count() != faults) return nullptr;
  }
  hole.made.keep(*texts, table);
  return table;
}

/// A unit's own `values:`, the last of a name, over those of the fleet and its groups.
Texts with_own(Texts values, const Layer& own) {
  for (const Written& value : own.values) values.set(value.name, value.text);
  values.shrink();
  return values;
}

bool asks_for_something(const Layer& layer) {
  const Block& plain = layer.plain;
  return !plain.settings.empty() || !plain.tables.empty() || !plain.traits.empty() || !layer.only.empty();
}

void resolve_alone(Unit& unit, const std::vector<Ranked>& layers, const Reading& reading) {
  unit.values = settle_values(reading, layers);
  unit.values.shrink();
  unit.desired = settle(reading, gather(reading, layers));
}

/// No name of a model or a group holds these characters: each is part of a file's name.
std::string key_of(const Unit& unit) {
  std::string key = unit.model->name;
  for (const auto& level : unit.groups) {
    key += '/';
    for (const std::string& group : level) key += group + '\0';
  }
  return key;
}

}  // namespace

/// The values of the fleet and the groups are settled once more without the unit's own, which may settle what
/// two groups dispute: that is no fault of this unit.
Shape::Shape(Unit& unit, const Layers& layers, const Reading& reading) : groups_(unit.groups) {
  const std::size_t faults = reading.faults.count();
  const auto shared = ranked({layers.fleet, layers.groups, nullptr}, unit);
  UnitFaults disputes;
  values_ = settle_values({unit, reading.schema, reading.names, reading.payloads, disputes, reading.settled},
                          shared);
  unit.values = settle_values(reading, ranked(layers, unit));
  unit.values.shrink();
  asks_ = gather(reading, shared);
  desired_ = settle(reading, asks_);
  unit.desired = desired_;
  sound_ = disputes.count() == 0 && reading.faults.count() == faults && find_holes();
}

bool Shape::find_holes() {
  for (const auto& [name, asks] : asks_.settings) {
    if (!add_hole(asks, desired_.values, value_holes_)) return false;
  }
  for (const TableAsks& asks : asks_.tables) {
    const auto table = std::find_if(desired_.tables.begin(), desired_.tables.end(),
                                    [&](const DesiredTable& one) { return one.table == asks.table; });
    TableHole hole;
    hole.at = static_cast<std::size_t>(table - desired_.tables.begin());
    hole.asks = &asks;
    for (std::size_t at = 0; at < asks.rows.size(); ++at) {
      RowHole row;
      row.at = at;
      if (!find_row_hole(asks.rows[at], table->rows[at], row)) return false;
      if (row.texts.empty()) continue;
      hole.places_depend = hole.places_depend || row.place_depends;
      hole.texts.insert(hole.texts.end(), row.texts.begin(), row.texts.end());
      hole.rows.push_back(std::move(row));
    }
    each_once(hole.texts);
    if (!hole.rows.empty()) table_holes_.push_back(std::move(hole));
  }
  return true;
}

bool Shape::fill(Unit& unit, const Layer& own, const Reading& reading) {
  const std::size_t faults = reading.faults.count();
  unit.values = with_own(values_, own);
  Desired desired = desired_;
  desired.values.reserve_own(value_holes_.size());
  desired.tables.reserve_own(table_holes_.size());
  for (const ValueHole& hole : value_holes_) {
    auto value = settle(reading, *hole.asks);
    if (value == nullptr) return false;
    desired.values.put(hole.at, std::move(value));
  }
  for (TableHole& hole : table_holes_) {
    auto table = fill_table(reading, hole, desired_.tables[hole.at]);
    if (table == nullptr) return false;
    desired.tables.put(hole.at, std::move(table));
  }
  unit.groups = groups_;
  unit.desired = std::move(desired);
  return reading.faults.count() == faults;
}

void Shapes::resolve(Unit& unit, const Layers& layers, const Reading& reading) {
  if (asks_for_something(*layers.unit)) {
    resolve_alone(unit, ranked(layers, unit), reading);
    return;
  }
  std::unique_ptr<Shape>& known = known_[key_of(unit)];
  if (known != nullptr) {
    if (!known->fill(unit, *layers.unit, reading)) resolve_alone(unit, ranked(layers, unit), reading);
    return;
  }
  auto shape = std::make_unique<Shape>(unit, layers, reading);
  if (shape->sound()) known = std::move(shape);
}

}  // namespace vergeset::fleet
