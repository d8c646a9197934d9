#include "fleet/csv.h"

#include "schema/utf8.h"

namespace vergeset::fleet {

namespace {

/// The text with the place of its next character.
class Cursor {
 public:
  Cursor(std::string_view text, const std::string& file) : text_(text), place_{file, 1, 1} {}

  bool end() const { return at_ >= text_.size(); }
  char peek() const { return text_[at_]; }
  bool follows(std::string_view word) const { return text_.substr(at_, word.size()) == word; }
  const Place& place() const { return place_; }
  bool at_line_end() const { return end() || peek() == '\n' || peek() == '\r'; }

  char take() {
    const char c = text_[at_++];
    const bool lone_return = c == '\r' && !(at_ < text_.size() && text_[at_] == '\n');
    if (c == '\n' || lone_return) {
      ++place_.line;
      place_.column = 1;
    } else if (c != '\r' && (static_cast<unsigned char>(c) & 0xc0) != 0x80) {
      ++place_.column;  // not the later octets of a UTF-8 character
    }
    return c;
  }

  void skip_line() {
    while (!at_line_end()) take();
    if (!end()) skip_line_end();
  }

  /// LF, CRLF or CR.
  void skip_line_end() {
    if (take() == '\r' && !end() && peek() == '\n') take();
  }

  void skip_octets(std::size_t count) { at_ += count; }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
  Place place_;
};

bool blank(char c) {
  return c == ' ' || c == '\t';
}

/// A cell that begins with a quote. False where it is broken; the cursor is then anywhere in it.
bool take_quoted(Cursor& cursor, Cell& cell, Faults& faults) {
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

bool take_plain(Cursor& cursor, Cell& cell, Faults& faults) {
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
void take_line(Cursor& cursor, CsvLine& line, Faults& faults) {
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

std::vector<CsvLine> parse_csv(std::string_view text, const std::string& file, Faults& faults) {
  constexpr std::string_view byte_order_mark = "\xef\xbb\xbf";
  Cursor cursor(text, file);
  if (cursor.follows(byte_order_mark)) cursor.skip_octets(byte_order_mark.size());
  std::vector<CsvLine> lines;
  if (text.find('\0') != std::string_view::npos) {
    faults.add({file, 0, 0}, "is no text, for it holds octets 00; save the spreadsheet as CSV in UTF-8");
    return lines;
  }
  while (!cursor.end()) {
    if (cursor.peek() == '#') {
      cursor.skip_line();
      continue;
    }
    CsvLine line;
    take_line(cursor, line, faults);
    const bool empty = line.size() == 1 && line[0].text.empty();
    if (!empty) lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace vergeset::fleet
