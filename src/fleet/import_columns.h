#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fleet/import_fields.h"
#include "fleet/spreadsheet.h"

namespace vergeset::fleet {

/// What a person says of a column: "Cable=cable-length ft", "Remarks=none".
struct AskedColumn {
  std::string header;
  std::optional<ImportField> field;  ///< nothing: it is not to be used
  std::string unit;                  ///< of bare numbers; empty: the header's, or else the field's
};

/// Of "THEIR NAME=FIELD" or "THEIR NAME=FIELD UNIT".
Result<AskedColumn> parse_asked_column(const std::string& text);

/// A column of the spreadsheet and what becomes of it.
struct ImportColumn {
  std::string header;  ///< on one line
  std::size_t at = 0;  ///< among the cells of a row, from 0
  std::optional<ImportField> field;
  std::string unit;          ///< that bare numbers are in
  bool unit_stated = false;  ///< by a person or the header; otherwise it is the field's own
  char letter = 0;           ///< as in HeaderSays
  std::string why;           ///< it is not used, or what else is to be known of it
};

struct ImportPlan {
  std::size_t header = 0;  ///< which of the sheet's rows is the header
  int line = 0;            ///< and on which line it stands
  std::vector<ImportColumn> columns;

  /// The column of a field, by name; nothing where none has it.
  const ImportColumn* column_of(std::string_view field) const;
};

/// Finds the header, the row among the first 50 in which most cells name a field (titles and dates of
/// printing stand above it), or takes the one on `header_line` where it is not 0, and decides for each of its
/// columns. What a person asks for comes first; of several columns for one field the likeliest is used, and
/// the others say so. Problems, one a line: no header, a header asked for that is not there, no column for
/// unit or address.
Result<ImportPlan> plan_import(const Spreadsheet& sheet, const std::vector<AskedColumn>& asked,
                               int header_line);

}  // namespace vergeset::fleet
