#include "report/table.h"

#include <algorithm>
#include <numeric>

namespace vergeset::report {

namespace {

constexpr int wide_gap = 3;
constexpr int narrow_gap = 2;
constexpr int least_column = 8;

/// Takes `over` columns from the widest that may shrink, one at a time, as far as they can be taken.
void shrink(std::vector<int>& widths, const std::vector<int>& least, int over) {
  for (; over > 0; --over) {
    std::size_t widest = widths.size();
    for (std::size_t i = 0; i < widths.size(); ++i) {
      const bool may_shrink = widths[i] > least[i];
      if (may_shrink && (widest == widths.size() || widths[i] > widths[widest])) widest = i;
    }
    if (widest == widths.size()) return;
    --widths[widest];
  }
}

void trim_end(std::string& line) {
  line.erase(line.find_last_not_of(' ') + 1);
}

}  // namespace

Table::Table(int indent, std::vector<std::string> heading) : indent_(indent), headed_(!heading.empty()) {
  if (headed_) rows_.push_back({std::move(heading)});
}

void Table::add(std::vector<std::string> cells) {
  for (std::string& cell : cells) cell = printable(cell);
  rows_.push_back({std::move(cells)});
}

void Table::add_within(std::vector<std::string> cells) {
  cells.front().insert(0, "  ");
  add(std::move(cells));
}

void Table::add_below(std::string text, int within) {
  rows_.push_back({{std::move(text)}, within});
}

/// How wide each column is, and its words, as WordWidths has them.
struct Table::Words {
  std::vector<int> widths;
  std::vector<int> longest;
  std::vector<int> firm;
  std::vector<int> parts;
  std::vector<int> places;
};

Table::Words Table::words() const {
  Words words;
  const auto widen = [](int& width, int to) { width = std::max(width, to); };
  for (const Row& row : rows_) {
    if (row.below > 0) continue;
    const std::size_t columns = std::max(words.widths.size(), row.cells.size());
    for (auto* all : {&words.widths, &words.longest, &words.firm, &words.parts, &words.places})
      all->resize(columns, 0);
    for (std::size_t i = 0; i < row.cells.size(); ++i) {
      const WordWidths cell = word_widths(row.cells[i]);
      widen(words.widths[i], text_width(row.cells[i]));
      widen(words.longest[i], cell.longest);
      widen(words.firm[i], cell.firm);
      widen(words.parts[i], cell.parts);
      widen(words.places[i], cell.places);
    }
  }
  return words;
}

int Table::width_of(const std::vector<int>& widths, int gap) const {
  const int gaps = static_cast<int>(widths.empty() ? 0 : widths.size() - 1);
  return std::accumulate(widths.begin(), widths.end(), indent_ + gap * gaps);
}

bool Table::fits(const Screen& screen) const {
  return width_of(words().widths, wide_gap) <= screen.width;
}

Table::Shape Table::shape(const Screen& screen) const {
  Words words = this->words();
  Shape shape{words.widths, wide_gap};
  if (!screen.break_words) {
    const int share = screen.width / static_cast<int>(std::max<std::size_t>(1, shape.widths.size()));
    for (std::size_t i = 0; i < shape.widths.size(); ++i) {
      if (words.longest[i] <= screen.width / 2) continue;
      shape.widths[i] = words.longest[i] = share;
    }
  }
  const auto over = [&] { return width_of(shape.widths, shape.gap) - screen.width; };
  shrink(shape.widths, words.longest, over());
  if (over() > 0) shape.gap = narrow_gap;
  if (!screen.break_words) return shape;
  for (auto* least : {&words.firm, &words.parts, &words.places}) {
    for (int& width : *least) width = std::max(width, least_column);
    shrink(shape.widths, *least, over());
  }
  shrink(shape.widths, std::vector<int>(shape.widths.size(), least_column), over());
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
    if (rows_[r].below > 0) {
      out += paragraph(screen, rows_[r].cells.front(), indent_ + rows_[r].below);
      continue;
    }
    const bool heading = headed_ && r == 0;
    Cells cells;
    std::size_t height = 1;
    for (std::size_t i = 0; i < rows_[r].cells.size(); ++i) {
      cells.push_back(wrapped(rows_[r].cells[i], columns.widths[i], screen.break_words));
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
