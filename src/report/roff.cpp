#include "report/roff.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <sstream>
#include <utility>
#include <vector>

#include "smi/words.h"

namespace vergeset::report {

namespace {

/// What a formatter would take for something else.
std::string_view roff_character(char c) {
  switch (c) {
    case '\\':
      return "\\e";
    case '-':
      return "\\-";
    case '\'':
      return "\\(aq";
    case '`':
      return "\\(ga";
    case '^':
      return "\\(ha";
    case '~':
      return "\\(ti";
    default:
      return {};
  }
}

std::string in_font(char font, std::string_view text) {
  return fmt::format("\\f{}{}\\fR", font, roff_text(text));
}

/// A line of input must not begin with what a macro begins with.
std::string as_line(const std::string& text) {
  return (text.starts_with('.') || text.starts_with("'") ? "\\&" : "") + text + "\n";
}

/// Words in lines of input of some 78 columns; a formatter fills them anew.
std::string in_lines(const std::string& text) {
  constexpr std::size_t enough = 78;
  std::istringstream words(text);
  std::string out;
  std::string line;
  for (std::string word; words >> word;) {
    if (!line.empty() && line.size() + 1 + word.size() > enough) out += as_line(std::exchange(line, {}));
    line += (line.empty() ? "" : " ") + word;
  }
  return line.empty() ? out : out + as_line(line);
}

/// What stands between two marks, with the text moved behind them; nothing where the second is missing.
std::string_view between_marks(std::string_view& text, std::string_view mark) {
  const auto end = text.find(mark, mark.size());
  if (!text.starts_with(mark) || end == std::string_view::npos) return {};
  const std::string_view inner = text.substr(mark.size(), end - mark.size());
  text.remove_prefix(end + mark.size());
  return inner;
}

/// Dashes of prose are hyphens where they join words, and options elsewhere.
std::string prose_character(std::string_view text, char before) {
  const bool joins = text.front() == '-' && std::isalpha(static_cast<unsigned char>(before)) != 0;
  return joins ? "-" : roff_text(text.substr(0, 1));
}

std::string with_fonts(std::string_view text) {
  std::string out;
  char before = ' ';
  while (!text.empty()) {
    if (const auto code = between_marks(text, "`"); !code.empty()) {
      out += in_font('B', code);
      before = ' ';
      continue;
    }
    if (const auto strong = between_marks(text, "**"); !strong.empty()) {
      out += "\\fB" + with_fonts(strong) + "\\fR";
      before = ' ';
      continue;
    }
    const bool word_ahead = text.size() > 1 && std::isalpha(static_cast<unsigned char>(text[1])) != 0;
    if (const auto word = word_ahead ? between_marks(text, "*") : std::string_view(); !word.empty()) {
      out += in_font('I', word);
      before = ' ';
      continue;
    }
    out += prose_character(text, before);
    before = text.front();
    text.remove_prefix(1);
  }
  return out;
}

std::string heading_of(std::string_view macro, std::string text) {
  if (macro == ".SH")
    std::ranges::transform(text, text.begin(), [](unsigned char c) { return std::toupper(c); });
  return fmt::format("{} \"{}\"\n", macro, roff_text(text));
}

std::vector<std::string> cells_of(std::string_view row) {
  std::vector<std::string> cells;
  std::string cell;
  row.remove_prefix(1);
  for (std::size_t i = 0; i < row.size(); ++i) {
    const bool parts = row[i] == '|' && (i == 0 || row[i - 1] != '\\');
    if (parts) {
      cells.emplace_back(smi::trimmed(cell));
      cell.clear();
    } else {
      if (row[i] == '|') cell.pop_back();
      cell += row[i];
    }
  }
  return cells;
}

bool is_rule(const std::string& row) {
  return row.find_first_not_of("|-: ") == std::string::npos;
}

/// Blocks of one markdown text, told apart by how their lines begin.
class MarkdownBlocks {
 public:
  MarkdownBlocks(std::string_view markdown, bool first) : begun_(first) {
    std::istringstream stream{std::string(markdown)};
    for (std::string line; std::getline(stream, line);) lines_.push_back(std::move(line));
  }

