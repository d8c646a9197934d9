#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "smi/result.h"

namespace vergeset::fleet {

/// A line of a spreadsheet: its cells, without the blanks around them. Cells that are missing at its end are
/// empty.
struct SheetRow {
  int line = 0;  ///< of the file, where the row begins; a cell may hold line ends
  std::vector<std::string> cells;

  /// The cell under a column; empty where the row is shorter.
  const std::string& at(std::size_t column) const;
  bool empty() const;
};

/// What is wrong with a line as such.
struct BrokenLine {
  int line = 0;
  std::string text;
};

/// A spreadsheet as an agency has it, in cells of text that have no meaning yet. This reader is for what
/// others wrote and forgives what csv.h, which reads our own units.csv, calls a fault.
struct Spreadsheet {
  std::string encoding;
  char delimiter = ',';
  std::vector<SheetRow> rows;        ///< those with a cell that is not empty, in the order of the file
  std::vector<BrokenLine> broken{};  ///< read as far as they make sense, and to be told
};

/// Cells in quotes may hold the delimiter, line ends and doubled quotes (RFC 4180); a quote within an
/// unquoted cell (6" pole) is a letter. A quoted cell that does not end properly is broken: its line is then
/// read without regard to quotes, so that it takes no others with it. A cell has at most 32,767 characters in
/// spreadsheet programs (from memory): more octets than that many characters may take is a quote that was
/// never closed.
///
/// The delimiter, where none is given, is what a first line "sep=;" says, as some programs write, or the one
/// of comma, semicolon, tab and bar by which most of the first lines fall into the same number of cells, the
/// larger number counting more. Problems: no text (decode_sheet), or nothing but blank lines.
Result<Spreadsheet> read_spreadsheet(std::string_view octets, std::optional<char> delimiter);

/// "comma", "semicolon", "tab", "bar".
std::string delimiter_name(char delimiter);
/// Of a name as above, or the character itself; nothing for anything else.
std::optional<char> delimiter_of(std::string_view name);

}  // namespace vergeset::fleet
