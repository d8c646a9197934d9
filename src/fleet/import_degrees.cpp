#include <fmt/format.h>

#include <array>
#include <cmath>
#include <vector>

#include "fleet/import_cells.h"
#include "smi/quantity.h"
#include "smi/words.h"

namespace vergeset::fleet {

namespace {

/// An angle as it stands in a cell: up to three numbers, a sign, a letter.
struct AngleText {
  std::vector<std::string> numbers;
  bool negative = false;
  bool signed_ = false;
  char letter = 0;  ///< N, S, E or W
};

bool digit_or_point(char c) {
  return (c >= '0' && c <= '9') || c == '.';
}
bool plain_letter(char c) {
  return c >= 'a' && c <= 'z';
}

/// Signs of degrees, minutes and seconds, each to be read as a blank; and the minus of typesetting.
std::string with_plain_marks(std::string_view cell) {
  constexpr std::array<std::string_view, 12> marks{"\u00b0", "\u00ba", "\u02da", "\u2032",
                                                   "\u2033", "\u2019", "\u201d", "'",
                                                   "\"",     ":",      "\u00b4", "\u00a0"};
  constexpr std::string_view minus = "\u2212";
  std::string text = smi::lower(cell);
  for (const std::string_view mark : marks) {
    for (std::size_t at = text.find(mark); at != std::string::npos; at = text.find(mark, at + 1)) {
      text.replace(at, mark.size(), " ");
    }
  }
  for (std::size_t at = text.find(minus); at != std::string::npos; at = text.find(minus, at + 1)) {
    text.replace(at, minus.size(), "-");
  }
  // A comma between digits is a decimal one: degrees have no thousands.
  for (std::size_t at = 1; at + 1 < text.size(); ++at) {
    if (text[at] == ',' && digit_or_point(text[at - 1]) && digit_or_point(text[at + 1])) text[at] = '.';
  }
  return text;
}

/// The letter that a word stands for; 0 where it is a name of degrees, minutes or seconds; nothing for any
/// other.
std::optional<char> letter_of(const std::string& word, bool minutes_named) {
  if (word == "s" && minutes_named) return '\0';
  for (const std::string_view name : {"north", "south", "east", "west"}) {
    if (word == name || word == name.substr(0, 1)) return static_cast<char>(name.front() - 'a' + 'A');
  }
  for (const std::string_view name : {"d", "deg", "degrees", "m", "min", "sec"}) {
    if (word == name) return '\0';
  }
  return std::nullopt;
}

/// Nothing where the cell holds what belongs to no angle.
std::optional<AngleText> take_apart(std::string_view cell) {
  constexpr std::size_t longest = 60;
  if (cell.size() > longest) return std::nullopt;
  const std::string text = with_plain_marks(cell);
  AngleText angle;
  bool minutes_named = false;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t start = at;
    if (digit_or_point(text[at])) {
      while (at < text.size() && digit_or_point(text[at])) ++at;
      angle.numbers.push_back(text.substr(start, at - start));
    } else if (plain_letter(text[at])) {
      while (at < text.size() && plain_letter(text[at])) ++at;
      const std::string word = text.substr(start, at - start);
      const auto letter = letter_of(word, minutes_named);
      if (!letter || (*letter != 0 && angle.letter != 0)) return std::nullopt;
      if (*letter != 0) angle.letter = *letter;
      minutes_named = minutes_named || word.front() == 'm';
    } else if ((text[at] == '-' || text[at] == '+') && angle.numbers.empty() && !angle.signed_) {
      angle.signed_ = true;
      angle.negative = text[at++] == '-';
    } else if (text[at] == ' ' || (text[at] == '-' && !angle.numbers.empty())) {
      ++at;
    } else {
      return std::nullopt;
    }
  }
  return angle.numbers.empty() || angle.numbers.size() > 3 ? std::nullopt : std::optional(angle);
}

/// Degrees without sign; nothing where minutes or seconds are none.
std::optional<std::string> magnitude(const std::vector<std::string>& numbers) {
  if (numbers.size() == 1) {
    const auto degrees = smi::Decimal::parse(numbers[0]);
    return degrees ? std::optional(degrees->str()) : std::nullopt;
  }
  double degrees = 0;
  double share = 1;
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    const auto number = smi::Decimal::parse(numbers[i]);
    const bool last = i + 1 == numbers.size();
    if (!number || (number->places > 0 && !last)) return std::nullopt;
    const double value = static_cast<double>(number->digits) / std::pow(10.0, number->places);
    if (i > 0 && value >= 60) return std::nullopt;
    degrees += value * share;
    share /= 60;
  }
  return fmt::format("{:.7f}", degrees);
}

}  // namespace

Result<std::string> degrees_of(std::string_view cell, bool latitude, char letter) {
  const std::string_view letters = latitude ? "NS" : "EW";
  const Problem no_angle{latitude ? "expected degrees as in 54.8999074 or 54 53 59.7 N"
                                  : "expected degrees as in -20.0293837 or 20 1 45.8 W"};
  const auto angle = take_apart(cell);
  if (!angle) return no_angle;
  const bool from_header = angle->letter == 0 && !angle->signed_;
  const char side = from_header ? letter : angle->letter;
  if (side != 0 && letters.find(side) == std::string_view::npos) {
    return Problem{latitude ? "expected N or S with a latitude" : "expected E or W with a longitude"};
  }
  const bool by_letter = side == 'S' || side == 'W';
  if (angle->signed_ && side != 0 && angle->negative != by_letter) {
    return Problem{fmt::format("expected a sign or a letter; this sign and {} contradict each other", side)};
  }
  if (angle->signed_ && side != 0 && angle->negative) {
    return Problem{fmt::format("expected a sign or a letter; with both, - and {} may cancel", side)};
  }
  const auto degrees = magnitude(angle->numbers);
  if (!degrees) return no_angle;
  const bool zero = degrees->find_first_not_of("0.") == std::string::npos;
  return ((angle->negative || by_letter) && !zero ? "-" : "") + *degrees;
}

}  // namespace vergeset::fleet
