#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace vergeset::report {

/// The acceptance sheet has two sides whatever it holds, and a browser gives no second try: what stands on a
/// side is measured here before the page is written. Each row is given a number of lines, which the style
/// sheet does not let it exceed (acceptance_style.cpp, where every length of this file stands again), so that
/// a side's height does not depend on the fonts that a machine has. Lengths are points (1/72 inch).
struct PaperType {
  std::string_view name;  ///< its class in the page
  double size = 0;
  double line = 0;
  double around = 0;  ///< a row's padding, and a rule that is as thin as a browser draws it
};

/// A list on a side: tables of the same columns, one or more of them side by side.
struct PaperList {
  std::string name;                 ///< its class in the page
  std::string heading;              ///< empty: none
  std::vector<std::string> titles;  ///< of the columns; empty: none
  std::vector<double> shares;       ///< of the width, one a column; all of them make 1
  std::vector<std::vector<std::string>> rows;
  std::string below;  ///< a text below the rows; empty: none
  int least_across = 1;
  int most_across = 1;
  int least_lines = 1;  ///< that a row may have however little room there is

  std::size_t keep = 3;  ///< how many rows it gives up last, the first ones

  // By fit_side():
  int across = 1;
  std::size_t shown = 0;   ///< how many rows are printed, the first ones
  std::vector<int> lines;  ///< of each of those
  int lines_below = 0;
};

/// The widest that is the same on A4 and US Letter, and the height of the lower one, both without margins.
inline constexpr double paper_width = 527;
inline constexpr double paper_height = 722;

/// A text from outside as it stands in a cell: inert, and cut where it is longer than anybody reads there.
std::string cell_text(const std::string& text);

/// Chooses the largest type, the most lines a row and the fewest tables side by side with which all lists fit
/// `room`, and the lines of each row; where none does, so many rows that they do, taking from the tallest
/// list.
PaperType fit_side(std::vector<PaperList>& lists, double room);

/// Rows [from, to) that stand in the `part`th of `across` tables side by side, of `count` rows.
struct PaperPart {
  std::size_t from = 0;
  std::size_t to = 0;
};
PaperPart paper_part(std::size_t count, int across, int part);

/// The height of a list as it has been fitted.
double paper_list_height(const PaperList& list, const PaperType& type);

}  // namespace vergeset::report