  std::string roff() {
    std::string out;
    while (at_ < lines_.size()) {
      const std::string& line = lines_[at_];
      if (line.empty()) {
        ++at_;
      } else if (line.starts_with("#")) {
        out += heading();
      } else if (line.starts_with("    ")) {
        out += literal();
      } else if (line.starts_with("- ")) {
        out += list_item();
      } else if (line.starts_with("|")) {
        out += table();
      } else {
        out += paragraph();
      }
    }
    return out;
  }

 private:
  bool more() const { return at_ < lines_.size(); }

  std::string heading() {
    const std::string& line = lines_[at_++];
    const auto depth = line.find_first_not_of('#');
    if (depth == std::string::npos) return {};
    begun_ = true;
    return heading_of(depth > 2 ? ".SS" : ".SH", std::string(smi::trimmed(line.substr(depth))));
  }

  std::string literal() {
    std::string text;
    for (; more() && (lines_[at_].starts_with("    ") || lines_[at_].empty()); ++at_)
      text += (lines_[at_].empty() ? "" : lines_[at_].substr(4)) + "\n";
    while (text.ends_with("\n\n")) text.pop_back();
    return roff_literal(text, std::exchange(begun_, false));
  }

  std::string list_item() {
    std::string text = lines_[at_++].substr(2);
    for (; more() && lines_[at_].starts_with("  "); ++at_) text += "\n" + lines_[at_];
    begun_ = false;
    return ".IP \\(bu 2\n" + in_lines(with_fonts(text));
  }

  std::string table() {
    std::vector<std::vector<std::string>> rows;
    for (; more() && lines_[at_].starts_with("|"); ++at_) {
      if (!is_rule(lines_[at_])) rows.push_back(cells_of(lines_[at_]));
    }
    std::string out;
    for (std::size_t i = 1; i < rows.size(); ++i) {
      std::string right;
      for (std::size_t column = 1; column < rows[i].size(); ++column) {
        const bool named = rows[i].size() > 2 && column < rows[0].size();
        right +=
            (right.empty() ? "" : "; ") + (named ? rows[0][column] + ": " : std::string()) + rows[i][column];
      }
      out += roff_item(with_fonts(rows[i].empty() ? "" : rows[i][0]), with_fonts(right));
    }
    begun_ = false;
    return out;
  }

  std::string paragraph() {
    std::string text;
    for (; more() && !lines_[at_].empty() && !lines_[at_].starts_with("- ") && !lines_[at_].starts_with("|");
         ++at_)
      text += lines_[at_] + "\n";
    // Right behind a heading the formatter has a paragraph of its own.
    const bool first = std::exchange(begun_, false);
    return (first ? "" : ".PP\n") + in_lines(with_fonts(text));
  }

  std::vector<std::string> lines_;
  std::size_t at_ = 0;
  bool begun_;  ///< right behind a heading
};

}  // namespace

std::string roff_text(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const std::string_view other = roff_character(c);
    if (other.empty())
      out += c;
    else
      out += other;
  }
  return out;
}

std::string roff_bold(std::string_view text) {
  return in_font('B', text);
}

std::string roff_slanted(std::string_view text) {
  return in_font('I', text);
}

std::string roff_item(const std::string& left, const std::string& right) {
  return ".TP\n" + as_line(left) + in_lines(right);
}

std::string roff_literal(std::string_view lines, bool first) {
  std::string out = std::string(first ? "" : ".PP\n") + ".RS 4\n.nf\n";
  std::istringstream stream{std::string(lines)};
  for (std::string line; std::getline(stream, line);) out += as_line(roff_text(line));
  return out + ".fi\n.RE\n";
}

std::string roff_of_markdown(std::string_view markdown, bool first) {
  return MarkdownBlocks(markdown, first).roff();
}

}  // namespace vergeset::report
