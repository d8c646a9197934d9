#include <algorithm>
#include <set>

#include "fleet/import_units.h"
#include "smi/inert.h"

namespace vergeset::fleet {

namespace {

/// A cell as csv.h reads it back (RFC 4180): in quotes where it holds what parts cells and lines, has blanks
/// at its ends, or could be taken for a comment.
std::string csv_cell(const std::string& text) {
  const bool plain = text.find_first_of(",\"\r\n") == std::string::npos && !text.starts_with('#') &&
                     !text.starts_with(' ') && !text.ends_with(' ');
  if (plain) return text;
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + "\"";
}

/// The columns of which any unit has something, values behind all others.
std::vector<std::string> columns_of(const std::vector<ImportedUnit>& units) {
  std::set<std::string> used{"unit", "address", "model"};
  for (const ImportedUnit& unit : units) {
    for (const auto& [field, text] : unit.fields) used.insert(field);
  }
  std::vector<std::string> columns;
  for (const std::string& field : import_field_names()) {
    if (used.erase(field) != 0) columns.push_back(field);
  }
  columns.insert(columns.end(), used.begin(), used.end());
  return columns;
}

}  // namespace

std::string units_csv_text(const std::vector<ImportedUnit>& units, const std::string& from) {
  const std::vector<std::string> columns = columns_of(units);
  std::string text = "# Imported from " + smi::inert(from) + "\n";
  for (const std::string& column : columns)
    text += (&column == &columns.front() ? "" : ",") + csv_cell(column);
  text += "\n";
  for (const ImportedUnit& unit : units) {
    for (const std::string& column : columns) {
      const auto found = unit.fields.find(column);
      if (&column != &columns.front()) text += ",";
      if (found != unit.fields.end()) text += csv_cell(found->second);
    }
    text += "\n";
  }
  return text;
}

}  // namespace vergeset::fleet
