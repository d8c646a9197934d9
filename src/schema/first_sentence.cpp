#include "schema/first_sentence.h"

#include <algorithm>
#include <array>

#include "smi/inert.h"
#include "smi/utf8.h"
#include "smi/words.h"

namespace vergeset::schema {

namespace {

constexpr std::size_t most_of_a_sentence = 80;
constexpr std::size_t longest_tag = 40;
constexpr std::string_view cut_mark = "...";

/// What can be read of a text, with one space where something else is.
std::string readable_line(std::string_view text) {
  std::string line;
  for (std::size_t at = 0; at < text.size();) {
    const Character one = character_at(text, at);
    if (one.valid && one.code != ' ' && !smi::rewrites(one.code)) {
      line += text.substr(at, one.octets);
    } else if (!line.empty() && line.back() != ' ') {
      line += ' ';
    }
    at += one.octets;
  }
  return std::string(smi::trimmed(line));
}

/// Descriptions of NTCIP's MIBs are parted by tags: <Definition>, <Informative> (from memory).
std::string_view first_tagged(std::string_view line) {
  if (!line.starts_with('<')) return line;
  const std::size_t close = line.substr(0, longest_tag).find('>');
  if (close == line.npos) return line;
  line.remove_prefix(close + 1);
  return smi::trimmed(line.substr(0, line.find('<')));
}

/// Whether a sentence ends with the mark at `at`: not within "2.5", nor behind "e.g.".
bool ends_sentence(std::string_view line, std::size_t at) {
  constexpr std::array<std::string_view, 6> shortened{"e.g", "i.e", "cf", "vs", "etc", "approx"};
  if (line[at] != '.' && line[at] != '!' && line[at] != '?') return false;
  if (at + 1 == line.size()) return true;
  if (line[at + 1] != ' ') return false;
  const std::string before = smi::lower(line.substr(0, at));
  const std::size_t word = before.find_last_of(" (") + 1;  // 0 where there is none
  return std::ranges::find(shortened, std::string_view(before).substr(word)) == shortened.end();
}

std::string cut_between_words(std::string line) {
  if (line.size() <= most_of_a_sentence) return line;
  std::size_t end = most_of_a_sentence - cut_mark.size();
  const std::size_t space = line.rfind(' ', end);
  if (space != line.npos && space > end / 2) {
    end = space;
  } else {
    while (end > 0 && (static_cast<unsigned char>(line[end]) & 0xc0U) == 0x80U) --end;
  }
  line.resize(end);
  while (!line.empty() && std::string_view(" ,;:(").find(line.back()) != std::string_view::npos)
    line.pop_back();
  return line + std::string(cut_mark);
}

}  // namespace

std::string first_sentence(std::string_view description) {
  const std::string line = readable_line(description);
  std::string_view text = first_tagged(line);
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (!ends_sentence(text, at)) continue;
    text = text.substr(0, text[at] == '.' ? at : at + 1);
    break;
  }
  return cut_between_words(std::string(smi::trimmed(text)));
}

}  // namespace vergeset::schema
