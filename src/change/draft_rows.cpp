#include "change/draft_rows.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "change/found_rows.h"
#include "change/row_match.h"
#include "fleet/meaning.h"
#include "smi/row_status.h"

namespace vergeset::change {

namespace {

/// The values that may pick a row out; empty where it has none of them, or none that a file can ask for.
struct Marks {
  std::string psid;
  std::string message;
  std::string address;
  std::string port;
  bool has_kinds = false;  ///< rows of this table say their kind of message on this model
};

/// A row on its way into a class of rows that are alike.
struct SortedRow {
  RowFound row;
  const schema::Table* table = nullptr;
  const schema::Model* model = nullptr;
  Marks marks;
  const fleet::DesiredRow* asked = nullptr;  ///< by other layers
  bool stuck = false;
};

/// One table by its name in the files, over all units.
struct TableFound {
  std::string name;
  std::string model;
  std::vector<SortedRow> rows;
  std::map<std::string, std::vector<std::size_t>> without;  ///< by label, of rows that other layers ask for
  std::set<std::string> labels;                             ///< of other layers
};

const schema::CommonTable* common_of(const schema::Schema& schema, const schema::Table& table) {
  const auto common = schema.tables.find(table.common);
  return table.common.empty() || common == schema.tables.end() ? nullptr : &common->second;
}

const schema::CommonSetting* column_named(const schema::CommonTable* table, const std::string& name) {
  if (table == nullptr) return nullptr;
  const auto found = table->columns.find(name);
  return found == table->columns.end() ? nullptr : &found->second;
}

/// The first two octets of a UPER MessageFrame (SAE J2735).
std::optional<std::int64_t> kind_in(const std::string& octets) {
  if (octets.size() < 2) return std::nullopt;
  return static_cast<unsigned char>(octets[0]) * 256 + static_cast<unsigned char>(octets[1]);
}

const Cell* cell_named(const std::vector<Cell>& cells, const std::string& name) {
  const auto found =
      std::find_if(cells.begin(), cells.end(), [&](const Cell& cell) { return cell.name == name; });
  return found == cells.end() || found->state != Cell::State::said ? nullptr : &*found;
}

std::string mark_of(const std::vector<Cell>& cells, const std::string& name) {
  const Cell* const cell = cell_named(cells, name);
  if (cell == nullptr) return {};
  if (cell->meaning.object->syntax.form == smi::Form::psid) return smi::to_hex(cell->value.octets);
  if (cell->value.type == smi::Type::integer) return std::to_string(cell->value.number);
  return smi::to_text(cell->meaning.object->syntax, cell->value);
}

/// Files that say another kind of message than the payload begins with are refused (fleet/message_kind.h),
/// but for payloads that were signed beforehand.
void check_kind(std::vector<Cell>& cells) {
  const Cell* const payload = cell_named(cells, "payload");
  const auto kind =
      std::find_if(cells.begin(), cells.end(), [](const Cell& cell) { return cell.name == "message"; });
  if (payload == nullptr || kind == cells.end() || kind->state != Cell::State::said) return;
  const std::string& octets = payload->value.octets;
  const auto inside = kind_in(octets);
  const bool is_signed = inside && octets[0] == '\x03' && octets[1] == '\x81';
  if (inside && !is_signed && *inside != kind->value.number) kind->state = Cell::State::stuck;
}

class Gathering {
 public:
  Gathering(const schema::Schema& schema, const std::vector<ToDescribe>& units)
      : schema_(schema), units_(units) {}

  RowsOfUnits take() {
    for (std::size_t unit = 0; unit < units_.size(); ++unit) {
      for (const auto& [name, table] : units_[unit].unit->model->tables) look_at(unit, table);
    }
    for (auto& [key, table] : tables_) sort_out(table);
    return std::move(out_);
  }

