#include "fleet/spreadsheet.h"

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "fleet/spreadsheet_text.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

constexpr std::size_t most_octets_of_a_cell = std::size_t{4} * 32767;

/// What a spreadsheet program puts around a cell that is no part of it: blanks, and the no-break space.
std::string without_blanks(std::string_view text) {
  constexpr std::string_view no_break_space = "\xc2\xa0";
  while (true) {
    text = smi::trimmed(text);
    if (text.ends_with(no_break_space)) {
      text.remove_suffix(no_break_space.size());
    } else if (text.starts_with(no_break_space)) {
      text.remove_prefix(no_break_space.size());
    } else {
      return std::string(text);
    }
  }
}

/// Reads rows one after the other.
class SheetReader {
 public:
  SheetReader(std::string_view text, char delimiter) : text_(text), delimiter_(delimiter) {}

  bool end() const { return at_ >= text_.size(); }
  /// The next row, empty or not. What is broken about it goes to `broken`.
  SheetRow next(std::vector<BrokenLine>& broken) {
    const std::size_t start = at_;
    const int line = line_;
    SheetRow row{line, {}};
    if (const char* problem = take_row(row, quotes_close_)) {
      broken.push_back({line, problem});
      at_ = start;
      line_ = line;
      row.cells.clear();
      take_row(row, false);
    }
    return row;
  }

 private:
  bool at_line_end() const { return end() || text_[at_] == '\n' || text_[at_] == '\r'; }
  bool blank_here() const { return text_[at_] != delimiter_ && (text_[at_] == ' ' || text_[at_] == '\t'); }
  void skip_blanks() {
    while (!end() && blank_here()) ++at_;
  }
  /// LF, CRLF or CR counts as one line.
  void pass_line_end() {
    if (text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n') ++at_;
    ++at_;
    ++line_;
  }

  /// Nothing, or what is wrong.
  const char* take_row(SheetRow& row, bool with_quotes) {
    while (true) {
      skip_blanks();
      const bool quoted = with_quotes && !end() && text_[at_] == '"';
      std::string cell;
      const char* const problem = quoted ? take_quoted(cell) : take_plain(cell);
      if (problem != nullptr) return problem;
      row.cells.push_back(without_blanks(cell));
      if (at_line_end()) break;
      ++at_;
    }
    if (!end()) pass_line_end();
    return nullptr;
  }

  const char* take_plain(std::string& cell) {
    const std::size_t start = at_;
    while (!at_line_end() && text_[at_] != delimiter_) ++at_;
    cell = text_.substr(start, at_ - start);
    return nullptr;
  }

  const char* take_quoted(std::string& cell) {
    ++at_;
    while (!end() && cell.size() <= most_octets_of_a_cell) {
      if (text_[at_] == '"') {
        ++at_;
        if (end() || text_[at_] != '"') return end_of_quoted();
        cell += text_[at_++];
      } else if (at_line_end()) {
        cell += '\n';
        pass_line_end();
      } else {
        cell += text_[at_++];
      }
    }
    // What follows is in no quotes that could be told: without this each later line would be read to the end
    // too.
    if (end()) quotes_close_ = false;
    return "a quote at the beginning of a cell is never closed; the line was read without regard to it";
  }

  const char* end_of_quoted() {
    skip_blanks();
    if (at_line_end() || text_[at_] == delimiter_) return nullptr;
    return "text stands behind a closing quote; the line was read without regard to its quotes";
  }

  std::string_view text_;
  char delimiter_;
  std::size_t at_ = 0;
  int line_ = 1;
  bool quotes_close_ = true;
};

constexpr std::array<std::pair<char, std::string_view>, 4> delimiters{
    {{',', "comma"}, {';', "semicolon"}, {'\t', "tab"}, {'|', "bar"}}};

/// How well the first lines fall into cells by a delimiter.
std::size_t fitness(std::string_view text, char delimiter) {
  constexpr int looked_at = 60;
  SheetReader reader(text, delimiter);
  std::map<std::size_t, std::size_t> lines;  // by number of cells
  std::vector<BrokenLine> broken;
  for (int i = 0; i < looked_at && !reader.end(); ++i) {
    const SheetRow row = reader.next(broken);
    if (row.cells.size() > 1) ++lines[row.cells.size()];
  }
  std::size_t best = 0;
  for (const auto& [cells, count] : lines) best = std::max(best, cells * count);
  return best;
}

char likeliest_delimiter(std::string_view text) {
  // A quote that is never closed is looked for within this much and no further.
  const std::string_view beginning = text.substr(0, std::size_t{256} * 1024);
  char likeliest = ',';
  std::size_t best = 0;
  for (const auto& [delimiter, name] : delimiters) {
    const std::size_t fits = fitness(beginning, delimiter);
    if (fits > best) likeliest = delimiter;
    best = std::max(best, fits);
  }
  return likeliest;
}

/// "sep=;" alone on the first line.
std::optional<char> stated_delimiter(std::string_view text) {
  const std::string_view first = text.substr(0, text.find_first_of("\r\n"));
  if (first.size() != 5 || smi::lower(first.substr(0, 4)) != "sep=") return std::nullopt;
  return delimiter_of(first.substr(4));
}

}  // namespace

const std::string& SheetRow::at(std::size_t column) const {
  static const std::string none;
  return column < cells.size() ? cells[column] : none;
}

bool SheetRow::empty() const {
  return std::all_of(cells.begin(), cells.end(), [](const std::string& cell) { return cell.empty(); });
}

Result<Spreadsheet> read_spreadsheet(std::string_view octets, std::optional<char> delimiter) {
  auto decoded = decode_sheet(octets);
  if (!decoded) return Problem{decoded.problem()};
  const std::string_view text = decoded->text;
  const auto stated = stated_delimiter(text);
  Spreadsheet sheet;
  sheet.encoding = decoded->encoding;
  sheet.delimiter = delimiter ? *delimiter : stated ? *stated : likeliest_delimiter(text);
  SheetReader reader(text, sheet.delimiter);
  std::vector<BrokenLine> of_first;
  if (stated) reader.next(of_first);
  while (!reader.end()) {
    SheetRow row = reader.next(sheet.broken);
    if (!row.empty()) sheet.rows.push_back(std::move(row));
  }
  if (sheet.rows.empty()) return Problem{"is empty"};
  return sheet;
}

std::string delimiter_name(char delimiter) {
  for (const auto& [each, name] : delimiters) {
    if (each == delimiter) return std::string(name);
  }
  return std::string(1, delimiter);
}

std::optional<char> delimiter_of(std::string_view name) {
  for (const auto& [delimiter, each] : delimiters) {
    if (name == each || (name.size() == 1 && name.front() == delimiter)) return delimiter;
  }
  return std::nullopt;
}

}  // namespace vergeset::fleet
