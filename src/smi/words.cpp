#include "smi/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "smi/octet.h"

namespace vergeset::smi {

namespace {

constexpr std::string_view white = " \t\r\n\v\f";

bool printable(char letter) {
  return letter >= 0x20 && letter < 0x7f;
}

template <class Number>
std::optional<Number> digits(std::string_view text, int base) {
  Number number{};
  const char* const end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, number, base);
  if (text.empty() || error != std::errc{} || stop != end) return std::nullopt;
  return number;
}

template <class Number>
std::optional<Number> number(std::string_view text) {
  if (const auto hex = behind_0x(text)) {
    if (hex->empty() || hex->front() == '-') return std::nullopt;
    return digits<Number>(*hex, 16);
  }
  if (!text.empty() && text.front() == '+') {
    text.remove_prefix(1);
    if (!text.empty() && text.front() == '-') return std::nullopt;
  }
  return digits<Number>(text, 10);
}

}  // namespace

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(white);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(white) - first + 1);
}

std::string lower(std::string_view text) {
  std::string small(text);
  std::ranges::transform(small, small.begin(), [](char letter) {
    return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
  });
  return small;
}

std::string escaped(std::string_view octets) {
  std::string line;
  line.reserve(octets.size());
  for (std::size_t at = 0; at < octets.size(); ++at) {
    if (printable(octets[at]))
      line += octets[at];
    else
      line += fmt::format("\\x{:02x}", octet_at(octets, at));
  }
  return line;
}

std::string shown(std::string_view text) {
  constexpr std::size_t most = 60;
  if (text.empty()) return "nothing";
  const bool cut = text.size() > most;
  const std::string_view head = text.substr(0, most);
  const bool word = !cut && std::ranges::all_of(head, [](char c) { return printable(c) && c != ' '; });
  if (word) return std::string(head);
  return fmt::format("\"{}\"{}", escaped(head), cut ? fmt::format("... ({} octets)", text.size()) : "");
}

std::optional<std::string_view> behind_0x(std::string_view text) {
  if (text.size() < 2 || text[0] != '0' || (text[1] != 'x' && text[1] != 'X')) return std::nullopt;
  return text.substr(2);
}

std::optional<std::int64_t> whole_number(std::string_view text) {
  return number<std::int64_t>(text);
}
std::optional<std::uint64_t> unsigned_number(std::string_view text) {
  return number<std::uint64_t>(text);
}

}  // namespace vergeset::smi