 private:
  void look_at(std::size_t unit, const schema::Table& table) {
    const ToDescribe& of = units_[unit];
    const fleet::DesiredTable* asked = nullptr;
    for (const fleet::DesiredTable& one : of.unit->desired.tables) {
      if (one.table == &table) asked = &one;
    }
    const FoundRows found(table, *of.found);
    if (found.indexes().empty() && asked == nullptr) return;
    TableFound& into = table_of(table, *of.unit->model);
    std::map<std::uint32_t, const fleet::DesiredRow*> by_index;
    if (asked != nullptr) match(unit, *asked, found, into, by_index);
    for (const std::uint32_t index : found.indexes()) {
      if (!active(table, found, index)) {
        out_.idle.push_back({unit, into.name, index});
        continue;
      }
      const auto row = by_index.find(index);
      add_row(unit, table, found, index, row == by_index.end() ? nullptr : row->second, into);
    }
  }

  TableFound& table_of(const schema::Table& table, const schema::Model& model) {
    const bool common = common_of(schema_, table) != nullptr;
    const std::string key = common ? table.common : model.name + "/" + table.name;
    TableFound& found = tables_[key];
    found.name = common ? table.common : table.name;
    found.model = common ? "" : model.name;
    return found;
  }

  static bool active(const schema::Table& table, const FoundRows& found, std::uint32_t index) {
    if (table.status == nullptr) return true;
    const smi::Value& status = found.at(*table.status, index);
    return status.absent() ||
           smi::agree(table.status->syntax, status, smi::Value::integer(smi::row_status::active));
  }

  /// What ends before a table, or begins behind it, says nothing of its rows.
  static bool reaches(const AsFound& found, const schema::Table& table) {
    return !found.instances.empty() && found.instances.begin()->first < table.entry &&
           table.entry < found.instances.rbegin()->first;
  }

  void match(std::size_t unit, const fleet::DesiredTable& asked, const FoundRows& found, TableFound& into,
             std::map<std::uint32_t, const fleet::DesiredRow*>& by_index) const {
    const RowMatch matched = match_rows(asked, found);
    const bool looked_at = !units_[unit].part || reaches(*units_[unit].found, *asked.table);
    for (std::size_t i = 0; i < asked.rows.size(); ++i) {
      into.labels.insert(asked.rows[i].label);
      if (matched.of[i]) {
        by_index[*matched.of[i]] = &asked.rows[i];
      } else if (asked.rows[i].present && looked_at) {
        into.without[asked.rows[i].label].push_back(unit);
      }
    }
  }

  void add_row(std::size_t unit, const schema::Table& table, const FoundRows& found, std::uint32_t index,
               const fleet::DesiredRow* asked, TableFound& into) {
    const ToDescribe& of = units_[unit];
    SortedRow sorted{{unit, index, {}}, &table, of.unit->model, {}, asked, false};
    std::vector<Cell>& cells = sorted.row.columns;
    for (const schema::Object* column : table.columns) {
      if (column == table.status || column->name == table.index || !column->configuration()) continue;
      if (of.unit->desired.traits_of(*column).ignored) continue;
      fleet::Meaning meaning;
      const std::string name = name_in_files(schema_, *of.unit->model, *column, meaning);
      const smi::Value& value = found.at(*column, index);
      cells.push_back(cell_of(*of.unit, name, meaning, value));
      // A column that other rows have and this one has not cannot be asked for.
      if (value.absent() && found.offers(*column)) cells.back().state = Cell::State::stuck;
    }
    check_kind(cells);
    add_message(of, table, cells);
    if (asked != nullptr) add_asked(*asked, cells);
    sorted.marks = marks_of(table, *of.unit->model, cells);
    sorted.stuck =
        std::any_of(cells.begin(), cells.end(), [](const Cell& c) { return c.state == Cell::State::stuck; });
    if (!cells.empty()) into.rows.push_back(std::move(sorted));
  }

  /// The kind of message where the model has no column for it.
  void add_message(const ToDescribe& of, const schema::Table& table, std::vector<Cell>& cells) const {
    const schema::CommonSetting* const kind = column_named(common_of(schema_, table), "message");
    const schema::Mapping* const mapping =
        kind == nullptr ? nullptr : fleet::mapping_on(*kind, *of.unit->model);
    if (mapping == nullptr || !mapping->from_payload) return;
    const Cell* const payload = cell_named(cells, "payload");
    const auto id = payload == nullptr ? std::nullopt : kind_in(payload->value.octets);
    if (id) cells.push_back(message_cell("message", {mapping->object, kind, mapping}, *id));
  }

