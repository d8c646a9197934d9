#pragma once

#include <string>
#include <vector>

#include "report/screen.h"
#include "report/wrap.h"

namespace vergeset::report {

/// An aligned table of plain text. Its cells are made printable here, so that nothing a unit or a file
/// says can rewrite a terminal.
class Table {
 public:
  /// `indent` stands in front of every line. An empty heading has no header line.
  explicit Table(int indent = 2, std::vector<std::string> heading = {});

  void add(std::vector<std::string> cells);
  /// A row whose first cell stands further in.
  void add_within(std::vector<std::string> cells);
  /// A line of its own below the last row, over all columns, behind `within` blanks.
  void add_below(std::string text, int within = 2);
  bool empty() const { return rows_.size() == (headed_ ? 1 : 0); }

  /// Whether all of it fits the screen as it is.
  bool fits(const Screen& screen) const;
  /// The lines, none wider than the screen where its words allow: columns that are too wide are
  /// wrapped, the widest first. Where words have to be broken, long runs of letters and digits are first,
  /// then words with marks, behind these; addresses, paths and places in files are last. In a pipe a word
  /// that is too wide sticks out and leaves the other columns their room. The heading is dim; cells of the
  /// first column bold where asked.
  std::string text(const Screen& screen, bool bold_first = false) const;

 private:
  struct Row {
    std::vector<std::string> cells;
    int below = 0;  ///< above 0: one text over all columns, behind so many blanks
  };
  struct Shape {
    std::vector<int> widths;
    int gap = 0;
  };
  struct Words;
  using Cells = std::vector<std::vector<std::string>>;  ///< of a row, each in lines

  Words words() const;
  int width_of(const std::vector<int>& widths, int gap) const;
  Shape shape(const Screen& screen) const;
  std::string line_of(const Screen& screen, const Shape& shape, const Cells& cells, std::size_t line,
                      bool bold_first) const;

  int indent_;
  bool headed_;
  std::vector<Row> rows_;
};

}  // namespace vergeset::report
