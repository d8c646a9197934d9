#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fleet/csv_cursor.h"
#include "schema/place.h"

namespace vergeset::fleet {

/// A cell of a spreadsheet that knows where it stands: the column counts characters, not cells.
struct Cell {
  std::string text;
  Place place;
};

using CsvLine = std::vector<Cell>;

/// Comma-separated values (RFC 4180): cells in quotes may hold commas, line ends and doubled quotes.
/// As spreadsheets and people write them: a byte order mark, CRLF, LF or CR are fine, blanks around an
/// unquoted cell are not part of it, blank lines and lines that begin with # are skipped. What breaks
/// the rules, or is no UTF-8, is a fault, and reading goes on with the next line; of a line that breaks
/// them there are no cells. What is no text at all is one fault and no lines.
///
/// Lines are read one after the other: the cells of ten thousand units take far more room than the units.
class CsvReader {
 public:
  /// `text` must outlive the reader.
  CsvReader(std::string_view text, const std::string& file, Faults& faults);

  /// Reads the next line into `line`. False at the end.
  bool next(CsvLine& line);

 private:
  CsvCursor cursor_;
  Faults& faults_;
  bool is_text_ = true;
};

}  // namespace vergeset::fleet
