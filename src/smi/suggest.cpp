#include "smi/suggest.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>

#include "smi/words.h"

namespace vergeset::smi {

namespace {

constexpr int most_letters_off = 2;

std::string without_case_and_dashes(std::string_view text) {
  std::string plain = lower(text);
  std::erase_if(plain, [](char letter) { return letter == '-' || letter == '_' || letter == ' '; });
  return plain;
}

/// Insertions, deletions, changes and swaps of neighbours that lead from one word to the other
/// (optimal string alignment). Three rows of the table are enough.
int letters_off(std::string_view a, std::string_view b) {
  std::array<std::vector<int>, 3> rows;
  for (auto& row : rows) row.assign(b.size() + 1, 0);
  for (std::size_t j = 0; j <= b.size(); ++j) rows[0][j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    const auto& above = rows[(i + 2) % 3];
    const auto& twice_above = rows[(i + 1) % 3];
    auto& row = rows[i % 3];
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int change = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        row[j] = std::min(row[j], twice_above[j - 2] + 1);
    }
  }
  return rows[a.size() % 3][b.size()];
}

/// How far a known word is, nothing where it is too far to be meant. A word of which every letter
/// would have to change is no misspelling.
std::optional<int> farness(std::string_view wrong, std::string_view known) {
  if (wrong == known) return -1;
  if (without_case_and_dashes(wrong) == without_case_and_dashes(known)) return 0;
  const auto [shorter, longer] = std::minmax({wrong.size(), known.size()});
  if (longer - shorter > most_letters_off) return std::nullopt;
  const int off = letters_off(wrong, known);
  if (off > most_letters_off || static_cast<std::size_t>(off) >= longer) return std::nullopt;
  return off;
}

}  // namespace

std::string nearest(std::string_view wrong, const std::vector<std::string>& known) {
  constexpr std::size_t longest_word = 200;  // nobody misspells more, and the table grows by the square
  if (wrong.empty() || wrong.size() > longest_word) return {};
  const std::string* best = nullptr;
  int best_off = 0;
  bool tie = false;
  for (const std::string& word : known) {
    const auto off = farness(wrong, word);
    if (!off || (best && *off > best_off) || (best && word == *best)) continue;
    tie = best && *off == best_off;
    best = &word;
    best_off = *off;
  }
  return best && !tie ? *best : std::string{};
}

std::string suggestion(std::string_view wrong, const std::vector<std::string>& known) {
  const std::string word = nearest(wrong, known);
  return word.empty() ? word : fmt::format("; did you mean {}?", word);
}

}  // namespace vergeset::smi
