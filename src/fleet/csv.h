#pragma once

#include <string>
#include <string_view>
#include <vector>

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
std::vector<CsvLine> parse_csv(std::string_view text, const std::string& file, Faults& faults);

}  // namespace vergeset::fleet
