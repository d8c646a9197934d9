#include "report/table.h"

#include <algorithm>
#include <iterator>
#include <numeric>

namespace vergeset::report {

namespace {

constexpr int wide_gap = 3;
constexpr int narrow_gap = 2;
constexpr int least_column = 8;

/// A cell's own indent: blanks in front, which its wrapped lines keep.
std::size_t blanks_before(std::string_view text) {
  return std::min(text.find_first_not_of(' '), text.size());
}

int longest_word(std::string_view text) {
  int longest = 0;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find(' ', from), text.size());
    longest = std::max(longest, text_width(text.substr(from, end - from)));
    from = end + 1;
  }
  return longest + static_cast<int>(blanks_before(text));
}

/// The first octets of a word that fit into `width` columns; at least one character.
std::size_t fitting(std::string_view word, int width) {
  std::size_t end = character_end(word, 0);
  for (int used = 1; used < width && end < word.size(); ++used) end = character_end(word, end);
  return end;
}

/// Takes `over` columns from the widest that may shrink, one at a time; what could not be taken.
int shrink(std::vector<int>& widths, const std::vector<int>& least, int over) {
  for (; over > 0; --over) {
    std::size_t widest = widths.size();
    for (std::size_t i = 0; i < widths.size(); ++i) {
      const bool may_shrink = widths[i] > least[i];
      if (may_shrink && (widest == widths.size() || widths[i] > widths[widest])) widest = i;
    }
    if (widest == widths.size()) break;
    --widths[widest];
  }
  return over;
}

void trim_end(std::string& line) {
  line.erase(line.find_last_not_of(' ') + 1);
}

}  // namespace

std::vector<std::string> wrapped(std::string_view text, int width, bool break_words) {
  const std::string front(blanks_before(text), ' ');
  const int room = std::max(1, width - static_cast<int>(front.size()));
  std::vector<std::string> lines;
  std::string line;
  const auto end_line = [&] {
    lines.push_back(front + line);
    line.clear();
  };
  for (std::size_t from = front.size(); from < text.size();) {
    const std::size_t end = std::min(text.find(' ', from), text.size());
    std::string_view word = text.substr(from, end - from);
    from = end + 1;
    if (!line.empty() && text_width(line) + 1 + text_width(word) > room) end_line();
    while (break_words && text_width(word) > room) {
      const std::size_t part = fitting(word, room);
      line = word.substr(0, part);
      end_line();
      word.remove_prefix(part);
    }
    if (!line.empty()) line += ' ';
    line += word;
  }
  if (!line.empty() || lines.empty()) end_line();
  return lines;
}

std::string paragraph(const Screen& screen, std::string_view text, int indent) {
  const std::string front(static_cast<std::size_t>(indent), ' ');
  std::string out;
  for (const std::string& line : wrapped(printable(text), screen.width - indent, screen.break_words)) {
    out += front + line + "\n";
  }
  return out;
}

Table::Table(int indent, std::vector<std::string> heading) : indent_(indent), headed_(!heading.empty()) {
  if (headed_) rows_.push_back(std::move(heading));
}

void Table::add(std::vector<std::string> cells) {
  for (std::string& cell : cells) cell = printable(cell);
  rows_.push_back(std::move(cells));
}

void Table::add_within(std::vector<std::string> cells) {
  cells.front().insert(0, "  ");
  add(std::move(cells));
}

Table::Shape Table::shape(const Screen& screen) const {
  Shape shape{{}, wide_gap};
  std::vector<int> least;
  for (const std::vector<std::string>& row : rows_) {
    shape.widths.resize(std::max(shape.widths.size(), row.size()), 0);
    least.resize(shape.widths.size(), 0);
    for (std::size_t i = 0; i < row.size(); ++i) {
      shape.widths[i] = std::max(shape.widths[i], text_width(row[i]));
      least[i] = std::max(least[i], longest_word(row[i]));
    }
  }
  const int gaps = static_cast<int>(shape.widths.empty() ? 0 : shape.widths.size() - 1);
  int over =
      std::accumulate(shape.widths.begin(), shape.widths.end(), indent_ + wide_gap * gaps) - screen.width;
  over = shrink(shape.widths, least, over);
  if (over > 0) {
    shape.gap = narrow_gap;
    over -= gaps * (wide_gap - narrow_gap);
  }
  if (!screen.break_words) return shape;
  for (int& width : least) width = std::min(width, least_column);
  shrink(shape.widths, least, over);
  return shape;
}

/// One line of a row: the `line`th of each of its cells.
std::string Table::line_of(const Screen& screen, const Shape& shape, const Cells& cells, std::size_t line,
                           bool bold_first) const {
  std::string out(static_cast<std::size_t>(indent_), ' ');
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const std::string cell = line < cells[i].size() ? cells[i][line] : std::string();
    out += bold_first && i == 0 && !cell.empty() ? bold(screen, cell) : cell;
    if (i + 1 == cells.size()) break;
    const int pad = shape.widths[i] - text_width(cell) + shape.gap;
    out.append(static_cast<std::size_t>(std::max(1, pad)), ' ');
  }
  trim_end(out);
  return out;
}

std::string Table::text(const Screen& screen, bool bold_first) const {
  const Shape columns = shape(screen);
  std::string out;
  for (std::size_t r = 0; r < rows_.size(); ++r) {
    const bool heading = headed_ && r == 0;
    Cells cells;
    std::size_t height = 1;
    for (std::size_t i = 0; i < rows_[r].size(); ++i) {
      cells.push_back(wrapped(rows_[r][i], columns.widths[i], screen.break_words));
      height = std::max(height, cells.back().size());
    }
    for (std::size_t line = 0; line < height; ++line) {
      const std::string text = line_of(screen, columns, cells, line, bold_first && !heading);
      out += (heading ? dim(screen, text) : text) + "\n";
    }
  }
  return out;
}

}  // namespace vergeset::report
