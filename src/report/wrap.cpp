#include "report/wrap.h"

#include <algorithm>
#include <cctype>

namespace vergeset::report {

namespace {

constexpr std::string_view marks = "-/:,;_@";  ///< behind which a word is best broken

/// A cell's own indent: blanks in front, which its wrapped lines keep.
std::size_t blanks_before(std::string_view text) {
  return std::min(text.find_first_not_of(' '), text.size());
}

/// An address, a path, a place in a file: of no use to a reader in two parts.
bool is_place(std::string_view word) {
  return word.find_first_of("/:") != std::string_view::npos;
}

/// Octets in hex, a digest: read by nobody letter by letter.
bool is_run(std::string_view word) {
  constexpr std::size_t long_run = 24;
  const auto plain = [](unsigned char c) { return std::isalnum(c) != 0 || c == '.'; };
  return word.size() > long_run && std::all_of(word.begin(), word.end(), plain);
}

/// The longest part of a word that is broken behind its marks.
int longest_part(std::string_view word) {
  int longest = 0;
  for (std::size_t from = 0; from < word.size();) {
    const std::size_t mark = std::min(word.find_first_of(marks, from + 1), word.size() - 1);
    longest = std::max(longest, text_width(word.substr(from, mark + 1 - from)));
    from = mark + 1;
  }
  return longest;
}

/// The first octets of a word that fit into `width` columns, up to a mark where there is one; at least one
/// character.
std::size_t fitting(std::string_view word, int width) {
  std::size_t end = character_end(word, 0);
  for (int used = 1; used < width && end < word.size(); ++used) end = character_end(word, end);
  const auto mark = word.substr(0, end).find_last_of(marks);
  return mark != std::string_view::npos && mark > 0 ? mark + 1 : end;
}

}  // namespace

WordWidths word_widths(std::string_view text) {
  WordWidths widths;
  const int front = static_cast<int>(blanks_before(text));
  const auto widen = [&](int& width, int to) { width = std::max(width, to + front); };
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find(' ', from), text.size());
    const std::string_view word = text.substr(from, end - from);
    from = end + 1;
    widen(widths.longest, text_width(word));
    if (is_run(word)) continue;
    widen(widths.firm, text_width(word));
    widen(widths.parts, is_place(word) ? text_width(word) : longest_part(word));
    if (is_place(word)) widen(widths.places, text_width(word));
  }
  return widths;
}

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

}  // namespace vergeset::report
