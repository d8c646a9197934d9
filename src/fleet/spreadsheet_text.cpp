#include "fleet/spreadsheet_text.h"

#include <algorithm>
#include <array>
#include <cstdint>

#include "smi/utf8.h"

namespace vergeset::fleet {

namespace {

constexpr std::uint32_t no_character = 0xfffd;

void append_utf8(std::string& text, std::uint32_t code) {
  const auto add = [&](std::uint32_t octet) { text += static_cast<char>(octet); };
  if (code < 0x80) {
    add(code);
  } else if (code < 0x800) {
    add(0xc0 | (code >> 6));
    add(0x80 | (code & 0x3f));
  } else if (code < 0x10000) {
    add(0xe0 | (code >> 12));
    add(0x80 | ((code >> 6) & 0x3f));
    add(0x80 | (code & 0x3f));
  } else {
    add(0xf0 | (code >> 18));
    add(0x80 | ((code >> 12) & 0x3f));
    add(0x80 | ((code >> 6) & 0x3f));
    add(0x80 | (code & 0x3f));
  }
}

/// Windows-1252 where it is not Latin-1: 0x80 to 0x9f, as the Unicode Consortium's CP1252.TXT maps them (from
/// memory). Those five that have no letter stand for what Latin-1 has there, controls, and become U+FFFD.
constexpr std::array<std::uint16_t, 32> windows_1252{
    0x20ac, 0xfffd, 0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160,
    0x2039, 0x0152, 0xfffd, 0x017d, 0xfffd, 0xfffd, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022,
    0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a, 0x0153, 0xfffd, 0x017e, 0x0178};

std::string from_windows_1252(std::string_view octets) {
  std::string text;
  text.reserve(octets.size() + octets.size() / 8);
  for (const char c : octets) {
    const auto octet = static_cast<unsigned char>(c);
    append_utf8(text, octet >= 0x80 && octet < 0xa0 ? windows_1252[octet - 0x80U] : octet);
  }
  return text;
}

/// RFC 2781. Half of a pair without its other half, and a NUL, are no characters.
std::string from_utf16(std::string_view octets, bool big_end_first) {
  const auto unit_at = [&](std::size_t at) -> std::uint32_t {
    const auto first = static_cast<unsigned char>(octets[at]);
    const auto second = static_cast<unsigned char>(octets[at + 1]);
    return big_end_first ? static_cast<std::uint32_t>(first) << 8 | second
                         : static_cast<std::uint32_t>(second) << 8 | first;
  };
  std::string text;
  text.reserve(octets.size());
  for (std::size_t at = 0; at + 1 < octets.size(); at += 2) {
    std::uint32_t code = unit_at(at);
    const bool high = code >= 0xd800 && code < 0xdc00;
    if (high && at + 3 < octets.size()) {
      const std::uint32_t low = unit_at(at + 2);
      if (low >= 0xdc00 && low < 0xe000) {
        code = 0x10000 + ((code - 0xd800) << 10) + (low - 0xdc00);
        at += 2;
      }
    }
    const bool lone_half = code >= 0xd800 && code < 0xe000;
    append_utf8(text, lone_half || code == 0 ? no_character : code);
  }
  return text;
}

/// Whether all but a few of the octets at even (or odd) places are NULs: a text of mostly Western letters in
/// UTF-16 that has lost its byte order mark.
bool mostly_null(std::string_view octets, std::size_t first) {
  const std::size_t looked_at = std::min<std::size_t>(octets.size(), 1000);
  std::size_t nulls = 0;
  for (std::size_t at = first; at < looked_at; at += 2) nulls += octets[at] == '\0' ? 1 : 0;
  return looked_at >= 4 && nulls * 2 * 10 >= looked_at * 8;
}

bool begins(std::string_view octets, std::string_view with) {
  return octets.substr(0, with.size()) == with;
}

bool is_workbook(std::string_view octets) {
  using namespace std::string_view_literals;
  return begins(octets, "PK\x03\x04"sv) || begins(octets, "\xd0\xcf\x11\xe0"sv);
}

bool all_utf8(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text, at);
    if (!character.valid) return false;
    at += character.octets;
  }
  return true;
}

}  // namespace

Result<SheetText> decode_sheet(std::string_view octets) {
  using namespace std::string_view_literals;
  if (is_workbook(octets)) {
    return Problem{"is a workbook and no text; save the sheet as CSV (UTF-8) in the spreadsheet program"};
  }
  if (begins(octets, "\xff\xfe"sv)) return SheetText{from_utf16(octets.substr(2), false), "UTF-16"};
  if (begins(octets, "\xfe\xff"sv)) return SheetText{from_utf16(octets.substr(2), true), "UTF-16"};
  if (octets.find('\0') != std::string_view::npos) {
    if (mostly_null(octets, 1)) return SheetText{from_utf16(octets, false), "UTF-16"};
    if (mostly_null(octets, 0)) return SheetText{from_utf16(octets, true), "UTF-16"};
    return Problem{"is no text, for it holds octets 00; save the sheet as CSV (UTF-8)"};
  }
  if (begins(octets, "\xef\xbb\xbf"sv)) octets.remove_prefix(3);
  if (all_utf8(octets)) return SheetText{std::string(octets), "UTF-8"};
  return SheetText{from_windows_1252(octets), "Windows-1252"};
}

}  // namespace vergeset::fleet