  static void add_asked(const fleet::DesiredRow& asked, std::vector<Cell>& cells) {
    for (Cell& cell : cells) {
      if (cell.meaning.from_payload()) continue;
      for (const fleet::DesiredValue& column : asked.columns) {
        if (column.object == cell.meaning.object) cell.base = &column;
      }
    }
    // How such a row is found is said already.
    std::erase_if(cells, [](const Cell& cell) { return cell.meaning.from_payload(); });
  }

  Marks marks_of(const schema::Table& table, const schema::Model& model,
                 const std::vector<Cell>& cells) const {
    const schema::CommonSetting* const kind = column_named(common_of(schema_, table), "message");
    return {mark_of(cells, "psid"), mark_of(cells, "message"), mark_of(cells, "address"),
            mark_of(cells, "port"), kind != nullptr && fleet::mapping_on(*kind, model) != nullptr};
  }

  using Columns = std::vector<std::string>;

  /// The key of a row where these columns pick it out; empty where they cannot.
  static std::string key_of(const SortedRow& row, const Columns& by) {
    if (!row.table->rows_are_made() || row.marks.psid.empty()) return {};
    std::string key = row.marks.psid;
    for (const std::string& column : by) {
      if (column == "psid") continue;
      const std::string& mark = column == "message"   ? row.marks.message
                                : column == "address" ? row.marks.address
                                                      : row.marks.port;
      const bool needed = column != "message" || row.marks.has_kinds;
      if (mark.empty() && needed) return {};
      key += "/" + mark;
    }
    return key;
  }

  /// By unit and key: how many rows of the unit have it.
  static std::map<std::pair<std::size_t, std::string>, int> counted(const TableFound& table,
                                                                    const Columns& by) {
    std::map<std::pair<std::size_t, std::string>, int> counts;
    for (const SortedRow& row : table.rows) ++counts[{row.row.unit, key_of(row, by)}];
    return counts;
  }

  /// The fewest columns that tell the most rows of each unit apart.
  Columns columns_for(const TableFound& table) const {
    const bool kinds = std::any_of(table.rows.begin(), table.rows.end(),
                                   [](const SortedRow& row) { return row.marks.has_kinds; });
    const Columns first = kinds ? Columns{"psid", "message"} : Columns{"psid"};
    Columns best = first;
    std::size_t most = 0;
    for (const std::size_t more : {0U, 1U, 2U}) {
      Columns by = first;
      if (more > 0) by.emplace_back("address");
      if (more > 1) by.emplace_back("port");
      std::size_t told = 0;
      for (const auto& [row, count] : counted(table, by)) told += !row.second.empty() && count == 1 ? 1 : 0;
      if (told <= most) continue;
      most = told;
      best = by;
    }
    return best;
  }

  void sort_out(TableFound& table) {
    const Columns by = columns_for(table);
    const auto counts = counted(table, by);
    const auto merged = one_for_models(table, by);
    std::map<std::string, std::size_t> at;
    const std::size_t first = out_.alike.size();
    for (SortedRow& row : table.rows) {
      std::string key = key_of(row, by);
      const bool alone = !key.empty() && counts.at({row.row.unit, key}) == 1;
      if (const auto other = merged.find(key); alone && other != merged.end() && !row.marks.has_kinds) {
        key = other->second;
      }
      const std::string label = row.asked != nullptr ? row.asked->label : "";
      std::string sort = row.asked != nullptr ? "asked " + label
                         : alone              ? "match " + key
                                              : fmt::format("index {}", row.row.index);
      if (row.stuck && row.asked == nullptr) sort += fmt::format(" of unit {}", row.row.unit);
      const auto [place, fresh] = at.try_emplace(sort, out_.alike.size());
      if (fresh) out_.alike.push_back(begun(table, row, alone ? by : Columns{}));
      AlikeRows& alike = out_.alike[place->second];
      if (row.marks.message.empty()) {
        // nothing to match by; another row of them may have it
      } else if (alone && !alike.stays) {
        alike.match = by;
      }
      alike.rows.push_back(std::move(row.row));
    }
    for (std::size_t i = first; i < out_.alike.size(); ++i) {
      if (!out_.alike[i].stays) out_.alike[i].label = label_for(table, out_.alike[i]);
    }
    for (auto& [label, units] : table.without) tell_without(table, label, units, at);
  }

