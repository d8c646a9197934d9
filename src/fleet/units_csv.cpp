#include <fmt/format.h>

#include <algorithm>

#include "fleet/csv.h"
#include "fleet/names.h"
#include "fleet/site.h"
#include "fleet/unit_entry.h"

namespace vergeset::fleet {

namespace {

std::vector<std::string> plain_columns() {
  return {"unit", "address", "port", "model", "groups", "credential", "engine-id"};
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
                                  "site.FIELD and values.NAME"));
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

std::optional<Written>* plain_field(UnitEntry& unit, const std::string& column) {
  if (column == "address") return &unit.address;
  if (column == "port") return &unit.port;
  if (column == "model") return &unit.model;
  if (column == "credential") return &unit.credential;
  if (column == "engine-id") return &unit.engine_id;
  return nullptr;
}

void take_cell(UnitEntry& unit, const Cell& head, const Cell& cell, Faults& faults) {
  if (cell.text.empty()) return;
  const std::string& column = head.text;
  const Written written{column, head.place, cell.text, cell.place, false};
  if (auto* const field = plain_field(unit, column)) {
    *field = written;
  } else if (column == "groups") {
    unit.groups = split_groups(written, faults);
  } else if (begins(column, "site.") && known_site_field(behind(column, "site."))) {
    unit.site.push_back({behind(column, "site."), head.place, cell.text, cell.place, false});
  } else if (begins(column, "values.")) {
    Written value{behind(column, "values."), head.place, cell.text, cell.place, false};
    if (value_name_fits(value, faults)) unit.layer.values.push_back(std::move(value));
  } else if (column.empty()) {
    faults.add(cell.place, "this cell stands under no header, found " + cell.text);
  }
}

std::optional<UnitEntry> read_line(const CsvLine& header, const CsvLine& line, Faults& faults) {
  // A broken line, which is told, has no cells; a spreadsheet's empty one has empty cells.
  if (std::all_of(line.begin(), line.end(), [](const Cell& cell) { return cell.text.empty(); })) {
    return std::nullopt;
  }
  if (line.size() != header.size()) {
    faults.add(line.front().place,
               fmt::format("expected {} cells as in the header, found {}", header.size(), line.size()));
    return std::nullopt;
  }
  UnitEntry unit;
  unit.place = line.front().place;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (header[i].text == "unit") {
      unit.name = line[i].text;
      unit.place = line[i].place;
    } else {
      take_cell(unit, header[i], line[i], faults);
    }
  }
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

std::vector<UnitEntry> read_units_csv(std::string_view text, const std::string& file, Faults& faults) {
  std::vector<UnitEntry> units;
  const std::size_t before = faults.count();
  const std::vector<CsvLine> lines = parse_csv(text, file, faults);
  if (lines.empty() && faults.count() != before) return units;
  if (lines.empty()) {
    faults.add({file, 0, 0}, "holds no header line; its first line names the columns: unit, address, model");
    return units;
  }
  const CsvLine& header = lines.front();
  if (!check_header(header, faults)) return units;
  for (std::size_t i = 1; i < lines.size(); ++i) {
    if (auto unit = read_line(header, lines[i], faults)) units.push_back(std::move(*unit));
  }
  return units;
}

}  // namespace vergeset::fleet
