#include "fleet/csv.h"

#include "smi/utf8.h"

namespace vergeset::fleet {

namespace {

bool blank(char c) {
  return c == ' ' || c == '\t';
}

/// A cell that begins with a quote. False where it is broken; the cursor is then anywhere in it.
bool take_quoted(CsvCursor& cursor, Cell& cell, Faults& faults) {
  cursor.take();
  while (!cursor.end()) {
    if (cursor.peek() != '"') {
      cell.text += cursor.take();
      continue;
    }
    if (cursor.follows("\"\"")) {
      cell.text += cursor.take();
      cursor.take();
      continue;
    }
    cursor.take();
    while (!cursor.at_line_end() && blank(cursor.peek())) cursor.take();
    if (cursor.at_line_end() || cursor.peek() == ',') return true;
    faults.add(cursor.place(),
               "expected a comma or the end of the line behind the closing quote; a quote "
               "within a cell is doubled");
    return false;
  }
  faults.add(cell.place, "this quote is never closed; a quote within a cell is doubled");
  return false;
}

bool take_plain(CsvCursor& cursor, Cell& cell, Faults& faults) {
  while (!cursor.at_line_end() && cursor.peek() != ',') {
    if (cursor.peek() == '"') {
      faults.add(cursor.place(), "a quote stands within a cell; put the whole cell in quotes and double it");
      return false;
    }
    cell.text += cursor.take();
  }
  while (!cell.text.empty() && blank(cell.text.back())) cell.text.pop_back();
  return true;
}

void check_characters(const Cell& cell, Faults& faults) {
  const std::size_t octets = readable(cell.text);
  if (octets == cell.text.size()) return;
  faults.add(cell.place, is_control(cell.text[octets])
                             ? "this cell holds a control character; remove it"
                             : "this cell is no UTF-8; save the spreadsheet as CSV in UTF-8");
}

/// One line, without cells where it is broken.
void take_line(CsvCursor& cursor, CsvLine& line, Faults& faults) {
  while (true) {
    while (!cursor.at_line_end() && blank(cursor.peek())) cursor.take();
    Cell cell{{}, cursor.place()};
    const bool quoted = !cursor.end() && cursor.peek() == '"';
    const bool whole = quoted ? take_quoted(cursor, cell, faults) : take_plain(cursor, cell, faults);
    if (!whole) {
      cursor.skip_line();
      line.clear();
      return;
    }
    check_characters(cell, faults);
    line.push_back(std::move(cell));
    if (cursor.at_line_end()) break;
    cursor.take();
  }
  if (!cursor.end()) cursor.skip_line_end();
}

}  // namespace

CsvReader::CsvReader(std::string_view text, const std::string& file, Faults& faults)
    : cursor_(text, file), faults_(faults) {
  constexpr std::string_view byte_order_mark = "\xef\xbb\xbf";
  if (cursor_.follows(byte_order_mark)) cursor_.skip_octets(byte_order_mark.size());
  is_text_ = text.find('\0') == std::string_view::npos;
  if (is_text_) return;
  faults.add({file, 0, 0}, "is no text, for it holds octets 00; save the spreadsheet as CSV in UTF-8");
}

bool CsvReader::next(CsvLine& line) {
  while (is_text_ && !cursor_.end()) {
    if (cursor_.peek() == '#') {
      cursor_.skip_line();
      continue;
    }
    line.clear();
    take_line(cursor_, line, faults_);
    const bool empty = line.size() == 1 && line[0].text.empty();
    if (!empty) return true;
  }
  return false;
}

}  // namespace vergeset::fleet