  /// Rows of a model that does not say their kind of message, and the one kind that others of their service
  /// have: they are one row to the files.
  static std::map<std::string, std::string> one_for_models(const TableFound& table, const Columns& by) {
    std::map<std::string, std::set<std::string>> kinds;
    for (const SortedRow& row : table.rows) {
      if (row.marks.has_kinds && !row.marks.message.empty()) kinds[row.marks.psid].insert(key_of(row, by));
    }
    std::map<std::string, std::string> merged;
    if (by.size() != 2) return merged;
    for (const auto& [psid, keys] : kinds) {
      if (keys.size() == 1) merged[psid + "/"] = *keys.begin();
    }
    return merged;
  }

  static AlikeRows begun(const TableFound& table, const SortedRow& row, const Columns& by) {
    AlikeRows alike;
    alike.table = table.name;
    alike.model = table.model;
    alike.any = row.table;
    if (row.asked != nullptr) {
      alike.stays = true;
      alike.at_odds = !row.asked->present;
      alike.label = row.asked->label;
      return alike;
    }
    if (by.empty()) {
      alike.index = row.row.index;
    } else {
      alike.match = by;
      if (row.marks.message.empty()) std::erase(alike.match, "message");
    }
    return alike;
  }

  /// After the kind of message, where a row of them says it.
  static std::string label_for(TableFound& table, const AlikeRows& alike) {
    std::string label = alike.match.empty() ? fmt::format("row-{}", alike.index.value_or(0)) : "";
    for (const RowFound& row : alike.rows) {
      const Cell* const message = cell_named(row.columns, "message");
      if (!label.empty() || message == nullptr) continue;
      label = message->ways.front().text;
      for (char& c : label) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
      const bool named = !label.empty() && label.front() >= 'a' && label.front() <= 'z';
      if (!named) label.insert(0, "message-");
    }
    if (label.empty()) {
      const Cell* const psid = cell_named(alike.rows.front().columns, "psid");
      label = psid == nullptr ? "row" : "psid-" + psid->ways.front().text;
    }
    const std::string first = label;
    for (int number = 2; !table.labels.insert(label).second; ++number)
      label = fmt::format("{}-{}", first, number);
    return label;
  }

  void tell_without(const TableFound& table, const std::string& label, std::vector<std::size_t>& units,
                    const std::map<std::string, std::size_t>& at) {
    const auto known = at.find("asked " + label);
    if (known != at.end()) {
      out_.alike[known->second].without = std::move(units);
      return;
    }
    AlikeRows alike;
    alike.table = table.name;
    alike.model = table.model;
    alike.label = label;
    alike.stays = true;
    alike.without = std::move(units);
    out_.alike.push_back(std::move(alike));
  }

  const schema::Schema& schema_;
  const std::vector<ToDescribe>& units_;
  std::map<std::string, TableFound> tables_;
  RowsOfUnits out_;
};

}  // namespace

std::string name_in_files(const schema::Schema& schema, const schema::Model& model,
                          const schema::Object& object, fleet::Meaning& meaning) {
  meaning.object = &object;
  const schema::CommonSetting* common = nullptr;
  if (object.common.empty()) return object.name;
  if (object.table == nullptr) {
    const auto found = schema.settings.find(object.common);
    if (found != schema.settings.end()) common = &found->second;
  } else {
    common = column_named(common_of(schema, *object.table), object.common);
  }
  const schema::Mapping* const mapping = common == nullptr ? nullptr : fleet::mapping_on(*common, model);
  if (mapping == nullptr || mapping->object != &object) return object.name;
  meaning.common = common;
  meaning.mapping = mapping;
  return common->name;
}

RowsOfUnits rows_of_units(const schema::Schema& schema, const std::vector<ToDescribe>& units) {
  return Gathering(schema, units).take();
}

}  // namespace vergeset::change
