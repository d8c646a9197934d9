#include <fmt/format.h>

#include <algorithm>

#include "fleet/csv.h"
#include "fleet/names.h"
#include "fleet/site.h"
#include "fleet/unit_entry.h"

namespace vergeset::fleet {

namespace {

std::vector<std::string> plain_columns() {
  return {"unit", "address", "port", "model", "groups", "credential", "engine-id", "fingerprint"};
}

bool begins(const std::string& text, std::string_view with) {
  return text.rfind(with, 0) == 0;
}

std::string behind(const std::string& text, std::string_view prefix) {
  return text.substr(prefix.size());
}

/// Whether the header is parted by what other spreadsheets part cells by.
bool parted_otherwise(const CsvLine& header) {
  return header.size() == 1 && header[0].text.find_first_of(";\t") != std::string::npos;
}

void check_column(const Cell& cell, Faults& faults) {
  if (begins(cell.text, "values.")) return;
  auto known = plain_columns();
  for (const std::string& field : site_field_names()) known.push_back("site." + field);
  if (cell.text.empty() || std::find(known.begin(), known.end(), cell.text) != known.end()) return;
  faults.add(cell.place, "no such column: " + cell.text +
                             hint(cell.text, known,
                                  "columns are unit, address, port, model, groups, credential, engine-id, "
                                  "fingerprint, site.FIELD and values.NAME"));
}

/// Whether the lines below can be read by this header.
bool check_header(const CsvLine& header, Faults& faults) {
  if (header.empty()) return false;  // broken, and told
  if (parted_otherwise(header)) {
    faults.add(header.front().place, "cells are parted by commas here, found " + header.front().text);
    return false;
  }
  const std::size_t before = faults.count();
  bool has_unit = false;
  for (std::size_t i = 0; i < header.size(); ++i) {
    check_column(header[i], faults);
    has_unit = has_unit || header[i].text == "unit";
    const auto first = std::find_if(header.begin(), header.begin() + static_cast<std::ptrdiff_t>(i),
                                    [&](const Cell& cell) { return cell.text == header[i].text; });
    if (first != header.begin() + static_cast<std::ptrdiff_t>(i) && !header[i].text.empty()) {
      faults.add(header[i].place, "column " + header[i].text + " stands here a second time");
    }
  }
  if (!has_unit && faults.count() == before) {
    faults.add(header.front().place, "the header has no column unit");
  }
  return has_unit;
}

/// What the cells of a column say of a unit.
struct Column {
  enum class Kind { passed_over, unit, field, groups, site, value, nameless };
  Kind kind = Kind::passed_over;
  Written head;  ///< the name of what a cell says, and where the header stands
  std::optional<Written> UnitEntry::*field = nullptr;
};

std::optional<Written> UnitEntry::*field_of(const std::string& column) {
  if (column == "address") return &UnitEntry::address;
  if (column == "port") return &UnitEntry::port;
  if (column == "model") return &UnitEntry::model;
  if (column == "credential") return &UnitEntry::credential;
  if (column == "engine-id") return &UnitEntry::engine_id;
  if (column == "fingerprint") return &UnitEntry::fingerprint;
  return nullptr;
}

Column column_of(const Cell& cell) {
  using Kind = Column::Kind;
  const std::string& name = cell.text;
  const auto column = [&](Kind kind, const std::string& what) {
    return Column{kind, {what, cell.place, {}, {}, false}, field_of(what)};
  };
  if (name.empty()) return column(Kind::nameless, name);
  if (name == "unit") return column(Kind::unit, name);
  if (name == "groups") return column(Kind::groups, name);
  if (field_of(name) != nullptr) return column(Kind::field, name);
  if (begins(name, "values.")) return column(Kind::value, behind(name, "values."));
  if (begins(name, "site.") && known_site_field(behind(name, "site."))) {
    return column(Kind::site, behind(name, "site."));
  }
  return column(Kind::passed_over, name);
}

void take_cell(UnitEntry& unit, const Column& column, Cell& cell, Faults& faults) {
  if (column.kind == Column::Kind::unit) {
    unit.name = cell.text;
    unit.place = cell.place;
  }
  if (cell.text.empty()) return;
  if (column.kind == Column::Kind::nameless) {
    faults.add(cell.place, "this cell stands under no header, found " + cell.text);
    return;
  }
  Written written = column.head;
  written.text = std::move(cell.text);
  written.place = std::move(cell.place);
  switch (column.kind) {
    case Column::Kind::field:
      unit.*column.field = std::move(written);
      break;
    case Column::Kind::groups:
      unit.groups = split_groups(written, faults);
      break;
    case Column::Kind::site:
      unit.site.push_back(std::move(written));
      break;
    case Column::Kind::value:
      if (value_name_fits(written, faults)) unit.layer.values.push_back(std::move(written));
      break;
    default:
      break;
  }
}

std::optional<UnitEntry> read_line(const std::vector<Column>& columns, CsvLine& line, Faults& faults) {
  // A broken line, which is told, has no cells; a spreadsheet's empty one has empty cells.
  if (std::all_of(line.begin(), line.end(), [](const Cell& cell) { return cell.text.empty(); })) {
    return std::nullopt;
  }
  if (line.size() != columns.size()) {
    faults.add(line.front().place,
               fmt::format("expected {} cells as in the header, found {}", columns.size(), line.size()));
    return std::nullopt;
  }
  UnitEntry unit;
  unit.place = line.front().place;
  for (std::size_t i = 0; i < line.size(); ++i) take_cell(unit, columns[i], line[i], faults);
  if (unit.name.empty()) {
    faults.add(unit.place, "this line names no unit");
    return std::nullopt;
  }
  unit.layer.name = "unit " + unit.name;
  return unit;
}

std::string trimmed(const std::string& text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string::npos) return "";
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

std::vector<std::string> split(const std::string& text, char separator) {
  std::vector<std::string> parts;
  std::size_t from = 0;
  while (true) {
    const std::size_t to = text.find(separator, from);
    parts.push_back(trimmed(text.substr(from, to - from)));
    if (to == std::string::npos) return parts;
    from = to + 1;
  }
}

}  // namespace

std::vector<std::vector<Written>> split_groups(const Written& cell, Faults& faults) {
  std::vector<std::vector<Written>> levels;
  for (const std::string& part : split(cell.text, ';')) {
    std::vector<Written> level;
    for (const std::string& name : split(part, '+')) {
      if (name.empty()) {
        faults.add(cell.place, "expected groups as in all; signals + corridor-7, found " + cell.text);
        return {};
      }
      level.push_back({cell.name, cell.name_place, name, cell.place, false});
    }
    levels.push_back(std::move(level));
  }
  return levels;
}

void read_units_csv(std::string_view text, const std::string& file, Faults& faults, const TakeUnit& take) {
  const std::size_t before = faults.count();
  CsvReader reader(text, file, faults);
  CsvLine line;
  if (!reader.next(line)) {
    if (faults.count() != before) return;
    faults.add({file, 0, 0}, "holds no header line; its first line names the columns: unit, address, model");
    return;
  }
  const bool readable = check_header(line, faults);
  std::vector<Column> columns;
  for (const Cell& cell : line) columns.push_back(column_of(cell));
  // Without a header the lines are not understood, but those that are no CSV are told.
  while (reader.next(line)) {
    if (!readable) continue;
    if (const auto unit = read_line(columns, line, faults)) take(*unit);
  }
}

}  // namespace vergeset::fleet
