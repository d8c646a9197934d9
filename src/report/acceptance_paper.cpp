#include "report/acceptance_paper.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "report/acceptance_words.h"
#include "report/wrap.h"

namespace vergeset::report {

namespace {

constexpr double heading_height = 19;
constexpr double between_tables = 14;
constexpr double beside_cell = 6;
constexpr double letter_width = 0.6;  ///< of the type's size: DejaVu Sans, wider than most

constexpr std::size_t more_than_fit = 200;  ///< rows, three side by side, of the least height

constexpr PaperType roomy_type{"roomy", 9, 11.5, 2.75};
constexpr PaperType close_type{"close", 7.6, 9.2, 1.95};

/// One way to set a side.
struct Layout {
  PaperType type;
  int lines = 1;   ///< a row at most
  int across = 1;  ///< tables side by side, as far as the list allows
};

constexpr std::array<Layout, 12> layouts{{
    {roomy_type, 4, 1},
    {roomy_type, 4, 2},
    {roomy_type, 3, 3},
    {close_type, 4, 1},
    {close_type, 4, 2},
    {close_type, 4, 3},
    {close_type, 2, 1},
    {close_type, 2, 2},
    {close_type, 2, 3},
    {close_type, 1, 1},
    {close_type, 1, 2},
    {close_type, 1, 3},
}};

int lines_of(const std::string& text, double width, const PaperType& type) {
  const int letters = static_cast<int>(std::floor((width - beside_cell) / (type.size * letter_width)));
  return static_cast<int>(wrapped(cell_text(text), std::max(4, letters), true).size());
}

int row_lines(const PaperList& list, const std::vector<std::string>& row, const Layout& layout) {
  const double width = (paper_width - between_tables * (list.across - 1)) / list.across;
  int lines = 1;
  for (std::size_t i = 0; i < row.size(); ++i) {
    lines = std::max(lines, lines_of(row[i], width * list.shares[i], layout.type));
  }
  return std::min(lines, std::max(layout.lines, list.least_lines));
}

void set_list(PaperList& list, const Layout& layout) {
  list.across = std::clamp(layout.across, list.least_across, list.most_across);
  list.shown = std::min(list.rows.size(), more_than_fit);
  list.lines.clear();
  for (std::size_t i = 0; i < list.shown; ++i) list.lines.push_back(row_lines(list, list.rows[i], layout));
  list.lines_below = 0;
  if (list.below.empty()) return;
  const int most = std::max({layout.lines, list.least_lines, 2});
  list.lines_below = std::min(most, lines_of(list.below, paper_width, layout.type));
}

double lists_height(const std::vector<PaperList>& lists, const PaperType& type) {
  return std::accumulate(lists.begin(), lists.end(), 0.0, [&](double sum, const PaperList& list) {
    return sum + paper_list_height(list, type);
  });
}

/// The tallest of those that have rows to spare; of those that have more than a few where none has.
PaperList* to_be_cut(std::vector<PaperList>& lists, const PaperType& type) {
  constexpr std::size_t few = 3;
  for (const bool keeping : {true, false}) {
    PaperList* found = nullptr;
    for (PaperList& list : lists) {
      if (list.shown <= (keeping ? list.keep : few)) continue;
      if (found == nullptr || paper_list_height(list, type) > paper_list_height(*found, type)) found = &list;
    }
    if (found != nullptr) return found;
  }
  return nullptr;
}

}  // namespace

std::string cell_text(const std::string& text) {
  constexpr std::size_t longest = 240;
  // Twice, since a text may grow when it is made inert, and may be too long to be worth that.
  return shortened_to(printable(shortened_to(text, longest, "\u2026")), longest, "\u2026");
}

PaperPart paper_part(std::size_t count, int across, int part) {
  const auto tables = static_cast<std::size_t>(across);
  const std::size_t each = (count + tables - 1) / tables;
  const std::size_t from = std::min(count, each * static_cast<std::size_t>(part));
  return {from, std::min(count, from + each)};
}

double paper_list_height(const PaperList& list, const PaperType& type) {
  double height = list.heading.empty() ? 0 : heading_height;
  if (!list.titles.empty() && !list.rows.empty()) height += type.line + type.around;
  double rows = 0;
  for (int part = 0; part < list.across; ++part) {
    const PaperPart of = paper_part(list.shown, list.across, part);
    double table = 0;
    for (std::size_t i = of.from; i < of.to; ++i) table += list.lines[i] * type.line + type.around;
    rows = std::max(rows, table);
  }
  if (list.shown < list.rows.size()) height += type.line + type.around;
  if (list.lines_below > 0) height += list.lines_below * type.line + type.around;
  return height + rows;
}

PaperType fit_side(std::vector<PaperList>& lists, double room) {
  for (const Layout& layout : layouts) {
    for (PaperList& list : lists) set_list(list, layout);
    if (lists_height(lists, layout.type) <= room) return layout.type;
  }
  while (lists_height(lists, close_type) > room) {
    PaperList* list = to_be_cut(lists, close_type);
    if (list == nullptr) break;
    --list->shown;
  }
  return close_type;
}

}  // namespace vergeset::report
