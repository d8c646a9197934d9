#include "report/screen.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>

namespace vergeset::report {

namespace {

constexpr const char* end_style = "\033[0m";

struct Character {
  std::uint32_t code = 0;
  std::size_t octets = 1;
  bool valid = false;
};

/// The UTF-8 character at `at` (RFC 3629 section 3).
Character character_at(std::string_view text, std::size_t at) {
  const auto octet = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned first = octet(at);
  const std::size_t size = first < 0x80   ? 1
                           : first < 0xc2 ? 0
                           : first < 0xe0 ? 2
                           : first < 0xf0 ? 3
                           : first < 0xf5 ? 4
                                          : 0;
  if (size == 0 || at + size > text.size()) return {first, 1, false};
  if (size == 1) return {first, 1, true};
  std::uint32_t code = first & (0x7fU >> size);
  for (std::size_t i = 1; i < size; ++i) {
    if ((octet(at + i) & 0xc0U) != 0x80U) return {first, 1, false};
    code = code << 6 | (octet(at + i) & 0x3fU);
  }
  const std::uint32_t least = size == 3 ? 0x800U : size == 4 ? 0x10000U : 0x80U;
  const bool valid = code >= least && code <= 0x10ffffU && (code < 0xd800U || code > 0xdfffU);
  return valid ? Character{code, size, true} : Character{first, 1, false};
}

/// C0, DEL and C1 controls, and what turns the direction of writing.
bool rewrites(std::uint32_t code) {
  return code < 0x20 || (code >= 0x7f && code < 0xa0) || (code >= 0x200b && code <= 0x200f) ||
         (code >= 0x2028 && code <= 0x202e) || (code >= 0x2060 && code <= 0x206f) || code == 0xfeff;
}

}  // namespace

std::string bold(const Screen& screen, std::string_view text) {
  return screen.styled ? fmt::format("\033[1m{}{}", text, end_style) : std::string(text);
}

std::string dim(const Screen& screen, std::string_view text) {
  return screen.styled ? fmt::format("\033[2m{}{}", text, end_style) : std::string(text);
}

std::size_t character_end(std::string_view text, std::size_t at) {
  std::size_t end = at + character_at(text, at).octets;
  while (end < text.size()) {
    const Character next = character_at(text, end);
    if (!next.valid || next.code < 0x300 || next.code > 0x36f) break;
    end += next.octets;
  }
  return end;
}

int text_width(std::string_view text) {
  int width = 0;
  for (std::size_t at = 0; at < text.size(); at = character_end(text, at)) ++width;
  return width;
}

std::string printable(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const Character one = character_at(text, at);
    if (one.valid && !rewrites(one.code)) {
      out += text.substr(at, one.octets);
    } else {
      for (std::size_t i = 0; i < one.octets; ++i) {
        out += fmt::format("\\x{:02x}", static_cast<unsigned char>(text[at + i]));
      }
    }
    at += one.octets;
  }
  return out;
}

}  // namespace vergeset::report
