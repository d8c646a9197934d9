#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/screen.h"

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
  bool empty() const { return rows_.size() == (headed_ ? 1 : 0); }

  /// The lines, none wider than the screen where its words allow: columns that are too wide are
  /// wrapped, the widest first. The heading is dim; cells of the first column bold where asked.
  std::string text(const Screen& screen, bool bold_first = false) const;

 private:
  struct Shape {
    std::vector<int> widths;
    int gap = 0;
  };
  using Cells = std::vector<std::vector<std::string>>;  ///< of a row, each in lines

  Shape shape(const Screen& screen) const;
  std::string line_of(const Screen& screen, const Shape& shape, const Cells& cells, std::size_t line,
                      bool bold_first) const;

  int indent_;
  bool headed_;
  std::vector<std::vector<std::string>> rows_;
};

/// Words filled into lines of at most `width`, each behind the blanks that the text begins with.
std::vector<std::string> wrapped(std::string_view text, int width, bool break_words);

/// A paragraph, each line behind `indent` blanks.
std::string paragraph(const Screen& screen, std::string_view text, int indent = 0);

}  // namespace vergeset::report
