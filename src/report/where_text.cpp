#include "report/where_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "report/comparison_text.h"
#include "report/table.h"
#include "report/words.h"

namespace vergeset::report {

namespace {

using fleet::Asked;
using fleet::DesiredRow;
using fleet::DesiredTable;
using fleet::DesiredValue;

void add_value(const Screen& screen, const std::string& indent, const DesiredValue& value, Table& table) {
  table.add({indent + value.name, value_text(screen, value.object->syntax, value.object->unit, value.value),
             value.asked.place.str(), value.asked.layer});
  for (const Asked& weaker : value.overrode) {
    table.add({indent + "  overrode", shorten_hex(screen, weaker.text), weaker.place.str(), weaker.layer});
  }
}

/// "index 3", "picked by psid, message", "to be gone".
std::string row_text(const DesiredRow& row) {
  std::string how;
  if (row.index) how = fmt::format("index {}", *row.index);
  for (const std::size_t i : row.match) how += (how.empty() ? "picked by " : ", ") + row.columns[i].name;
  if (row.match_payload) {
    how += (how.empty() ? "picked by " : ", ") +
           fmt::format("message {} in {}", row.match_payload->message_id, row.match_payload->payload->name);
  }
  return row.present ? how : how + "; to be gone";
}

std::string table_text(const Screen& screen, const Where& where, const DesiredTable& desired) {
  std::string out =
      "\n" + paragraph(screen, fmt::format("{} ({}), rows that nobody asked for: {}", desired.name,
                                           desired.table->name, others_name(desired.others)));
  Table table(2, {"row", "desired", "asked at", "by"});
  for (const DesiredRow& row : desired.rows) {
    if (!where.shows(row)) continue;
    table.add({row.label, row_text(row), row.asked.place.str(), row.asked.layer});
    for (const DesiredValue& column : row.columns) add_value(screen, "  ", column, table);
  }
  return table.empty() ? out : out + table.text(screen);
}

bool goes_by(const DesiredValue& value, const std::string& name) {
  return value.name == name || value.object->name == name;
}

/// A table with only the rows or columns that go by the name is not what a person asks for: a column is
/// shown in its rows, and so is the whole table.
bool goes_by(const DesiredTable& table, const std::string& name) {
  if (table.name == name || table.table->name == name) return true;
  for (const DesiredRow& row : table.rows) {
    if (row.label == name) return true;
    for (const DesiredValue& column : row.columns) {
      if (goes_by(column, name)) return true;
    }
  }
  return false;
}

/// TABLE/ROW or TABLE/ROW/COLUMN in its parts.
struct Path {
  std::string table;
  std::string row;
  std::string column;  ///< empty: the whole row
};

std::optional<Path> path_of(const std::string& name) {
  const auto slash = name.find('/');
  if (slash == std::string::npos) return std::nullopt;
  const auto second = std::min(name.find('/', slash + 1), name.size());
  return Path{name.substr(0, slash), name.substr(slash + 1, second - slash - 1),
              name.substr(std::min(second + 1, name.size()))};
}

bool holds(const DesiredTable& table, const Path& path) {
  if (table.name != path.table && table.table->name != path.table) return false;
  return std::any_of(table.rows.begin(), table.rows.end(), [&](const DesiredRow& row) {
    const auto named = [&](const DesiredValue& column) { return goes_by(column, path.column); };
    return row.label == path.row &&
           (path.column.empty() || std::any_of(row.columns.begin(), row.columns.end(), named));
  });
}

Where where(const fleet::Unit& unit, const std::string& name, const Path& path) {
  Where found;
  for (const DesiredTable& table : unit.desired.tables) {
    if (!holds(table, path)) continue;
    found.tables.push_back(&table);
    found.row = path.row;
  }
  for (const fleet::LeftOut& left : unit.desired.left_out) {
    if (left.name == name || left.name.rfind(name + "/", 0) == 0) found.left_out.push_back(&left);
  }
  return found;
}

}  // namespace

const char* others_name(fleet::Others others) {
  switch (others) {
    case fleet::Others::remove:
      return "remove";
    case fleet::Others::ignore:
      return "ignore";
    case fleet::Others::keep:
      break;
  }
  return "keep";
}

Where where(const fleet::Unit& unit, const std::string& name) {
  if (const auto path = path_of(name)) return where(unit, name, *path);
  Where found;
  for (const DesiredValue& value : unit.desired.values) {
    if (name.empty() || goes_by(value, name)) found.values.push_back(&value);
  }
  for (const DesiredTable& table : unit.desired.tables) {
    if (name.empty() || goes_by(table, name)) found.tables.push_back(&table);
  }
  for (const fleet::LeftOut& left : unit.desired.left_out) {
    if (name.empty() || left.name == name) found.left_out.push_back(&left);
  }
  return found;
}

std::vector<std::string> askable(const fleet::Unit& unit, const schema::Schema& schema) {
  std::vector<std::string> names;
  for (const auto& [name, setting] : schema.settings) names.push_back(name);
  for (const auto& [name, table] : schema.tables) {
    names.push_back(name);
    for (const auto& [column, setting] : table.columns) names.push_back(column);
  }
  for (const auto& [name, object] : unit.model->objects) names.push_back(name);
  for (const auto& [name, table] : unit.model->tables) names.push_back(name);
  for (const DesiredTable& table : unit.desired.tables) {
    const auto common = schema.tables.find(table.name);
    for (const DesiredRow& row : table.rows) {
      names.push_back(row.label);
      names.push_back(table.name + "/" + row.label);
      for (const DesiredValue& column : row.columns) {
        names.push_back(fmt::format("{}/{}/{}", table.name, row.label, column.name));
      }
      if (common == schema.tables.end()) continue;
      for (const auto& [column, setting] : common->second.columns) {
        names.push_back(fmt::format("{}/{}/{}", table.name, row.label, column));
      }
    }
  }
  return names;
}

std::string where_text(const Screen& screen, const fleet::Unit& unit, const Where& where) {
  std::string out = unit_line(screen, unit, "");
  Table values(2, {"setting", "desired", "asked at", "by"});
  for (const DesiredValue* value : where.values) add_value(screen, "", *value, values);
  if (!where.values.empty()) out += values.text(screen);
  for (const DesiredTable* table : where.tables) out += table_text(screen, where, *table);
  if (where.left_out.empty()) return out;
  Table left(2, {"left out", "why", "asked at", "by"});
  for (const fleet::LeftOut* one : where.left_out) {
    left.add({one->name, one->why, one->asked.place.str(), one->asked.layer});
  }
  return out + "\n" + left.text(screen);
}

}  // namespace vergeset::report
